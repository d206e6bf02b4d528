package rules_test

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
)

// setAside is a crew share with stems on the ledger, for a crew called C.
func setAside(from string, stems int) func(*models.StandRecord) {
	return func(r *models.StandRecord) {
		taken(from, stems)(r)
		r.Shares = append(r.Shares, models.OpenShare{
			Share: models.Share{ID: "share of " + from, Crew: "C", Stems: stems, FromDay: date(from), ToDay: date(from).Add(3), EnteredAt: date(from).At(9, time.UTC)},
			Left:  stems,
		})
	}
}

func onPermit(p models.Permit) func(*models.StandRecord) {
	return func(r *models.StandRecord) {
		p.StandIDs, p.Kind, p.Issuer = []string{r.ID}, models.PermitPaper, "the board"
		r.Permits = append(r.Permits, p)
	}
}

func TestBoardRow(t *testing.T) {
	all := func(changes ...func(*models.StandRecord)) []func(*models.StandRecord) { return changes }
	quantity := models.DecimalOf(10)
	needed := func(r *models.StandRecord) { r.PermitRequired = models.PermitNeeded }
	for _, c := range []struct {
		name                         string
		stand                        []func(*models.StandRecord)
		limit, taken, aside          int
		left                         int // -1 for no number
		over                         int
		binds, open, state, permit   string
		age                          int
		good                         bool
		instead, stateSays, exceeded string
	}{
		{"untouched", all(counted("2026-01-01", "800")), 40, 0, 0, 40, 0, "stand", "2026-01-17", "open", "not_on_file", 16, true, "", "", ""},
		{"cut and set aside", all(counted("2026-01-01", "800"), taken("2026-01-10", 12), setAside("2026-01-15", 5)), 40, 12, 5, 23, 0, "stand", "2026-01-17", "open", "not_on_file", 16, true, "", "", ""},
		{"set aside for a day to come", all(counted("2026-01-01", "800"), taken("2026-01-10", 12), setAside("2026-02-15", 5)), 40, 12, 5, 23, 0, "stand", "2026-01-17", "open", "not_on_file", 16, true, "", "", ""},
		{"set aside in days that have left the window", all(counted("2026-01-01", "800"), setAside("2025-01-28", 5), setAside("2025-01-30", 3)), 40, 0, 3, 37, 0, "stand", "2026-01-17", "open", "not_on_file", 16, true, "", "", ""},
		{"set aside for a day whose window does not hold it", all(counted("2026-01-01", "800"), setAside("2027-01-02", 5), setAside("2027-01-01", 3)), 40, 0, 3, 37, 0, "stand", "2026-01-17", "open", "not_on_file", 16, true, "", "", ""},
		{"by plants, from every one", all(capOf("0.2"), counted("2026-01-01", "800", 40)), 160, 0, 0, 80, 0, "per-plant", "2026-01-17", "open", "not_on_file", 16, true, "", "", ""},
		{"used up", all(counted("2026-01-01", "800"), taken("2026-01-10", 40)), 40, 40, 0, 0, 0, "stand", "2026-12-26", "open", "not_on_file", 16, true, "", "", ""},
		{"over", all(counted("2026-01-01", "800"), taken("2026-01-10", 43)), 40, 43, 0, 0, 3, "stand", "2026-12-26", "open", "not_on_file", 16, true, "", "", "43 stems were taken in the 350 days to 2026-01-10, 3 over the limit of 40"},
		{"closed", all(counted("2026-01-01", "800"), shut(models.Closure{From: "01-10", To: "02-20", EveryYear: true, Kind: models.Closed, Reason: "eagles"})), 40, 0, 0, 0, 0, "closure", "2026-02-21", "closed", "not_on_file", 16, true, "", "closed from 01-10 to 02-20 every year (eagles)", ""},
		{"nests to look for", all(counted("2026-01-01", "800"), shut(models.Closure{From: "01-10", To: "02-20", EveryYear: true, Kind: models.NestCheck})), 40, 0, 0, 0, 0, "closure", "2026-02-21", "nest_check", "not_on_file", 16, true, "", "until someone has looked for nests", ""},
		{"at rest", all(counted("2026-01-01", "800"), func(r *models.StandRecord) {
			r.Rests = append(r.Rests, models.Rest{StartsOn: date("2026-01-01"), Why: "browsed"})
		}), 40, 0, 0, 0, 0, "rest", "", "rest", "not_on_file", 16, true, "not before the rest has an end", "browsed", ""},
		{"never counted", all(), 0, 0, 0, 0, 0, "survey", "", "count_again", "not_on_file", 0, false, "not before a new count", "was not counted", ""},
		{"counted long ago", all(counted("2024-06-01", "800")), 40, 0, 0, 0, 0, "survey", "", "count_again", "not_on_file", 595, false, "not before a new count", "count the stand again", ""},
		{"salvage", all(counted("2026-01-01", "800"), func(r *models.StandRecord) {
			r.Salvages = append(r.Salvages, models.SalvagePeriod{StartsOn: date("2026-01-10"), EndsOn: date("2026-02-01"), Authority: "county roads", Why: "a road"})
		}), 40, 0, 0, -1, 0, "stand", "2026-01-17", "salvage", "not_on_file", 16, true, "", "free of caps", ""},
		{"a permit is missing", all(counted("2026-01-01", "800"), needed), 40, 0, 0, 0, 0, "permit", "", "open", "missing", 16, true, "not without a permit", "", ""},
		{"a permit is on file", all(counted("2026-01-01", "800"), needed, onPermit(models.Permit{Number: "WV-1", PermitTerms: models.PermitTerms{ValidFrom: date("2026-01-01"), Quantity: &quantity, Unit: models.InStems}})), 40, 0, 0, 10, 0, "permit", "2026-01-17", "open", "on_file", 16, true, "", "", ""},
		{"a permit is used up", all(counted("2026-01-01", "800"), needed, onPermit(models.Permit{Number: "WV-1", Drawn: quantity, PermitTerms: models.PermitTerms{ValidFrom: date("2026-01-01"), Quantity: &quantity, Unit: models.InStems}})), 40, 0, 0, 0, 0, "permit", "", "open", "used_up", 16, true, "not without another permit, or more on this one", "", ""},
		{"no permit is required", all(counted("2026-01-01", "800"), func(r *models.StandRecord) { r.PermitRequired = models.PermitNotNeeded }), 40, 0, 0, 40, 0, "stand", "2026-01-17", "open", "not_required", 16, true, "", "", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			row := rules.BoardRow(standOf(c.stand...), date("2026-01-17"))
			if row.Stand != "TB-01" || row.LandManager != "Wrenlow Valley Parks" || row.Taxon != "Cornus sericea" {
				t.Errorf("%+v", row)
			}
			left, open, age := -1, "", 0
			if row.Left != nil {
				left = *row.Left
			}
			if row.OpenFrom != nil {
				open = row.OpenFrom.String()
			}
			if row.SurveyAge != nil {
				age = *row.SurveyAge
			}
			if row.Limit != c.limit || row.Taken != c.taken || row.SetAside != c.aside || left != c.left || row.Over != c.over {
				t.Errorf("limit %d, taken %d, set aside %d, left %d, over %d", row.Limit, row.Taken, row.SetAside, left, row.Over)
			}
			if row.Binding.Code != c.binds || open != c.open || string(row.State) != c.state || string(row.Permit) != c.permit || age != c.age || row.SurveyGood != c.good {
				t.Errorf("%s binds, open from %s, %s, permit %s, counted %d days ago (%v)", row.Binding.Code, open, row.State, row.Permit, age, row.SurveyGood)
			}
			for said, says := range map[string]string{row.Instead: c.instead, row.StateDetail: c.stateSays, row.Exceeded: c.exceeded} {
				if (said == "") != (says == "") || !strings.Contains(said, says) {
					t.Errorf("%q is not %q", said, says)
				}
			}
		})
	}
}

func TestSortBoard(t *testing.T) {
	row := func(code string, over int, left *int) models.BoardRow {
		return models.BoardRow{Stand: code, StandUse: models.StandUse{Over: over, Left: left}}
	}
	rows := []models.BoardRow{row("b-2", 0, ptr(9)), row("C-3", 0, nil), row("A-1", 0, ptr(9)), row("D-4", 2, ptr(0)), row("E-5", 0, ptr(0)), row("F-6", 7, ptr(0))}
	rules.SortBoard(rows)
	var codes []string
	for _, r := range rows {
		codes = append(codes, r.Stand)
	}
	if got := strings.Join(codes, " "); got != "C-3 A-1 b-2 E-5 D-4 F-6" {
		t.Errorf("in order: %s", got)
	}
}

// What is told of a stand agrees with the answer about one stem: whatever the stand is
// like, it is open from the day the answer gives, with what the answer allows.
func TestTheBoardAgreesWithTheAllowance(t *testing.T) {
	every := models.MaxCount
	rapid.Check(t, func(t *rapid.T) {
		r := drawStand(t).record()
		drawKept(t, r)
		on := base.Add(rapid.IntRange(-3, span+20).Draw(t, "on"))
		row := rules.BoardRow(r, on)
		a := rules.Allowance(r, rules.Cut{On: on, Stems: 1, Parents: &every})
		if row.Left != nil && *row.Left != a.Allowed || row.Left == nil && a.Allowed != models.MaxCount {
			t.Errorf("%v are left, and %d allowed", row.Left, a.Allowed)
		}
		if (row.OpenFrom == nil) != (a.PossibleFrom == nil) || row.OpenFrom != nil && *row.OpenFrom != *a.PossibleFrom || row.Instead != a.Instead {
			t.Errorf("open from %v (%s), possible from %v (%s)", row.OpenFrom, row.Instead, a.PossibleFrom, a.Instead)
		}
		if row.Limit != a.Limit || row.Taken > a.Taken || row.Taken+row.SetAside < a.Taken {
			t.Errorf("%d and %d set aside of %d, and %d of %d", row.Taken, row.SetAside, row.Limit, a.Taken, a.Limit)
		}
		if (row.Over > 0) != (row.Exceeded != "") || row.Exceeded != rules.Exceeded(r, on) {
			t.Errorf("over by %d: %q", row.Over, row.Exceeded)
		}
	})
}
