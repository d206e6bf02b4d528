package rules_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/rules"
)

func day(text string) models.Date { return models.MustDate(text) }

func number(n int) *int { return &n }

// change is an edit of a record that a test begins with.
type change func(*models.BatchRecord)

// batchWith is 72 dormant cuttings of dogwood, cut on 17 January 2026 and in
// hand, with changes.
func batchWith(changes ...change) *models.BatchRecord {
	r := &models.BatchRecord{
		Batch: models.Batch{
			Code: "MB-03-2026-1", CollectedOn: day("2026-01-17"), WaitingFrom: day("2026-01-17"),
			StemsCut: 24, Cuttings: 72, CollectedBy: "RQ", Purpose: models.Rooting, Kind: models.Hardwood,
		},
		Stand: "MB-03", Taxon: models.Taxon{ScientificName: "Cornus sericea"},
	}
	for _, c := range changes {
		c(r)
	}
	return r
}

func taxon(name string) change {
	return func(r *models.BatchRecord) { r.Taxon.ScientificName = name }
}

func slow(r *models.BatchRecord) { r.Taxon.SlowToRoot = true }

func kind(k models.CuttingKind) change { return func(r *models.BatchRecord) { r.Kind = k } }

func purpose(p models.Purpose) change { return func(r *models.BatchRecord) { r.Purpose = p } }

func toReview(r *models.BatchRecord) { r.AwaitsReview = true }

func nextEntry(r *models.BatchRecord) int {
	return 1 + len(r.Moves) + len(r.Checks) + len(r.Pottings) + len(r.Decisions) + len(r.Splits)
}

func moved(on string, to models.MoveTo, count int) change {
	return func(r *models.BatchRecord) {
		r.Moves = append(r.Moves, models.Move{MovedOn: day(on), To: to, Count: count, Cause: models.Dried, Entry: nextEntry(r)})
	}
}

// stuck sticks all cuttings that a batch begins with, or as many as a later
// change says, on a heated bench B2.
func stuck(on string, changes ...func(*models.Sticking)) change {
	return func(r *models.BatchRecord) {
		r.Sticking = &models.Sticking{StuckOn: day(on), Count: r.Cuttings, Entry: nextEntry(r), Tray: models.Tray{
			Medium: "perlite", Bench: "B2", BottomHeat: &models.BottomHeat{Recorded: true, Heated: true, Celsius: 21},
		}}
		for _, c := range changes {
			c(r.Sticking)
		}
	}
}

func water(s *models.Sticking)    { s.Medium = "Water" }
func mist(s *models.Sticking)     { s.Mist = true }
func unheated(s *models.Sticking) { s.BottomHeat = &models.BottomHeat{Recorded: true} }
func heatUnsaid(s *models.Sticking) {
	s.BottomHeat = nil
}

func only(count int) func(*models.Sticking) { return func(s *models.Sticking) { s.Count = count } }

// looked is a check of the whole tray; roots in order: rooted, with potting
// roots, overlong. No roots at all is a look that did not examine them.
func looked(on string, roots ...int) change {
	return func(r *models.BatchRecord) {
		r.Checks = append(r.Checks, checkOf(r, on, roots))
	}
}

func checkOf(r *models.BatchRecord, on string, roots []int) models.Check {
	c := models.Check{CheckedOn: day(on), Entry: nextEntry(r)}
	for i, at := range []**int{&c.Rooted, &c.PottingRoots, &c.Overlong} {
		if i < len(roots) {
			*at = number(roots[i])
		}
	}
	return c
}

// examined is a look at some of the tray.
func examined(on string, count int, roots ...int) change {
	return func(r *models.BatchRecord) {
		c := checkOf(r, on, roots)
		c.Examined = number(count)
		r.Checks = append(r.Checks, c)
	}
}

func lost(on string, rooted, count int) change {
	return func(r *models.BatchRecord) {
		c := checkOf(r, on, []int{rooted})
		c.Lost = models.Losses{models.RottedBase: count}
		r.Checks = append(r.Checks, c)
	}
}

// onlyLost is a check of the whole tray at which roots were not examined.
func onlyLost(on string, count int) change {
	return func(r *models.BatchRecord) {
		c := checkOf(r, on, nil)
		c.Lost = models.Losses{models.RottedBase: count}
		r.Checks = append(r.Checks, c)
	}
}

func potted(on string, count int) change {
	return func(r *models.BatchRecord) {
		r.Pottings = append(r.Pottings, models.Potting{PottedOn: day(on), Count: count, Entry: nextEntry(r)})
	}
}

func decided(on string, action models.Action, until string) change {
	return func(r *models.BatchRecord) {
		d := models.Decision{DecidedOn: day(on), Action: action, Entry: nextEntry(r)}
		if until != "" {
			d.UntilDay = day(until)
		}
		r.Decisions = append(r.Decisions, d)
	}
}

func tell(t testing.TB, r *models.BatchRecord, on models.Date) *rules.Story {
	t.Helper()
	s, err := rules.Replay(r, on)
	if err != nil {
		t.Fatalf("the record of a test cannot be: %v", err)
	}
	return s
}

func dueOn(t testing.TB, r *models.BatchRecord, on string) []models.DueItem {
	t.Helper()
	return rules.Flags(r, tell(t, r, day(on)), rules.DefaultSettings())
}

// short is an item without its reason: check 72 since 2026-01-31.
func short(item models.DueItem) string {
	text := fmt.Sprintf("%s %d since %s", item.Flag, item.Count, item.Since)
	if item.Urgent {
		text += " urgent"
	}
	return text
}

func shorts(items []models.DueItem) []string {
	list := []string{}
	for _, item := range items {
		list = append(list, short(item))
	}
	return list
}

// dueCase wants what is due on a day, in short; empty is nothing.
type dueCase struct {
	name  string
	batch *models.BatchRecord
	on    string
	want  string
}

func runDue(t *testing.T, cases []dueCase) {
	t.Helper()
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if got := strings.Join(shorts(dueOn(t, c.batch, c.on)), ", "); got != c.want {
				t.Errorf("on %s is due %q, want %q", c.on, got, c.want)
			}
		})
	}
}

func TestWaitingCuttings(t *testing.T) {
	inHand := batchWith()
	soak := func(changes ...change) *models.BatchRecord {
		return batchWith(append(changes, moved("2026-01-17", models.ToSoak, 72))...)
	}
	stored := func(place models.MoveTo, k models.CuttingKind) *models.BatchRecord {
		return batchWith(kind(k), moved("2026-01-17", place, 72))
	}
	ownSoak := func(r *models.BatchRecord) { r.Taxon.SoakDays = number(20) }
	noSoak := func(r *models.BatchRecord) { r.Taxon.SoakDays = number(0) }
	runDue(t, []dueCase{
		{"in hand for a day", inHand, "2026-01-18", ""},
		{"in hand for two days", inHand, "2026-01-19", "stick 72 since 2026-01-19"},
		{"in hand and in leaf", batchWith(kind(models.Softwood)), "2026-01-19", "stick 72 since 2026-01-19 urgent"},
		{"some lost and some used", batchWith(moved("2026-01-17", models.ToLost, 2), moved("2026-01-17", models.ToUsed, 10)), "2026-01-20", "stick 60 since 2026-01-19"},
		{"stuck in part", batchWith(stuck("2026-01-18", only(60))), "2026-01-20", "stick 12 since 2026-01-19"},
		{"all stuck", batchWith(stuck("2026-01-18")), "2026-01-20", ""},

		{"dogwood soaks ten days", soak(), "2026-01-24", ""},
		{"two days before", soak(), "2026-01-25", "soak 72 since 2026-01-25"},
		{"on the last day", soak(), "2026-01-27", "soak 72 since 2026-01-25 urgent"},
		{"willow soaks fourteen", soak(taxon("Salix scouleriana")), "2026-01-28", ""},
		{"and is named at twelve", soak(taxon("SALIX  scouleriana")), "2026-01-29", "soak 72 since 2026-01-29"},
		{"cottonwood too", soak(taxon("Populus trichocarpa")), "2026-01-29", "soak 72 since 2026-01-29"},
		{"ninebark soaks three", soak(taxon("Physocarpus capitatus")), "2026-01-18", "soak 72 since 2026-01-18"},
		{"in leaf seven, willow or not", soak(taxon("Salix scouleriana"), kind(models.SemiHardwood)), "2026-01-22", "soak 72 since 2026-01-22"},
		{"kind not recorded", soak(taxon("Salix scouleriana"), kind("")), "2026-01-22", "soak 72 since 2026-01-22"},
		{"kind not recorded, dormant limit shorter", soak(taxon("Physocarpus capitatus"), kind("")), "2026-01-18", "soak 72 since 2026-01-18"},
		{"the taxon's own limit", soak(ownSoak), "2026-02-03", ""},
		{"the taxon's own limit reached", soak(ownSoak), "2026-02-04", "soak 72 since 2026-02-04"},
		{"not for cuttings in leaf", soak(ownSoak, kind(models.Softwood)), "2026-01-22", "soak 72 since 2026-01-22"},
		{"a limit of none asks at once", soak(noSoak), "2026-01-17", "soak 72 since 2026-01-17 urgent"},

		{"thirteen days in the refrigerator", stored(models.ToRefrigerator, models.Hardwood), "2026-01-30", ""},
		{"fourteen", stored(models.ToRefrigerator, models.Hardwood), "2026-01-31", "store 72 since 2026-01-31"},
		{"in leaf as well", stored(models.ToRefrigerator, models.Softwood), "2026-01-31", "store 72 since 2026-01-31"},
		{"89 days in the cold store", stored(models.ToColdStore, models.Hardwood), "2026-04-16", ""},
		{"90", stored(models.ToColdStore, models.Hardwood), "2026-04-17", "store 72 since 2026-04-17"},
		{"in leaf in the cold store", stored(models.ToColdStore, models.Softwood), "2026-01-17", "store 72 since 2026-01-17 urgent"},
		{"taken out of the soak", soak(stuck("2026-01-26")), "2026-01-28", ""},
	})
}

// TestTwoLotsOfOneBatch wants one item for each flag, whatever the days.
func TestTwoLotsOfOneBatch(t *testing.T) {
	r := batchWith(moved("2026-01-17", models.ToSoak, 40), moved("2026-01-20", models.ToSoak, 32))
	runDue(t, []dueCase{
		{"the first is due", r, "2026-01-25", "soak 40 since 2026-01-25"},
		{"both are", r, "2026-01-28", "soak 72 since 2026-01-25 urgent"},
	})
	reason := dueOn(t, r, "2026-01-28")[0].Reason
	for _, words := range []string{"40 cuttings in soak since 2026-01-17", "32 cuttings in soak since 2026-01-20", "; "} {
		if !strings.Contains(reason, words) {
			t.Errorf("the reason %q lacks %q", reason, words)
		}
	}
}

func TestWhoIsNotAsked(t *testing.T) {
	runDue(t, []dueCase{
		{"a closed batch", batchWith(stuck("2026-01-18"), decided("2026-03-01", models.CloseBatch, "")), "2026-09-01", ""},
		{"open the day before", batchWith(stuck("2026-01-18"), decided("2026-03-01", models.CloseBatch, "")), "2026-02-28", "check 72 since 2026-02-01"},
		{"an emptied tray", batchWith(stuck("2026-01-18"), looked("2026-02-10", 72), potted("2026-02-10", 72)), "2026-09-01", ""},
		{"all used unrooted", batchWith(moved("2026-01-17", models.ToUsed, 72)), "2026-03-01", ""},
		{"all discarded", batchWith(stuck("2026-01-18"), looked("2026-02-01", 0), decided("2026-05-01", models.Discard, "")), "2026-09-01", ""},
		{"a batch to review is asked", batchWith(toReview), "2026-01-19", "stick 72 since 2026-01-19"},
		{"before the batch was cut short of days", batchWith(), "2026-01-17", ""},
	})
	for _, p := range models.Purposes {
		asked := len(dueOn(t, batchWith(purpose(p)), "2026-03-01")) > 0
		if want := p == models.Rooting || p == models.DirectStick; asked != want {
			t.Errorf("cuttings in hand cut for %s: asked is %v, want %v", p, asked, want)
		}
	}
}

func TestReasonsOfWaiting(t *testing.T) {
	cases := []struct {
		batch *models.BatchRecord
		on    string
		want  string
	}{
		{batchWith(), "2026-01-19", "72 cuttings in hand since 2026-01-17, 2 days, and neither stuck, soaking nor stored: they dry out"},
		{batchWith(moved("2026-01-17", models.ToSoak, 72)), "2026-01-25",
			"72 cuttings in soak since 2026-01-17, 8 days of at most 10 for dormant dogwood: take them out by 2026-01-27"},
		{batchWith(kind(""), taxon("Salix scouleriana"), moved("2026-01-17", models.ToSoak, 72)), "2026-01-24",
			"72 cuttings in soak since 2026-01-17, 7 days of at most 7 in leaf (the kind of cutting is not recorded, so the shorter limit counts): take them out now"},
		{batchWith(moved("2026-01-17", models.ToRefrigerator, 72)), "2026-02-01",
			"72 cuttings in the refrigerator since 2026-01-17, 15 days of at most 14: stick them or use them"},
		{batchWith(kind(models.Softwood), moved("2026-01-17", models.ToColdStore, 72)), "2026-01-18",
			"72 cuttings in leaf in the cold store since 2026-01-17, and -2 to 0.5 °C kills leaves: take them out and stick them now"},
	}
	for _, c := range cases {
		items := dueOn(t, c.batch, c.on)
		if len(items) != 1 || items[0].Reason != c.want {
			t.Errorf("on %s: %+v, want the reason %q", c.on, items, c.want)
		}
	}
}

func TestItemNamesBatchTaxonAndBench(t *testing.T) {
	r := batchWith(stuck("2026-01-18", only(60)))
	for _, item := range dueOn(t, r, "2026-03-01") {
		bench := "B2"
		if item.Flag == models.FlagStick {
			bench = "" // those in hand stand on none
		}
		if item.Batch != r.Code || item.Taxon != "Cornus sericea" || item.Bench != bench {
			t.Errorf("%+v names batch, taxon or bench wrongly", item)
		}
	}
}

func TestSortDue(t *testing.T) {
	at := func(flag models.Flag, urgent bool, since, bench, batch string) models.DueItem {
		return models.DueItem{Flag: flag, Urgent: urgent, Since: day(since), Bench: bench, Batch: batch}
	}
	sorted := []models.DueItem{
		at(models.FlagSoak, true, "2026-02-09", "", "a"),
		at(models.FlagPotUp, true, "2026-02-09", "B1", "a"),
		at(models.FlagSoak, false, "2026-02-09", "", "a"),
		at(models.FlagStore, false, "2026-02-09", "", "a"),
		at(models.FlagStick, false, "2026-02-09", "", "a"),
		at(models.FlagPotUp, false, "2026-02-09", "B1", "a"),
		at(models.FlagDecide, false, "2026-02-09", "B1", "a"),
		at(models.FlagCheck, false, "2026-02-01", "B9", "z"),
		at(models.FlagCheck, false, "2026-02-09", "B1", "b"),
		at(models.FlagCheck, false, "2026-02-09", "B2", "a"),
		at(models.FlagCheck, false, "2026-02-09", "B2", "b"),
	}
	got := slices.Clone(sorted)
	slices.Reverse(got)
	rules.SortDue(got)
	if !slices.Equal(got, sorted) {
		t.Errorf("sorted as %v", got)
	}
	rules.SortByBench(got)
	for i := 1; i < len(got); i++ {
		if got[i].Bench < got[i-1].Bench {
			t.Errorf("by bench, %q comes after %q", got[i].Bench, got[i-1].Bench)
		}
	}
}
