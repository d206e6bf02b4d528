package documents_test

import (
	"testing"
	"time"

	"withybed/models"
	"withybed/models/documents"
)

func TestCorrectionsInSentences(t *testing.T) {
	type said = map[string]any
	for _, c := range []struct {
		want string
		c    models.Correction
	}{
		{"OP corrected the cut: stems cut from 24 to 28; why: counted again",
			models.Correction{Subject: models.OfBatch, Before: said{"stems_cut": 24.0}, After: said{"stems_cut": 28.0}, Why: "counted again", CorrectedBy: "OP"}},
		{"corrected the cut: collected by from RQ to someone not on the list, length cm is 20.5, note was north end and is none",
			models.Correction{Subject: models.OfBatch, Before: said{"collected_by": "RQ", "note": "north end"}, After: said{"collected_by": models.NotListed, "length_cm": 20.5}}},
		{"OP corrected the cut: it is to be reviewed; why: x",
			models.Correction{Subject: models.OfBatch, Before: said{"to_review": false}, After: said{"to_review": true}, Why: "x", CorrectedBy: "OP"}},
		{"OP corrected the cut: parents from 2 of D-07 and 1 of D-08 to 3 of D-70; why: x",
			models.Correction{Subject: models.OfBatch, Before: said{"parents": []any{said{"tag": "D-07", "stems": 2.0}, said{"tag": "D-08", "stems": 1.0}}},
				After: said{"parents": []any{said{"tag": "D-70", "stems": 3.0}}}, Why: "x", CorrectedBy: "OP"}},
		{"OP corrected the check (entry 4): lost from nothing to 3 rotted base, lost rooted is 1 eaten; why: x",
			models.Correction{Subject: models.OfCheck, AboutEntry: 4, Before: said{"lost": said{}}, After: said{"lost": said{"rotted_base": 3.0}, "lost_rooted": said{"eaten": 1.0}}, Why: "x", CorrectedBy: "OP"}},
		{"OP corrected the sticking (entry 2): mist from no to yes, treatment was IBA 3000 ppm and is none; why: x",
			models.Correction{Subject: models.OfSticking, AboutEntry: 2, Before: said{"mist": false, "treatment": said{"auxin": "IBA", "auxin_ppm": 3000.0}}, After: said{"mist": true}, Why: "x", CorrectedBy: "OP"}},
		{"OP took out the decision (entry 7): entered twice; it said: action keep, decided by OP, until 2026-05-18, the reason callus",
			models.Correction{Subject: models.OfDecision, AboutEntry: 7, Void: true, Before: said{"action": "keep", "by": "OP", "why": "callus", "until": "2026-05-18"}, Why: "entered twice", CorrectedBy: "OP"}},
		{"someone not on the list voided the batch: logged twice",
			models.Correction{Subject: models.OfBatch, Void: true, Before: said{"stems_cut": 24.0}, Why: "logged twice", CorrectedBy: models.NotListed}},
		{"OP voided the look for nests: upstream; it said: nests found yes, on 2026-02-20",
			models.Correction{Subject: models.OfNestCheck, Void: true, Before: said{"nests_found": true, "on": "2026-02-20"}, Why: "upstream", CorrectedBy: "OP"}},
		{"OP voided the look for nests: upstream; it said: by RQ, nests found no, on 2026-02-20",
			models.Correction{Subject: models.OfNestCheck, Void: true, Before: said{"id": "01a2", "entered_at": "2026-02-20T18:00:00Z", "by": "RQ", "nests_found": false, "on": "2026-02-20"}, Why: "upstream", CorrectedBy: "OP"}},
		{"OP corrected the survey: plots from (counts 12,7,0, plot area m2 4) to (counts 12,7,9, plot area m2 4), standard error from 135.0926 to 47.0106; why: a slip",
			models.Correction{Subject: models.OfSurvey,
				Before: said{"plots": said{"counts": []any{12.0, 7.0, 0.0}, "plot_area_m2": 4.0}, "standard_error": 135.09256086106296},
				After:  said{"plots": said{"counts": []any{12.0, 7.0, 9.0}, "plot_area_m2": 4.0}, "standard_error": 47.01063709417262}, Why: "a slip", CorrectedBy: "OP"}},
	} {
		if got := documents.Corrected(&c.c); got != c.want {
			t.Errorf("it is told as\n%q, want\n%q", got, c.want)
		}
	}
}

// Corrections and names stand in the history by the day they are of, with the number of
// their entry; an entry that was taken out is told by its correction alone.
func TestCorrectionsStandInTheHistory(t *testing.T) {
	late := time.Date(2026, 3, 2, 5, 30, 0, 0, time.UTC) // still 1 March in the west
	r := &models.BatchRecord{
		Batch:       models.Batch{Code: "MB-03-2026-7", CollectedOn: day("2026-01-17"), WaitingFrom: day("2026-01-17"), StemsCut: 28, Cuttings: 72, CollectedBy: "RQ", Version: 5},
		Corrections: []models.Correction{{Subject: models.OfMove, AboutEntry: 2, Void: true, Why: "entered twice", CorrectedBy: "OP", Entry: 3, EnteredAt: late}},
		Determinations: []models.Determination{
			{TaxonID: "b", BeforeID: "a", Taxon: "Salix scouleriana", Before: "Cornus sericea", Qualifier: models.Compare, DeterminedOn: day("2026-02-20"), DeterminedBy: "OP", Note: "buds with one scale", Entry: 4},
			{TaxonID: "b", BeforeID: "b", Taxon: "Salix scouleriana", Before: "Salix scouleriana", DeterminedOn: day("2026-02-27"), Entry: 5},
		},
	}
	place, err := time.LoadLocation("America/Los_Angeles")
	if err != nil {
		t.Fatal(err)
	}
	type told struct {
		entry int
		on    string
		text  string
	}
	var got []told
	for _, l := range documents.History(r, place) {
		got = append(got, told{*l.Entry, l.On.String(), l.Text})
	}
	want := []told{
		{0, "2026-01-17", "RQ cut 28 stems and made 72 cuttings"},
		{4, "2026-02-20", "OP named it Salix cf. scouleriana; it was called Cornus sericea; note: buds with one scale"},
		{5, "2026-02-27", "named it Salix scouleriana once more"},
		{3, "2026-03-01", "OP took out the move (entry 2): entered twice"},
	}
	if len(got) != len(want) {
		t.Fatalf("the history is %+v", got)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("%d is %+v, want %+v", i, got[i], want[i])
		}
	}
}

func TestTheLetterAboutAWrongPlant(t *testing.T) {
	d := &models.Determination{TaxonID: "b", BeforeID: "a", Taxon: "Salix scouleriana", Before: "Cornus sericea", Qualifier: models.Compare, DeterminedOn: day("2026-02-20"), DeterminedBy: "OP", Note: "buds with one scale"}
	wantMessage(t, "wrong-species", documents.WrongSpeciesLetter(valley, []string{"MB-03-2026-7", "MB-03-2026-8"}, "MB-03", "Cornus sericea", d, []models.MailList{models.BenchMail}))
}
