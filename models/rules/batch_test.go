package rules_test

import (
	"slices"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/rules"
)

var batchDay = models.MustDate("2026-03-01")

func newBatch(change ...func(*models.NewBatch)) models.NewBatch {
	req := models.NewBatch{Stand: "TB-01", CollectedOn: date("2026-01-17"), StemsCut: 24, Cuttings: 72, CollectedBy: " RQ "}
	for _, c := range change {
		c(&req)
	}
	return req
}

func alreadyCut(r *models.NewBatch) { r.AlreadyCut, r.Reason = true, "two crews cut on one morning" }

func TestABatchIsMadeWithItsShares(t *testing.T) {
	stand := standOf(counted("2026-01-01", "800"), taken("2026-01-10", 8))
	got, warnings, err := rules.EnterBatch(stand, newBatch(), batchDay)
	if err != nil || len(warnings) > 0 {
		t.Fatal(warnings, err)
	}
	if *got.HarvestFraction != 0.03 || *got.StandFraction != 0.04 || *got.SurveyID != "survey of 2026-01-01" {
		t.Errorf("shares %v and %v of %s", *got.HarvestFraction, *got.StandFraction, *got.SurveyID)
	}
	if got.CollectedBy != "RQ" || got.Year != 2026 || got.WaitingFrom != date("2026-01-17") || !got.Active || got.AwaitsReview {
		t.Errorf("%+v", got)
	}
	if got.Identification != models.Unconfirmed || got.Purpose != models.Rooting || got.RecordNumber != nil {
		t.Errorf("what was left out is %s, %s, %v", got.Identification, got.Purpose, got.RecordNumber)
	}
}

func TestBatchesThatCannotBe(t *testing.T) {
	long := strings.Repeat("x", models.MaxName+1)
	plants := counted("2026-01-01", "800", 40)
	for _, c := range []struct {
		name   string
		stand  *models.StandRecord
		change func(*models.NewBatch)
		code   string
		fields []string
	}{
		{"of tomorrow", standOf(counted("2026-01-01", "800")), func(r *models.NewBatch) { r.CollectedOn = batchDay.Add(1) }, "in-the-future", []string{"collected_on"}},
		{"of no day", standOf(plants), func(r *models.NewBatch) { r.CollectedOn = models.Date{} }, "invalid", []string{"collected_on"}},
		{"without stems", standOf(counted("2026-01-01", "800")), func(r *models.NewBatch) { r.StemsCut = 0 }, "no-stems", []string{"stems_cut"}},
		{"of nothing at all", standOf(counted("2026-01-01", "800")), func(r *models.NewBatch) { r.StemsCut, r.Cuttings = 0, 0 }, "no-stems", []string{"stems_cut"}},
		{"fewer than none", standOf(counted("2026-01-01", "800")), func(r *models.NewBatch) { r.StemsCut, r.Cuttings = -4, -1 }, "invalid", []string{"stems_cut", "cuttings"}},
		{"too many", standOf(counted("2026-01-01", "800")), func(r *models.NewBatch) { r.Cuttings = models.MaxCount + 1 }, "invalid", []string{"cuttings"}},
		{"by nobody", standOf(counted("2026-01-01", "800")), func(r *models.NewBatch) { r.CollectedBy = " " }, "invalid", []string{"collected_by"}},
		{"of another taxon", standOf(counted("2026-01-01", "800")), func(r *models.NewBatch) { r.Taxon = "Populus trichocarpa" }, "taxon-misfit", []string{"taxon"}},
		{"without its parents", standOf(plants), func(*models.NewBatch) {}, "parents-missing", []string{"parent_plants"}},
		{"of no parents", standOf(plants), func(r *models.NewBatch) { r.ParentPlants = ptr(0) }, "invalid", []string{"parent_plants"}},
		{"already cut for no reason", standOf(counted("2026-01-01", "800")), func(r *models.NewBatch) { r.AlreadyCut = true }, "invalid", []string{"reason"}},
		{"a reason for nothing", standOf(counted("2026-01-01", "800")), func(r *models.NewBatch) { r.Reason = "late" }, "invalid", []string{"reason"}},
		{"stuck on no day", standOf(counted("2026-01-01", "800")), func(r *models.NewBatch) { r.Bench = "B2" }, "invalid", []string{"stuck_on"}},
		{"details", standOf(counted("2026-01-01", "800")), func(r *models.NewBatch) {
			r.Details = models.Details{
				IdentifiedBy: long, Identification: "sure", RecordNumber: long, Purpose: "fun", Kind: "log", LengthCM: ptr(0.0),
				DiameterMM: ptr(501.0), Nodes: ptr(101), WoodAgeYears: ptr(-1.0), Health: long, HoursToWater: ptr(1001.0), Note: strings.Repeat("x", 2001),
			}
		}, "invalid", []string{"identified_by", "record_number", "health", "note", "identification", "purpose", "kind", "length_cm", "diameter_mm", "wood_age_years", "hours_to_water", "nodes"}},
		{"before the first survey", standOf(counted("2026-01-18", "800")), func(*models.NewBatch) {}, "before-first-survey", []string{"collected_on"}},
		{"on a stand never surveyed", standOf(), func(*models.NewBatch) {}, "before-first-survey", []string{"collected_on"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, err := rules.EnterBatch(c.stand, newBatch(c.change), batchDay)
			wantFault(t, err, c.code, c.fields...)
		})
	}
}

func TestWhatARuleRefusesIsNotMade(t *testing.T) {
	for code, stand := range map[string]*models.StandRecord{
		"over-allowance": standOf(counted("2026-01-01", "400")),
		"closed-season":  standOf(counted("2026-01-01", "800"), shut(models.Closure{From: "01-01", To: "01-31", EveryYear: true})),
		"survey-expired": standOf(counted("2024-01-01", "800")),
		"protected":      standOf(counted("2026-01-01", "800"), protected),
	} {
		_, _, err := rules.EnterBatch(stand, newBatch(), batchDay)
		if e := models.AsError(err); e == nil || e.Kind != models.Refused || e.Code != code || e.Allowed == nil || e.Binding == nil {
			t.Errorf("%s: %+v", code, e)
		}
	}
}

// Stems that are gone are recorded against every rule that refuses, to be
// reviewed; their shares are those of the latest survey, if there is one.
func TestWhatIsAlreadyCutIsRecordedToReview(t *testing.T) {
	for _, c := range []struct {
		name   string
		stand  *models.StandRecord
		says   string
		shares bool
	}{
		{"over the allowance", standOf(counted("2026-01-01", "400")), "0 of 20 stems", true},
		{"closed", standOf(counted("2026-01-01", "800"), shut(models.Closure{From: "01-01", To: "01-31", EveryYear: true})), "closed from 01-01", true},
		{"expired", standOf(counted("2023-01-01", "1"), counted("2024-01-01", "800")), "good for 500", true},
		{"protected", standOf(counted("2026-01-01", "800"), protected), "is protected", true},
		{"before the first survey", standOf(counted("2026-01-18", "800")), "before the first survey", false},
		{"never surveyed", standOf(), "never surveyed", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, warnings, err := rules.EnterBatch(c.stand, newBatch(alreadyCut), batchDay)
			if err != nil {
				t.Fatal(err)
			}
			if !got.AwaitsReview || !got.AlreadyCut || got.Reason == "" || !strings.Contains(got.RefusedBy, c.says) {
				t.Errorf("to review %t, already cut %t for %q, against %q, want %q", got.AwaitsReview, got.AlreadyCut, got.Reason, got.RefusedBy, c.says)
			}
			if has := got.HarvestFraction != nil && got.StandFraction != nil && got.SurveyID != nil; has != c.shares {
				t.Errorf("shares %v and %v of %v", got.HarvestFraction, got.StandFraction, got.SurveyID)
			}
			if len(warnings) == 0 || !strings.Contains(warnings[0], "reviewed") {
				t.Errorf("it warns of %q", warnings)
			}
			// What is over a limit begins a rest, and nothing else does.
			over := c.name == "over the allowance"
			if rests := strings.Contains(strings.Join(warnings[1:], ""), "TB-01 rests from 2026-01-18"); rests != over || got.OverLimit != over {
				t.Errorf("over a limit %t, and it warns of %q", got.OverLimit, warnings)
			}
		})
	}
	expired, _, err := rules.EnterBatch(standOf(counted("2024-01-01", "800")), newBatch(alreadyCut), batchDay)
	if err != nil || *expired.HarvestFraction != 0.03 {
		t.Errorf("its share of the expired survey is %v, %v", expired.HarvestFraction, err)
	}
}

func TestAlreadyCutWithinTheRulesIsNoReview(t *testing.T) {
	got, warnings, err := rules.EnterBatch(standOf(counted("2026-01-01", "800")), newBatch(alreadyCut), batchDay)
	if err != nil || got.AwaitsReview || got.RefusedBy != "" || len(warnings) != 1 || !strings.Contains(warnings[0], "was not needed") {
		t.Errorf("%+v %q %v", got, warnings, err)
	}
}

func TestWhatABatchWarnsOf(t *testing.T) {
	stand := standOf(capOf("1"), counted("2026-01-01", "800", 30))
	stand.Rules[0].PerPlantCap = models.MustDecimal("1")
	_, warnings, err := rules.EnterBatch(stand, newBatch(func(r *models.NewBatch) { r.Cuttings, r.ParentPlants = 20, ptr(31) }), batchDay)
	if err != nil || len(warnings) != 3 {
		t.Fatalf("%q, %v", warnings, err)
	}
	for i, says := range []string{"20 cuttings are fewer than the 24 stems", "31 parent plants are more than the 24 stems", "31 parent plants are more than the 30 counted on 2026-01-01"} {
		if !strings.Contains(warnings[i], says) {
			t.Errorf("%q does not say %q", warnings[i], says)
		}
	}
}

func TestWarningsOfOneOfAThing(t *testing.T) {
	stand := standOf(counted("2026-01-01", "800"))
	req := newBatch(func(r *models.NewBatch) { r.StemsCut, r.Cuttings, r.ParentPlants = 2, 1, ptr(3) })
	_, warnings, err := rules.EnterBatch(stand, req, date("2026-01-17"))
	want := []string{"1 cutting is fewer than the 2 stems cut", "3 parent plants are more than the 2 stems cut from them"}
	if err != nil || !slices.Equal(warnings, want) {
		t.Errorf("%q, %v, want %q", warnings, err, want)
	}
}

// A field is told once: a count that is no count is not also told as missing.
func TestStemsAreToldOnce(t *testing.T) {
	stand := standOf(counted("2026-01-01", "800"))
	for n, want := range map[int]string{
		0:                   "is 0, and stems are needed to make 72 cuttings from",
		-4:                  "is -4, and must be from 1 to 10000000",
		models.MaxCount + 1: "is 10000001, and must be from 1 to 10000000",
	} {
		_, _, err := rules.EnterBatch(stand, newBatch(func(r *models.NewBatch) { r.StemsCut = n }), date("2026-01-17"))
		known := models.AsError(err)
		if known == nil || len(known.Fields) != 1 || known.Fields[0].Detail != want {
			t.Errorf("%d stems: %v, want %s", n, err, want)
		}
	}
}
