package rules

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"withybed/models"
)

func TestSistersInheritWhereTheyWaited(t *testing.T) {
	on := dayOf("2026-01-21")
	req := models.NewSplit{On: on, Arms: []models.Arm{
		{Count: 12},
		{Count: 20, Tray: models.Tray{Medium: "perlite", Treatment: &models.Treatment{AuxinPercent: amount(0.3)}}},
		{Count: 1, StuckOn: dayOf("2026-01-22")},
	}}
	sisters, _, err := SplitArms(storedBatch(t), req, lateDay)
	if err != nil {
		t.Fatal(err)
	}
	split := func(n int) models.Split {
		return models.Split{SplitOn: on, Count: n, Source: models.FromWaiting}
	}
	from := dayOf("2026-01-17")
	want := []Sister{
		{Split: split(12), WaitingFrom: from, Moves: []models.Move{{MovedOn: dayOf("2026-01-18"), To: models.ToSoak, Count: 2}}},
		{Split: split(20), WaitingFrom: from, Moves: []models.Move{
			{MovedOn: dayOf("2026-01-18"), To: models.ToSoak, Count: 13},
			{MovedOn: dayOf("2026-01-20"), To: models.ToSoak, Count: 5},
			{MovedOn: dayOf("2026-01-19"), To: models.ToRefrigerator, Count: 2},
		}, Sticking: &models.Sticking{StuckOn: on, Count: 20, Label: "auxin 3000 ppm",
			Tray: models.Tray{Medium: "perlite", Treatment: &models.Treatment{AuxinPPM: amount(3000)}}}},
		{Split: split(1), WaitingFrom: from, Moves: []models.Move{{MovedOn: dayOf("2026-01-19"), To: models.ToRefrigerator, Count: 1}},
			Sticking: &models.Sticking{StuckOn: dayOf("2026-01-22"), Count: 1, Label: models.NoTreatment}},
	}
	if diff := cmp.Diff(want, sisters, cmp.Comparer(sameDay)); diff != "" {
		t.Error(diff)
	}
}

// A sister begins where the first batch left off: what waited in soak since a
// day still waits there since that day.
func TestSistersReplay(t *testing.T) {
	first := storedBatch(t)
	before := storyOn(t, first, lateDay)
	sisters, _, err := SplitArms(first, models.NewSplit{On: dayOf("2026-01-21"), Arms: []models.Arm{{Count: 72}}}, lateDay)
	if err != nil {
		t.Fatal(err)
	}
	after := storyOn(t, sisterRecord(first, sisters[0]), lateDay)
	if got, want := waitsOf(after), waitsOf(before); got != want {
		t.Errorf("the sister waits %s, the batch waited %s", got, want)
	}
}

// What came into soak on the day of the split comes there before it is stuck.
func TestSistersStuckAtOnceReplay(t *testing.T) {
	arm := models.Arm{Count: 72, Tray: models.Tray{Medium: "sand"}}
	first := storedBatch(t)
	sisters, _, err := SplitArms(first, models.NewSplit{On: dayOf("2026-01-20"), Arms: []models.Arm{arm}}, lateDay)
	if err != nil {
		t.Fatal(err)
	}
	story := storyOn(t, sisterRecord(first, sisters[0]), lateDay)
	if story.Tally.Stuck != 72 || len(story.Waits) != 0 {
		t.Errorf("got %+v", story)
	}
}

// sisterRecord is the record of a sister as a use case makes it.
func sisterRecord(first *models.BatchRecord, s Sister) *models.BatchRecord {
	r := &models.BatchRecord{Batch: first.Batch}
	r.StemsCut, r.Cuttings, r.WaitingFrom, r.Version = 0, s.Split.Count, s.WaitingFrom, 1
	for i, m := range s.Moves {
		m.Entry, m.ID = 1, itoa(i)
		r.Moves = append(r.Moves, m)
	}
	if s.Sticking != nil {
		sticking := *s.Sticking
		sticking.Entry = 1
		r.Sticking = &sticking
	}
	return r
}

func TestSplitsThatCannotBe(t *testing.T) {
	on := dayOf("2026-01-21")
	arms := func(arms ...models.Arm) models.NewSplit { return models.NewSplit{On: on, Arms: arms} }
	cases := []struct {
		name  string
		first []any
		req   models.NewSplit
		code  string
		words []string
	}{
		{"more than wait", nil, arms(models.Arm{Count: 40}, models.Arm{Count: 33}), "too-many-cuttings", []string{"arms ask for 73", "only 72"}},
		{"after all are stuck", []any{stickingOn("2026-01-18", 72)}, arms(models.Arm{Count: 1}), "too-many-cuttings", []string{"only 0"}},
		{"before the cut", nil, models.NewSplit{On: dayOf("2026-01-16"), Arms: []models.Arm{{Count: 1}}}, "out-of-order", nil},
		{"stuck before the split", nil, arms(models.Arm{Count: 1, StuckOn: dayOf("2026-01-20")}), "out-of-order", []string{"arms[0].stuck_on is 2026-01-20"}},
		{"of a closed batch", []any{models.NewDecision{On: on, Action: models.CloseBatch}}, arms(models.Arm{Count: 99}), "batch-closed", nil},
		{"a later sticking needs them", []any{stickingOn("2026-01-25", 70)}, arms(models.Arm{Count: 3}), "later-entry", []string{"the sticking of 2026-01-25", "only 69"}},
		{"too many arms", nil, arms(make([]models.Arm, mostArms+1)...), "invalid", []string{"51"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, _, err := SplitArms(mustEnter(t, dogwoodBatch(), c.first...), c.req, lateDay)
			wantRefusal(t, err, c.code, c.words...)
		})
	}
}
