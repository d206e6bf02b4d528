package rules

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"withybed/models"
)

func amount(x float64) *float64 { return &x }

// today is the day of the tests that ask about the future.
var today = models.MustDate("2026-03-01")

func TestMakersGatherEveryFault(t *testing.T) {
	long := strings.Repeat("x", models.MaxName+1)
	tomorrow := today.Add(1)
	r := mustEnter(t, dogwoodBatch(), stickingOn("2026-01-18", 72))
	cases := []struct {
		name   string
		make   func() error
		fields []string
	}{
		{"sticking", func() error {
			_, _, err := Stick(dogwoodBatch(), models.NewSticking{StuckOn: tomorrow, Tray: models.Tray{
				Bench: long, StuckBy: long, BottomHeat: &models.BottomHeat{Recorded: true, Heated: true, Celsius: 60},
				Treatment: &models.Treatment{
					Name: long, AuxinForm: "Talc", SoakDays: amount(-1), AuxinPPM: amount(1e9), WillowWaterHours: amount(math.NaN())},
			}}, today)
			return err
		}, []string{"stuck_on", "count", "bench", "stuck_by", "treatment.name", "treatment.auxin_form", "treatment.soak_days",
			"treatment.auxin_ppm", "treatment.willow_water_hours", "bottom_heat"}},
		{"move", func() error {
			_, _, err := MoveCuttings(r, models.NewMove{To: "pond", Count: -1, Use: long, Cause: "Dried"}, today)
			return err
		}, []string{"on", "to", "count", "use", "cause", "use", "cause"}},
		{"check", func() error {
			_, _, err := Check(r, models.NewCheck{
				CheckedOn: tomorrow, Rooted: countOf(-1), PottingRoots: countOf(5), Overlong: countOf(6), Unrooted: countOf(models.MaxCount + 1),
				Lost: models.Losses{"sadness": 1, models.Heat: -2}, LostRooted: &models.Losses{models.Frost: -1}, Withdrawn: -1,
				CheckedBy: long, Method: "guess", Examined: countOf(0), Note: strings.Repeat("x", models.MaxNote+1)}, today)
			return err
		}, []string{"checked_on", "rooted", "unrooted", "examined", "withdrawn", "lost.heat", "lost", "lost_rooted.frost",
			"checked_by", "note", "method", "potting_roots", "overlong", "examined"}},
		{"parts without the whole", func() error {
			_, _, err := Check(r, models.NewCheck{CheckedOn: today, Overlong: countOf(1)}, today)
			return err
		}, []string{"potting_roots"}},
		{"potting", func() error {
			_, _, err := Pot(r, models.NewPotting{PottedOn: tomorrow, Container: long, Medium: long, Bench: long, PottedBy: long}, today)
			return err
		}, []string{"potted_on", "count", "container", "medium", "bench", "potted_by"}},
		{"decision", func() error {
			_, _, _, err := Decide(r, models.NewDecision{On: tomorrow, Action: "burn", Until: tomorrow, By: long, Why: strings.Repeat("x", models.MaxNote+1)}, today)
			return err
		}, []string{"on", "action", "by", "why", "until"}},
		{"decision of nothing", func() error {
			_, _, _, err := Decide(r, models.NewDecision{}, today)
			return err
		}, []string{"on", "action"}},
		{"split", func() error {
			_, _, err := SplitArms(r, models.NewSplit{On: tomorrow, Arms: []models.Arm{{Count: 0}, {Count: 1, Tray: models.Tray{Medium: long}}}}, today)
			return err
		}, []string{"on", "arms[0].count", "arms[1].stuck_on", "arms[1].medium"}},
		{"split into nothing", func() error {
			_, _, err := SplitArms(r, models.NewSplit{On: today}, today)
			return err
		}, []string{"arms"}},
		{"review", func() error {
			_, err := Review(r, models.NewReview{Reason: " ", By: long})
			return err
		}, []string{"reason", "by"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			e := models.AsError(c.make())
			if e == nil || e.Kind != models.Invalid {
				t.Fatalf("got %v, want faults", e)
			}
			var fields []string
			for _, f := range e.Fields {
				fields = append(fields, f.Name)
			}
			if diff := cmp.Diff(c.fields, fields); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestDaysOfEntries(t *testing.T) {
	r := mustEnter(t, dogwoodBatch(), stickingOn("2026-01-18", 72))
	if _, _, err := Check(r, models.NewCheck{CheckedOn: today}, today); err != nil {
		t.Errorf("a look of today: %v", err)
	}
	_, _, err := Check(r, models.NewCheck{CheckedOn: today.Add(1)}, today)
	wantRefusal(t, err, "in-the-future", "2026-03-02", "2026-03-01")
}

func TestStrengthOfAuxin(t *testing.T) {
	cases := []struct {
		name         string
		ppm, percent *float64
		want         *float64
		code         string
	}{
		{"none", nil, nil, nil, ""},
		{"ppm", amount(3000), nil, amount(3000), ""},
		{"percent", nil, amount(0.3), amount(3000), ""},
		{"percent with a long tail", nil, amount(0.07), amount(700), ""},
		{"both, agreeing", amount(8000), amount(0.8), amount(8000), ""},
		{"both, disagreeing", amount(1000), amount(0.3), nil, "contradiction"},
		{"too strong", nil, amount(11), nil, "invalid"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			req := stickingOn("2026-01-18", 72)
			req.Treatment = &models.Treatment{Auxin: "IBA", AuxinPPM: c.ppm, AuxinPercent: c.percent, AuxinForm: "talc"}
			s, _, err := Stick(dogwoodBatch(), req, today)
			if c.code != "" {
				wantRefusal(t, err, c.code, "treatment.auxin_percent")
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(c.want, s.Treatment.AuxinPPM); diff != "" || s.Treatment.AuxinPercent != nil {
				t.Errorf("got %+v: %s", s.Treatment, diff)
			}
			if req.Treatment.AuxinPercent != c.percent {
				t.Error("the request was changed")
			}
		})
	}
}

func TestStickingKeepsTheTray(t *testing.T) {
	req := stickingOn("2026-01-18", 60)
	req.Tray = models.Tray{
		Treatment: &models.Treatment{Name: " none "}, Medium: "  coarse   sand ", Container: "deep flat", Bench: "B2", StuckBy: "RQ", Mist: true}
	s, warnings, err := Stick(dogwoodBatch(), req, today)
	if err != nil {
		t.Fatal(err)
	}
	if s.Medium != "coarse sand" || s.Label != models.NoTreatment || s.Treatment.Name != "" || !s.Mist || s.Bench != "B2" {
		t.Errorf("got %+v", s)
	}
	wantWarning(t, warnings, "60 of 72 cuttings are stuck; what still waits (12)")
}

// wantWarning checks that there is one warning with the words, or none without.
func wantWarning(t *testing.T, warnings []string, words string) {
	t.Helper()
	if words == "" && len(warnings) == 0 {
		return
	}
	if len(warnings) != 1 || words == "" || !strings.Contains(warnings[0], words) {
		t.Errorf("got warnings %q, want one with %q", warnings, words)
	}
}

func TestWarnings(t *testing.T) {
	softwood := dogwoodBatch()
	softwood.Kind = models.Softwood
	close := models.NewDecision{On: dayOf("2026-04-01"), Action: models.CloseBatch}
	cases := []struct {
		name string
		r    *models.BatchRecord
		req  any
		want string
	}{
		{"all stuck", dogwoodBatch(), stickingOn("2026-01-18", 72), ""},
		{"leafless into the cold store", dogwoodBatch(), moveOn("2026-01-18", models.ToColdStore, 72), ""},
		{"leafed into the cold store", softwood, moveOn("2026-01-18", models.ToColdStore, 72), "in leaf"},
		{"leafed into the refrigerator", softwood, moveOn("2026-01-18", models.ToRefrigerator, 1), ""},
		{"less than a fifth rotted", rootedBatch(t), lookOn("2026-02-15", 30, models.Losses{models.RottedBase: 13}), ""},
		{"a fifth rotted", rootedBatch(t), lookOn("2026-02-15", 30, models.Losses{models.RottedBase: 14}), "14 of 70 rotted, a fifth or more: keep the tray apart, share no water with it, and tell the lead"},
		{"a black base", rootedBatch(t), lookOn("2026-02-15", 30, models.Losses{models.BlackBase: 1}), "1 with a black base"},
		{"a black base among the rooted", rootedBatch(t), models.NewCheck{CheckedOn: dayOf("2026-02-15"), LostRooted: &models.Losses{models.BlackBase: 1}}, "tell the lead"},
		{"losses of a part", rootedBatch(t), models.NewCheck{CheckedOn: dayOf("2026-02-15"), Examined: countOf(10), Lost: models.Losses{models.RottedBase: 1}}, "moves no count"},
		{"a part without losses", rootedBatch(t), models.NewCheck{CheckedOn: dayOf("2026-02-15"), Examined: countOf(10), Rooted: countOf(3)}, ""},
		{"potted as known", rootedBatch(t), pottingOn("2026-03-01", 30), ""},
		{"more potted than known", rootedBatch(t), pottingOn("2026-03-01", 32), "the rest of those potted, 2, counts as found rooted on 2026-03-01"},
		{"closed with rooted ones", rootedBatch(t), close, "still in the tray of the closed batch: 30 rooted cuttings"},
		{"closed before sticking", dogwoodBatch(), close, "still waiting to be stuck in the closed batch: 72 cuttings"},
		{"kept", rootedBatch(t), models.NewDecision{On: dayOf("2026-04-01"), Action: models.Keep, Until: dayOf("2026-05-01")}, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			warnings, err := enterInto(c.r, c.req)
			if err != nil {
				t.Fatal(err)
			}
			wantWarning(t, warnings, c.want)
		})
	}
}

func TestChecksTellNothingFromNone(t *testing.T) {
	r := rootedBatch(t)
	c, _, err := Check(r, models.NewCheck{CheckedOn: dayOf("2026-02-15")}, today)
	if err != nil || c.LostRooted != nil {
		t.Errorf("left out: got %v, %v", c.LostRooted, err)
	}
	c, _, err = Check(r, models.NewCheck{CheckedOn: dayOf("2026-02-15"), LostRooted: &models.Losses{models.Heat: 0}}, today)
	if err != nil || c.LostRooted == nil || len(c.LostRooted) != 0 {
		t.Errorf("given as none: got %v, %v", c.LostRooted, err)
	}
}

func TestReviewOnlyWhatAwaitsIt(t *testing.T) {
	r := dogwoodBatch()
	req := models.NewReview{Accept: true, Reason: " both crews  counted again ", By: "OP"}
	_, err := Review(r, req)
	wantRefusal(t, err, "not-to-review", "MB-03-2026-7")
	r.AwaitsReview = true
	got, err := Review(r, req)
	if want := (models.Review{Accepted: true, Reason: "both crews counted again", ReviewedBy: "OP"}); err != nil || got != want {
		t.Errorf("got %+v, %v", got, err)
	}
}

func TestDecisions(t *testing.T) {
	on := dayOf("2026-04-01")
	keep := models.NewDecision{On: on, Action: models.Keep, Until: dayOf("2026-05-01"), By: "OP", Why: "callus"}
	t.Run("keep quiets", func(t *testing.T) {
		r := mustEnter(t, rootedBatch(t), keep)
		if got := storyOn(t, r, lateDay).QuietUntil; got != keep.Until {
			t.Errorf("quiet until %s", got)
		}
		if got := storyOn(t, r, on.Add(-1)).QuietUntil; !got.IsZero() {
			t.Errorf("the day before: quiet until %s", got)
		}
	})
	t.Run("close leaves the unrooted", func(t *testing.T) {
		r := mustEnter(t, rootedBatch(t), models.NewDecision{On: on, Action: models.CloseBatch})
		story := storyOn(t, r, lateDay)
		if story.EndedOn != on || story.Tally.UnrootedAtEnd != 40 || story.Tally.LostUnrooted != 2 {
			t.Errorf("got %+v", story)
		}
		wantBalance(t, story)
	})
	t.Run("restick lifts the unrooted", func(t *testing.T) {
		r := rootedBatch(t)
		d, sister, _, err := Decide(r, models.NewDecision{On: on, Action: models.Restick}, lateDay)
		if err != nil || d.Action != models.Restick {
			t.Fatal(err)
		}
		want := &Sister{Split: models.Split{SplitOn: on, Count: 40, Source: models.FromTray}, WaitingFrom: on}
		if diff := cmp.Diff(want, sister, cmp.Comparer(sameDay)); diff != "" {
			t.Error(diff)
		}
		mustEnter(t, r, models.NewDecision{On: on, Action: models.Restick})
		if diff := cmp.Diff(trayTally{0, 30, 2, 0, 40, 0, 30}, trayOn(t, r)); diff != "" {
			t.Error(diff)
		}
	})
	refusals := []struct {
		name  string
		first []any
		req   models.NewDecision
		code  string
	}{
		{"keep without a day", nil, models.NewDecision{On: on, Action: models.Keep}, "missing"},
		{"keep to the same day", nil, models.NewDecision{On: on, Action: models.Keep, Until: on}, "out-of-order"},
		{"a day with close", nil, models.NewDecision{On: on, Action: models.CloseBatch, Until: on.Add(1)}, "contradiction"},
		{"restick before sticking", nil, models.NewDecision{On: on, Action: models.Restick}, "nothing-left"},
		{"restick an empty tray", []any{stickingOn("2026-01-18", 72), pottingOn("2026-03-01", 72)}, models.NewDecision{On: on, Action: models.Restick}, "nothing-left"},
		{"throw out an empty tray", []any{stickingOn("2026-01-18", 72), pottingOn("2026-03-01", 72)}, models.NewDecision{On: on, Action: models.Discard}, "nothing-left"},
		{"throw out where none wait", []any{moveOn("2026-01-18", models.ToUsed, 72)}, models.NewDecision{On: on, Action: models.Discard}, "nothing-left"},
	}
	for _, c := range refusals {
		t.Run(c.name, func(t *testing.T) {
			_, err := enterInto(mustEnter(t, dogwoodBatch(), c.first...), c.req)
			wantRefusal(t, err, c.code)
		})
	}
}

func TestALossWithoutACauseIsSaidToBeOther(t *testing.T) {
	r := dogwoodBatch()
	on := r.CollectedOn.Add(1)
	move, warnings, err := MoveCuttings(r, models.NewMove{On: on, To: models.ToLost, Count: 1}, on)
	if err != nil || move.Cause != models.OtherCause || len(warnings) != 1 {
		t.Errorf("%+v, %q, %v", move, warnings, err)
	}
}

func TestASoakThatTheTreatmentDoesNotNameIsWarnedOf(t *testing.T) {
	r := dogwoodBatch()
	on := r.CollectedOn
	r.Moves = []models.Move{{MovedOn: on, To: models.ToSoak, Count: r.Cuttings, Entry: 1}}
	soaked := 3.0
	for _, c := range []struct {
		days      int
		treatment *models.Treatment
		warned    bool
	}{
		{3, nil, true}, {0, nil, false}, {3, &models.Treatment{SoakDays: &soaked}, false}, {3, &models.Treatment{Auxin: "IBA"}, true},
	} {
		day := on.Add(c.days)
		_, warnings, err := Stick(r, models.NewSticking{StuckOn: day, Count: r.Cuttings, Tray: models.Tray{Treatment: c.treatment}}, day)
		if err != nil || (len(warnings) == 1) != c.warned {
			t.Errorf("%+v: %q, %v", c, warnings, err)
		}
	}
}
