package rules_test

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
)

// Dogwood soaks ten days at most, and asks two days before they are over.
func TestSoakEnds(t *testing.T) {
	set := rules.DefaultSettings()
	limit := set.Thresholds.SoakDogwood
	r := batchWith(moved("2026-01-18", models.ToSoak, 40), moved("2026-01-21", models.ToSoak, 20))
	last := []models.Date{day("2026-01-18").Add(limit), day("2026-01-21").Add(limit)}
	for _, c := range []struct {
		on   models.Date
		want []models.Date
	}{
		{last[0].Add(-3), nil},
		{last[0].Add(-2), last[:1]},
		{last[1].Add(-2), last},
		{last[1].Add(30), last},
	} {
		ends := rules.SoakEnds(r, tell(t, r, c.on), set)
		if len(ends) != len(c.want) {
			t.Fatalf("on %s there are %+v", c.on, ends)
		}
		for i, end := range ends {
			if end.LastDay != c.want[i] || end.Item.Batch != r.Code || end.Item.Flag != models.FlagSoak {
				t.Errorf("on %s: %+v", c.on, end)
			}
			if urgent := !c.on.Before(end.LastDay); end.Item.Urgent != urgent || strings.Contains(end.Item.Reason, "now") != urgent {
				t.Errorf("on %s: %+v", c.on, end.Item)
			}
		}
	}
	stakes := batchWith(moved("2026-01-18", models.ToSoak, 40), purpose(models.LiveStakes))
	if ends := rules.SoakEnds(stakes, tell(t, stakes, last[1]), set); ends != nil {
		t.Errorf("stakes are not followed: %+v", ends)
	}
}

// There is a soak that ends exactly where the flag of the soak stands, and the
// cuttings of all are the cuttings of the flag.
func TestSoakEndsAreTheFlag(t *testing.T) {
	set := rules.DefaultSettings()
	rapid.Check(t, func(t *rapid.T) {
		var changes []change
		for _, after := range rapid.SliceOfNDistinct(rapid.IntRange(0, 6), 0, 4, rapid.ID[int]).Draw(t, "days after the cut") {
			changes = append(changes, moved(day("2026-01-17").Add(after).String(), models.ToSoak, rapid.IntRange(1, 15).Draw(t, "count")))
		}
		r := batchWith(changes...)
		story, err := rules.Replay(r, day("2026-01-23").Add(rapid.IntRange(0, 20).Draw(t, "days later")))
		if err != nil {
			t.Skip("no record")
		}
		soaking := 0
		for _, end := range rules.SoakEnds(r, story, set) {
			soaking += end.Item.Count
		}
		flagged := 0
		for _, item := range rules.Flags(r, story, set) {
			if item.Flag == models.FlagSoak {
				flagged = item.Count
			}
		}
		if soaking != flagged {
			t.Fatalf("%d cuttings in soaks that end, and the flag counts %d", soaking, flagged)
		}
	})
}
