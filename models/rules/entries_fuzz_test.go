package rules

import (
	"math"
	"testing"

	"withybed/models"
)

// FuzzEntries feeds the makers wild values: they refuse them or make a record
// that balances, and never panic.
func FuzzEntries(f *testing.F) {
	f.Add(uint8(0), int32(2), 72, 0, 0, "perlite", "dried", 0.3)
	f.Add(uint8(1), int32(3), 5, -1, 0, "lost", "frost", 0.0)
	f.Add(uint8(2), int32(30), 30, 12, 3, "tug", "rotted_base", 1.0)
	f.Add(uint8(3), int32(30), 30, math.MaxInt, math.MinInt, "tug", "rotted_base", math.Inf(1))
	f.Add(uint8(4), int32(40), 33, 1, 1, "pot", "", 1.0)
	f.Add(uint8(5), int32(-9), 40, math.MaxInt, 1, "", "\x00", math.NaN())
	f.Add(uint8(6), int32(60), 1, 9, 0, "keep", "", -1.0)
	f.Fuzz(func(t *testing.T, kind uint8, day int32, a, b, c int, text, word string, x float64) {
		on := dayOf("2026-01-17").Add(int(day % 1000))
		r := dogwoodBatch()
		if kind >= 128 {
			r = rootedBatch(t)
		}
		if _, err := enterInto(r, wildRequest(kind%7, on, a, b, c, text, word, x)); err != nil {
			if e := models.AsError(err); e == nil || e.Code == "" {
				t.Fatalf("refused without a code: %v", err)
			}
		}
		wantBalance(t, storyOn(t, r, on))
		wantBalance(t, storyOn(t, r, lateDay))
	})
}

func wildRequest(kind uint8, on models.Date, a, b, c int, text, word string, x float64) any {
	tray := models.Tray{Medium: text, Treatment: &models.Treatment{Name: word, AuxinForm: models.AuxinForm(text), AuxinPercent: &x, SoakDays: &x},
		BottomHeat: &models.BottomHeat{Recorded: true, Heated: true, Celsius: x}}
	switch kind {
	case 0:
		return models.NewSticking{StuckOn: on, Count: a, Tray: tray}
	case 1:
		return models.NewMove{On: on, To: models.MoveTo(text), Count: a, Cause: models.Cause(word), Use: text}
	case 2:
		return models.NewCheck{CheckedOn: on, Rooted: &a, Unrooted: &b, Lost: models.Losses{models.Cause(word): c}, Method: models.LookMethod(text)}
	case 3:
		return models.NewCheck{CheckedOn: on, Rooted: &a, PottingRoots: &b, Overlong: &c, Withdrawn: c,
			LostRooted: &models.Losses{models.Cause(word): b, models.Heat: c}, Examined: &b, Note: text}
	case 4:
		return models.NewPotting{PottedOn: on, Count: a, Container: text, Bench: word}
	case 5:
		return models.NewSplit{On: on, Arms: []models.Arm{{Count: a}, {Count: b, StuckOn: on.Add(c % 1000), Tray: tray}}}
	}
	return models.NewDecision{On: on, Action: models.Action(text), Until: on.Add(b % 1000), Why: word}
}
