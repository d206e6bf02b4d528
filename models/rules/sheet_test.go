package rules_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
)

func sheetFor(t testing.TB, stand *models.StandRecord, on string, stems int) models.Sheet {
	t.Helper()
	sheet, err := rules.FieldSheet(stand, rules.SheetAsked{On: date(on), Stems: stems, Crew: "C"}, date("2026-01-16"))
	if err != nil {
		t.Fatal(err)
	}
	return sheet
}

func perPlant(share string) func(*models.StandRecord) {
	return func(r *models.StandRecord) { r.Rules[0].PerPlantCap = models.MustDecimal(share) }
}

func clumps(r *models.StandRecord) { r.Surveys[len(r.Surveys)-1].Method = models.ClumpCount }

// 0.05 of 800 stems is 40. 40 clumps of 20 stems each spare 2 at 0.1.
func TestFieldSheet(t *testing.T) {
	cases := []struct {
		name  string
		stand *models.StandRecord
		asked int
		stop  int
		why   string // what the sheet says of fewer than asked
		oneIn int
		least int
		clump string
		leave string
	}{
		{"within", standOf(counted("2025-09-12", "800")), 24, 24, "", 10, 0,
			"The plants of this stand were not counted: take a few stems from each of many plants, far apart. Count the stems of a plant first, then take one stem for every 10 counted on it; fewer than 10, walk on.",
			"24 stems are within the count. Leave to cut is not on file: ask the land manager (Wrenlow Valley Parks)."},
		{"fewer than asked", standOf(counted("2025-09-12", "800"), taken("2025-11-15", 30)), 24, 10,
			"24 stems were asked for, and 10 are allowed: 30 of 40 stems are taken in the 350 days to 2026-01-17", 10, 0, "were not counted",
			"10 stems are within the count. Leave to cut is not on file"},
		{"one stem", standOf(counted("2025-09-12", "800"), taken("2025-11-15", 39)), 1, 1, "", 10, 0, "", "1 stem is within the count."},
		{"clumps", standOf(counted("2025-09-12", "800", 40), clumps), 24, 24, "", 10, 12,
			"Count the stems of a clump first, then take one stem for every 10 counted on it; fewer than 10, walk on. Cut from at least 12 clumps of the 40 counted, far apart.", "24 stems are within"},
		{"plants of a census, a third", standOf(counted("2025-09-12", "800", 40), perPlant("0.3333")), 24, 24, "", 4, 4,
			"one stem for every 4 counted on it; fewer than 4, walk on. Cut from at least 4 plants of the 40", "24 stems are within"},
		{"clumps cut before", standOf(counted("2025-09-12", "800", 40), clumps, taken("2025-11-15", 10, 5)), 24, 24, "", 10, 12, "at least 12 clumps", ""},
		{"the plants bind", standOf(counted("2025-09-12", "800", 40), perPlant("0.02")), 24, 16,
			"24 stems were asked for, and 16 are allowed: 0 of 16 stems are taken in the 350 days to 2026-01-17 from 40 of the 40 plants counted", 50, 40, "one stem for every 50", "16 stems are within"},
		{"every stem", standOf(counted("2025-09-12", "800", 40), perPlant("1")), 24, 24, "", 1, 2, "take no more than the stems counted on it", ""},
		{"nothing left", standOf(counted("2025-09-12", "800"), taken("2025-11-15", 40)), 24, 0,
			"a stem would be possible from 2026-10-31", 0, 0, "", "24 stems are not within the count: 40 of 40"},
		{"never counted", standOf(), 24, 0, "the stand was not counted on or before 2026-01-17; not before a new count", 0, 0, "", "Leave to cut is not on file"},
		{"closed", standOf(counted("2025-09-12", "800"), shut(models.Closure{From: "01-10", To: "02-20", EveryYear: true, Reason: "eagles"})), 24, 0,
			"closed from 01-10 to 02-20 every year (eagles); a stem would be possible from 2026-02-21", 0, 0, "", ""},
		{"nests", standOf(counted("2025-09-12", "800"), shut(models.Closure{From: "01-10", To: "02-20", EveryYear: true, Kind: models.NestCheck})), 24, 0, "looked for nests", 0, 0, "", ""},
		{"protected", standOf(counted("2025-09-12", "800"), protected), 24, 0, "is protected", 0, 0, "", "not on file"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := sheetFor(t, c.stand, "2026-01-17", c.asked)
			if s.StopAt != c.stop || s.OneIn != c.oneIn || s.LeastPlants != c.least {
				t.Errorf("stop at %d, one in %d, from %d plants; want %d, %d, %d", s.StopAt, s.OneIn, s.LeastPlants, c.stop, c.oneIn, c.least)
			}
			if (s.Why == "") != (c.why == "") || !strings.Contains(s.Why, c.why) || !strings.Contains(s.ClumpRule, c.clump) || !strings.Contains(s.Leave, c.leave) {
				t.Errorf("why %q, clump rule %q, leave %q", s.Why, s.ClumpRule, s.Leave)
			}
			if (s.StopAt == 0) != (len(s.Tags) == 0) || (s.StopAt == 0) != (s.ClumpRule == "") || s.Tags == nil {
				t.Errorf("%d tags and the rule %q on a sheet of %d", len(s.Tags), s.ClumpRule, s.StopAt)
			}
			if s.Season != "2025/26" || s.MadeOn != date("2026-01-16") || s.Binding == nil || s.Closure == "" {
				t.Errorf("%+v", s)
			}
		})
	}
}

// What the place of a stand says of it on paper, by how sensitive it is.
func TestFieldSheetHoldsThePlaceBack(t *testing.T) {
	north, west := 46.12345, -122.54321
	for sensitivity, shows := range map[models.Sensitivity][]string{
		models.LowSensitivity:     {"Wrenlow Bend", "Bend", "left bank"},
		models.MediumSensitivity:  {"Wrenlow Bend", "Bend", "left bank"},
		models.HighSensitivity:    {"Wrenlow Bend", "Bend"},
		models.ExtremeSensitivity: {},
	} {
		s := sheetFor(t, standOf(counted("2025-09-12", "800"), func(r *models.StandRecord) {
			r.Sensitivity, r.Place, r.Locality, r.Latitude, r.Longitude = sensitivity, "Bend", "left bank", &north, &west
		}), "2026-01-17", 24)
		printed := s.StandName + "|" + s.Place
		for _, word := range []string{"Wrenlow Bend", "Bend", "left bank"} {
			if strings.Contains(printed, word) != slices.ContainsFunc(shows, func(w string) bool { return strings.Contains(w, word) }) {
				t.Errorf("%s: %q", sensitivity, printed)
			}
		}
		if held := len(shows) < 3; held != (s.PlaceWithheld != "") {
			t.Errorf("%s: withheld %q", sensitivity, s.PlaceWithheld)
		}
	}
}

func TestIdentityMarksOneByOne(t *testing.T) {
	for text, want := range map[string][]string{
		"":                              {},
		"Buds stand in pairs":           {"Buds stand in pairs"},
		"Red twigs.\nBuds in pairs. On": {"Red twigs.", "Buds in pairs. On"},
		"Twigs are red. Buds stand in pairs. Not C. alba, cf. Salix.": {"Twigs are red.", "Buds stand in pairs.", "Not C. alba, cf. Salix."},
		"Hairy, e.g. Below the leaf. No":                              {"Hairy, e.g. Below the leaf.", "No"},
	} {
		s := sheetFor(t, standOf(func(r *models.StandRecord) { r.Taxon.IdentityMarks = text }), "2026-01-17", 1)
		if diff := cmp.Diff(want, s.IdentityMarks); diff != "" {
			t.Errorf("%q: %s", text, diff)
		}
	}
}

func TestTagsAndBoxesOfASheet(t *testing.T) {
	stand := standOf(counted("2025-09-12", "400000"))
	for _, c := range []struct{ stems, tags, perBox, boxes int }{
		{1, 4, 1, 1}, {24, 4, 1, 24}, {100, 4, 1, 100}, {101, 5, 1, 101}, {200, 8, 1, 200}, {201, 9, 5, 41}, {203, 9, 5, 41},
		{1000, 40, 5, 200}, {1001, 41, 25, 41}, {5000, 200, 25, 200},
	} {
		s := sheetFor(t, stand, "2026-01-17", c.stems)
		if len(s.Tags) != c.tags || s.StemsPerBox != c.perBox || s.TallyBoxes() != c.boxes {
			t.Errorf("%d stems: %d tags, %d boxes of %d", c.stems, len(s.Tags), s.TallyBoxes(), s.StemsPerBox)
		}
		if s.Tags[0] != "C-0117-1" || s.Tags[len(s.Tags)-1] == s.Tags[0] {
			t.Errorf("tags %q", s.Tags)
		}
	}
}

func TestWhatNoSheetIsMadeFor(t *testing.T) {
	for _, asked := range []rules.SheetAsked{
		{Stems: 0, Crew: "C"}, {Stems: -1, Crew: "C"}, {Stems: 5001, Crew: "C"}, {Stems: 5, Crew: "  "}, {Stems: 5, Crew: strings.Repeat("C", 25)}, {Stems: 5, Crew: "C\x1b[2J"},
	} {
		asked.On = date("2026-01-17")
		_, err := rules.FieldSheet(standOf(counted("2025-09-12", "800")), asked, asked.On)
		if e := models.AsError(err); e == nil || e.Code != "invalid" || len(e.Fields) != 1 {
			t.Errorf("%+v: %v", asked, err)
		}
	}
}

// Whatever the record: a crew that stops where its sheet says, and cuts from as
// many plants as it says, is refused nothing, and one stem more of those asked
// for would be refused.
func TestASheetStopsWhereTheRulesDo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		stand, cut := drawStand(t).record(), drawCut(t).cut()
		on, asked := cut.On, cut.Stems
		s, err := rules.FieldSheet(stand, rules.SheetAsked{On: on, Stems: asked, Crew: "C"}, on)
		if err != nil {
			t.Fatal(err)
		}
		from := max(1, s.LeastPlants)
		if s.StopAt > 0 {
			if refusal := rules.JudgeCut(stand, rules.Cut{On: on, Stems: s.StopAt, Parents: &from}); refusal != nil {
				t.Fatalf("%d stems from %d plants are refused: %v", s.StopAt, from, refusal)
			}
		}
		if fewer := from - 1; s.LeastPlants > 1 && rules.JudgeCut(stand, rules.Cut{On: on, Stems: s.StopAt, Parents: &fewer}) == nil {
			t.Fatalf("%d plants would do, and the sheet asks for %d", fewer, from)
		}
		every := models.MaxCount
		if s.StopAt < asked && rules.JudgeCut(stand, rules.Cut{On: on, Stems: s.StopAt + 1, Parents: &every}) == nil {
			t.Fatalf("%d of %d stems would pass, and the sheet stops at %d", s.StopAt+1, asked, s.StopAt)
		}
	})
}

// A crew of a past day is told of as many plants as the window of a later cut asks for,
// in which the plants had been counted.
func TestASheetKnowsPlantsThatWereCountedLater(t *testing.T) {
	stand := standOf(ocular("2026-01-01", "300"), counted("2026-01-04", "300", 11), taken("2026-01-04", 2))
	s, err := rules.FieldSheet(stand, rules.SheetAsked{On: date("2026-01-02"), Stems: 1, Crew: "C"}, date("2026-01-02"))
	if err != nil || s.StopAt != 1 || s.LeastPlants != 2 || !strings.Contains(s.ClumpRule, "at least 2 plants of the 11 counted") {
		t.Errorf("stop at %d, from %d plants: %s (%v)", s.StopAt, s.LeastPlants, s.ClumpRule, err)
	}
}

// Two crews never share a tag, and one crew never has a tag twice.
func TestTagsOfTwoCrews(t *testing.T) {
	stand := standOf(counted("2025-09-12", "4000"))
	crew := rapid.OneOf(rapid.StringMatching(`[A-Ca-c0-9-]{1,8}`), rapid.StringN(1, 24, -1))
	rapid.Check(t, func(t *rapid.T) {
		seen := map[string]string{}
		for _, name := range rapid.SliceOfN(crew, 1, 4).Draw(t, "crews") {
			on := date("2026-01-01").Add(rapid.IntRange(0, 60).Draw(t, "on"))
			s, err := rules.FieldSheet(stand, rules.SheetAsked{On: on, Stems: 150, Crew: name}, on)
			if err != nil {
				continue
			}
			for _, tag := range s.Tags {
				key, whose := models.NameKey(tag), models.NameKey(name)+on.String()
				if other, taken := seen[key]; taken && other != whose {
					t.Fatalf("the tag %q is of %q and of %q", tag, whose, other)
				}
				seen[key] = whose
			}
		}
	})
}
