package rules_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
)

func tagged(code, tag string) models.Batch {
	b := models.Batch{Code: code, StemsCut: 24, CollectedBy: "RQ"}
	if tag != "" {
		b.RecordNumber = &tag
	}
	return b
}

func TestATagIsBorneOncePerStandAndDay(t *testing.T) {
	there := []models.Batch{tagged("TB-01-2026-1", ""), tagged("TB-01-2026-2", "T-017")}
	for tag, taken := range map[string]bool{"": false, "T-018": false, "T-017": true, "t-017": true} {
		b := tagged("", tag)
		err := rules.CheckTag(&b, there, nil)
		if (err != nil) != taken {
			t.Errorf("tag %q: %v", tag, err)
		}
		if e := models.AsError(err); taken && (e.Kind != models.Conflict || e.Code != "record-number-taken" || !strings.Contains(e.Error(), "TB-01-2026-2")) {
			t.Errorf("tag %q: %+v", tag, e)
		}
		err = rules.CheckTag(&b, nil, there)
		if e := models.AsError(err); (err != nil) != taken || taken && !strings.Contains(e.Error(), "another row") {
			t.Errorf("tag %q on the same sheet: %v", tag, err)
		}
	}
}

func TestTheSameCutIsAskedAbout(t *testing.T) {
	there := []models.Batch{{Code: "TB-01-2026-1", StemsCut: 23, CollectedBy: "RQ"}, {Code: "TB-01-2026-2", StemsCut: 24, CollectedBy: "rq"}}
	if got := rules.SameCut(&models.Batch{StemsCut: 24, CollectedBy: "RQ"}, there); len(got) != 1 || !strings.Contains(got[0], "TB-01-2026-2") {
		t.Errorf("%q", got)
	}
	for _, other := range []models.Batch{{StemsCut: 25, CollectedBy: "RQ"}, {StemsCut: 24, CollectedBy: "OP"}} {
		if got := rules.SameCut(&other, there); got != nil {
			t.Errorf("%+v: %q", other, got)
		}
	}
}

func TestStemsAreAddedInOrderOfDay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var days []models.LedgerDay
		sums := map[models.Date]models.LedgerDay{}
		for range rapid.IntRange(0, 20).Draw(t, "entries") {
			more := models.LedgerDay{
				TakenOn: date("2026-01-01").Add(rapid.IntRange(0, 9).Draw(t, "day")),
				Stems:   rapid.IntRange(-5, 9).Draw(t, "stems"), Parents: rapid.IntRange(0, 3).Draw(t, "parents"),
			}
			before := slices.Clone(days)
			after := rules.WithStems(days, more)
			if !slices.Equal(days, before) {
				t.Fatal("the list that was given is changed")
			}
			days = after
			sum := sums[more.TakenOn]
			sums[more.TakenOn] = models.LedgerDay{TakenOn: more.TakenOn, Stems: sum.Stems + more.Stems, Parents: sum.Parents + more.Parents}
		}
		if len(days) != len(sums) {
			t.Fatalf("%d days for %d", len(days), len(sums))
		}
		for i, d := range days {
			if d != sums[d.TakenOn] || i > 0 && !days[i-1].TakenOn.Before(d.TakenOn) {
				t.Errorf("%+v of %+v, after %+v", d, sums[d.TakenOn], days[:i])
			}
		}
	})
}

func refusal(allowed int) *models.Error {
	return &models.Error{Kind: models.Refused, Code: "over-allowance", Detail: "too many", Allowed: &allowed, Binding: &models.Binding{Code: "stand"}}
}

func problemNames(e *models.Error) []string {
	var names []string
	for _, f := range e.Fields {
		names = append(names, f.Name)
	}
	return names
}

func TestEveryProblemOfADaySheetIsTold(t *testing.T) {
	unreadable := models.DayRow{Line: 3, Faults: []models.Field{{Name: "stems_cut", Detail: "is \"x\""}}}
	misfit := &models.Error{Kind: models.Invalid, Code: "no-stems", Fields: []models.Field{{Name: "stems_cut"}, {Name: "collected_by"}}}
	var p rules.DayProblems
	if p.Err() != nil {
		t.Fatal("nothing is a problem")
	}
	p.Unreadable(unreadable)
	for _, told := range []struct {
		row models.DayRow
		err error
	}{
		{models.DayRow{Line: 2}, refusal(7)},
		{unreadable, misfit},
		{models.DayRow{Line: 4}, models.UnknownName("unknown-stand", "stand", "stand", "X", nil)},
	} {
		if !p.Add(told.row, told.err) {
			t.Errorf("%v is not told", told.err)
		}
	}
	got := models.AsError(p.Err())
	if got.Kind != models.Invalid || got.Code != "invalid" || got.Allowed != nil {
		t.Errorf("%s %s with %v: a sheet with slips is no refusal", got.Kind, got.Code, got.Allowed)
	}
	if want := []string{"line 3: stems_cut", "line 2: stems_cut", "line 3: collected_by", "line 4: stand"}; !slices.Equal(problemNames(got), want) {
		t.Errorf("told are %q, want %q", problemNames(got), want)
	}
}

func TestADaySheetThatOnlyRulesRefuseIsARefusal(t *testing.T) {
	var p rules.DayProblems
	p.Add(models.DayRow{Line: 2}, refusal(7))
	p.Add(models.DayRow{Line: 3}, refusal(5))
	got := models.AsError(p.Err())
	if got.Kind != models.Refused || got.Code != "over-allowance" || *got.Allowed != 7 || got.Binding.Code != "stand" || len(got.Fields) != 2 {
		t.Errorf("%+v", got)
	}
}

func TestARowThatCannotBeReadIsToldOnce(t *testing.T) {
	row := models.DayRow{Line: 5, Faults: []models.Field{{Name: "row", Detail: "has 3 cells"}}}
	var p rules.DayProblems
	p.Unreadable(row)
	p.Add(row, models.UnknownName("unknown-stand", "stand", "stand", "", nil))
	p.Add(row, refusal(0))
	p.Add(row, models.InvalidField("invalid", "collected_by", nil, "is missing"))
	if got := problemNames(models.AsError(p.Err())); !slices.Equal(got, []string{"line 5: row"}) {
		t.Errorf("told are %q", got)
	}
}

func TestFaultsOfOursAreNoProblemOfTheSheet(t *testing.T) {
	var p rules.DayProblems
	for _, err := range []error{errors.New("disk full"), models.Errorf(models.Unavailable, "unavailable", "later")} {
		if p.Add(models.DayRow{Line: 2}, err) {
			t.Errorf("%v is told as a slip", err)
		}
	}
	if p.Err() != nil {
		t.Error("a fault of ours is a problem of the sheet")
	}
}
