package rules

import (
	"cmp"
	"encoding/json"
	"math"
	"strconv"

	"withybed/models"
)

// threshold is one whole number of models.Thresholds: what it is by default, what it
// may be, and where the default comes from.
type threshold struct {
	name        string // its JSON name
	usual       int
	least, most int
	at          func(*models.Thresholds) *int
	basis       string
}

// notDays is what thresholds count that do not count days.
var notDays = map[string]string{"few_parents": "plants"}

func (t *threshold) counts() string { return cmp.Or(notDays[t.name], "days") }

const (
	longestStore = 365  // days; wood that is older was forgotten
	longestWait  = 1000 // days; a threshold beyond never comes about
)

// wholeThresholds are every threshold that is a whole number.
var wholeThresholds = []threshold{
	{"stick_after", 2, 0, longestSoak, func(t *models.Thresholds) *int { return &t.StickAfter },
		"cut wood should be stuck, soaked or stored within one to two days"},
	{"soak_warning", 2, 0, longestSoak, func(t *models.Thresholds) *int { return &t.SoakWarning },
		"our own choice: two days to find hands and a free bench"},
	{"soak_in_leaf", 7, 0, longestSoak, func(t *models.Thresholds) *int { return &t.SoakInLeaf },
		"willow soaked in leaf for fifteen days died to the last cutting; half of that, to be careful"},
	{"soak_willow_cottonwood", 14, 0, longestSoak, func(t *models.Thresholds) *int { return &t.SoakWillow },
		"dormant willow rooted better after soaks of up to fourteen days"},
	{"soak_dogwood", 10, 0, longestSoak, func(t *models.Thresholds) *int { return &t.SoakDogwood },
		"a cautious figure between willow and other wood; put your own records in its place"},
	{"soak_other", 3, 0, longestSoak, func(t *models.Thresholds) *int { return &t.SoakOther },
		"a cautious figure: long soaks are known to help willow, not other wood"},
	{"store_refrigerator", 14, 1, longestStore, func(t *models.Thresholds) *int { return &t.StoreRefrigerator },
		"a cautious figure: an ordinary refrigerator is too warm to hold buds back for long"},
	{"store_cold", 90, 1, longestStore, func(t *models.Thresholds) *int { return &t.StoreCold },
		"leafless wood keeps at -2 to 0.5 °C from the cut to spring; cuttings in leaf die of it"},
	{"first_check", 14, 1, longestWait, func(t *models.Thresholds) *int { return &t.FirstCheck },
		"a first count is usual two to three weeks after sticking"},
	{"first_check_water", 7, 1, longestWait, func(t *models.Thresholds) *int { return &t.FirstCheckWater },
		"in water easy kinds root in one to three weeks, and roots show without lifting"},
	{"check_every", 14, 1, longestWait, func(t *models.Thresholds) *int { return &t.CheckEvery },
		"after the first count trays are looked at every one to two weeks"},
	{"check_every_mist", 7, 1, longestWait, func(t *models.Thresholds) *int { return &t.CheckEveryMist },
		"after the first count every one to two weeks, the shorter under mist, where rot is quick"},
	{"check_every_water", 4, 1, longestWait, func(t *models.Thresholds) *int { return &t.CheckEveryWater },
		"our own choice: water goes foul, and roots in water are soon too long"},
	{"check_every_cold", 30, 1, longestWait, func(t *models.Thresholds) *int { return &t.CheckEveryCold },
		"our own choice: little happens on a cold bench, but losses do"},
	{"ready_after", 14, 0, longestWait, func(t *models.Thresholds) *int { return &t.ReadyAfter },
		"stragglers are given two to three weeks more; the shorter of these"},
	{"ready_after_water", 7, 0, longestWait, func(t *models.Thresholds) *int { return &t.ReadyAfterWater },
		"half of the time in medium: roots in water are soon too long"},
	{"waited_long", 42, 1, longestWait, func(t *models.Thresholds) *int { return &t.WaitedLong },
		"our own choice: twice the time in water"},
	{"waited_long_water", 21, 1, longestWait, func(t *models.Thresholds) *int { return &t.WaitedLongWater },
		"water-rooted willow should be out two to four weeks after its first roots"},
	{"cutoff_water", 28, 1, longestWait, func(t *models.Thresholds) *int { return &t.CutoffWater },
		"four weeks: easy kinds have rooted in water by then or will hardly do so"},
	{"cutoff_willow_cottonwood", 56, 1, longestWait, func(t *models.Thresholds) *int { return &t.CutoffWillow },
		"easy kinds are given eight to twelve weeks; the shorter of these"},
	{"cutoff_other", 84, 1, longestWait, func(t *models.Thresholds) *int { return &t.CutoffOther },
		"kinds that are not easy are given twelve to sixteen weeks; the shorter of these"},
	{"cutoff_slow", 112, 1, longestWait, func(t *models.Thresholds) *int { return &t.CutoffSlow },
		"kinds that are not easy are given twelve to sixteen weeks; the longer of these"},
	{"finished_after", 84, 1, longestWait, func(t *models.Thresholds) *int { return &t.FinishedAfter },
		"twelve weeks, the cut-off of most kinds, whatever had rooted by then"},
	{"finished_after_slow", 112, 1, longestWait, func(t *models.Thresholds) *int { return &t.FinishedAfterSlow },
		"sixteen weeks, the cut-off of slow kinds"},
	{"survey_expiry_notice", 60, 0, longestWait, func(t *models.Thresholds) *int { return &t.SurveyExpiryNotice },
		"our own choice: two months to find a day for counting before the cutting season"},
	{"permit_expiry_notice", 120, 0, longestWait, func(t *models.Thresholds) *int { return &t.PermitExpiryNotice },
		"our own choice: four months, since a new paper takes its time"},
	{"few_parents", 5, 1, 1000, func(t *models.Thresholds) *int { return &t.FewParents },
		"our own choice: an order wants fifty plants or more, and a batch from fewer than a handful brings little of them"},
}

// shareThreshold is one number of models.Thresholds that is a share, over 0 and
// up to 1.
type shareThreshold struct {
	name  string
	usual models.Decimal
	at    func(*models.Thresholds) *models.Decimal
	basis string
}

var shareThresholds = []shareThreshold{
	{"ready_share", models.MustDecimal("0.5"), func(t *models.Thresholds) *models.Decimal { return &t.ReadyShare },
		"trays are potted when half to three quarters of them have potting roots; the lower of these"},
	{"notice_share", models.MustDecimal("0.8"), func(t *models.Thresholds) *models.Decimal { return &t.NoticeShare },
		"our own choice: a fifth of the limit left to plan with"},
	{"donor_share", models.MustDecimal("0.5"), func(t *models.Thresholds) *models.Decimal { return &t.DonorShare },
		"plants for an order are to come in similar numbers from each parent; more than half from one is the least that can be told"},
}

const (
	warmFrom      = "warm_from"
	warmFromUsual = "03-01"
	warmFromBasis = "in a mild northern valley first checks and potting fall into February and March"
)

// thresholdNames are the JSON names of all thresholds.
func thresholdNames() []string {
	names := []string{warmFrom}
	for _, t := range wholeThresholds {
		names = append(names, t.name)
	}
	for _, t := range shareThresholds {
		names = append(names, t.name)
	}
	return names
}

// setThreshold sets one threshold by its JSON name; null puts the default back. A
// name that no threshold has is left alone.
func setThreshold(f *models.Faults, s *models.Settings, name string, value any) {
	for _, t := range wholeThresholds {
		if t.name == name {
			t.set(f, s, value)
		}
	}
	for _, t := range shareThresholds {
		if t.name == name {
			t.set(f, s, value)
		}
	}
	if name == warmFrom {
		setWarmFrom(f, s, value)
	}
}

func (t threshold) set(f *models.Faults, s *models.Settings, value any) {
	n, whole := wholeNumber(value)
	switch {
	case value == nil:
		n = t.usual
	case !whole:
		f.Add("invalid", "thresholds."+t.name, value, "is %v, and must be a whole number of %s", value, t.counts())
		return
	case n < t.least || n > t.most:
		f.Add("out-of-range", "thresholds."+t.name, value, "is %d, and must be from %d to %d %s", n, t.least, t.most, t.counts())
		return
	}
	change(s, t.name, t.at(&s.Thresholds), n, t.usual, t.basis)
}

func (t shareThreshold) set(f *models.Faults, s *models.Settings, value any) {
	share := t.usual
	if value != nil {
		var ok bool
		if share, ok = decimalNumber(value); !ok || !properShare(share) {
			f.Add("out-of-range", "thresholds."+t.name, value, "is %v, and must be over 0 and up to 1, with at most four decimal places", value)
			return
		}
	}
	change(s, t.name, t.at(&s.Thresholds), share, t.usual, t.basis)
}

func setWarmFrom(f *models.Faults, s *models.Settings, value any) {
	day := warmFromUsual
	if value != nil {
		var ok bool
		if day, ok = value.(string); !ok || !monthDay(day) {
			f.Add("bad-date", "thresholds."+warmFrom, value, "is %v, and must be month-day, as in 03-01", value)
			return
		}
	}
	change(s, warmFrom, &s.Thresholds.WarmFrom, day, warmFromUsual, warmFromBasis)
}

// noBasis stands for the basis of a number that was changed without one: the
// words that went with the old number do not speak of the new one.
const noBasis = "changed without a basis"

// change sets a number. Its basis stays with it only as long as it is the same.
func change[T comparable](s *models.Settings, name string, at *T, value, usual T, basis string) {
	if value == *at {
		return
	}
	*at, s.Bases[name] = value, noBasis
	if value == usual {
		s.Bases[name] = basis
	}
}

// wholeNumber reads a whole number of a JSON document, decoded in any way.
func wholeNumber(value any) (int, bool) {
	switch v := value.(type) {
	case int:
		return v, true
	case float64:
		return int(v), v == math.Trunc(v) && math.Abs(v) <= models.MaxCount
	case json.Number:
		n, err := strconv.Atoi(v.String())
		return n, err == nil
	}
	return 0, false
}

// decimalNumber reads a number of a JSON document with at most four decimal
// places, decoded in any way.
func decimalNumber(value any) (models.Decimal, bool) {
	var text string
	switch v := value.(type) {
	case models.Decimal:
		return v, true
	case int:
		text = strconv.Itoa(v)
	case float64:
		text = strconv.FormatFloat(v, 'f', -1, 64)
	case json.Number:
		text = v.String()
	}
	d, err := models.ParseDecimal(text)
	return d, err == nil
}

// properShare says that a share is over 0 and up to 1.
func properShare(d models.Decimal) bool { return d > 0 && d <= models.DecimalOf(1) }
