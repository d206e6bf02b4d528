package rules_test

import (
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/rules"
)

func TestCheck(t *testing.T) {
	dogwood := taxon("Cornus sericea")
	runDue(t, []dueCase{
		{"thirteen days in medium", batchWith(stuck("2026-01-18")), "2026-01-31", ""},
		{"fourteen", batchWith(stuck("2026-01-18")), "2026-02-01", "check 72 since 2026-02-01"},
		{"six days in water", batchWith(stuck("2026-01-18", water)), "2026-01-24", ""},
		{"seven", batchWith(stuck("2026-01-18", water)), "2026-01-25", "check 72 since 2026-01-25"},
		{"a first look under mist", batchWith(stuck("2026-01-18", mist)), "2026-02-01", "check 72 since 2026-02-01"},
		{"looked at 13 days ago", batchWith(stuck("2026-01-18"), looked("2026-02-01", 0)), "2026-02-14", ""},
		{"14 days ago", batchWith(stuck("2026-01-18"), looked("2026-02-01", 0)), "2026-02-15", "check 72 since 2026-02-15"},
		{"7 days ago under mist", batchWith(stuck("2026-01-18", mist), looked("2026-02-01", 0)), "2026-02-08", "check 72 since 2026-02-08"},
		{"4 days ago in water", batchWith(stuck("2026-01-18", water), looked("2026-01-25", 0)), "2026-01-29", "check 72 since 2026-01-29"},
		{"in water under mist the shorter counts", batchWith(stuck("2026-01-18", water, mist), looked("2026-01-25", 0)), "2026-01-29", "check 72 since 2026-01-29"},
		{"a look at a part is a look", batchWith(stuck("2026-01-18"), examined("2026-02-01", 10, 0)), "2026-02-14", ""},
		{"a count of losses is a look", batchWith(stuck("2026-01-18"), onlyLost("2026-02-01", 2)), "2026-02-14", ""},
		{"a note alone is none", batchWith(stuck("2026-01-18"), looked("2026-02-01")), "2026-02-14", "check 72 since 2026-02-01"},
		{"potting is a look", batchWith(stuck("2026-01-18"), looked("2026-02-01", 20), potted("2026-02-10", 20)), "2026-02-23", ""},
		{"and asks for the rest", batchWith(stuck("2026-01-18"), looked("2026-02-01", 20), potted("2026-02-10", 20)), "2026-02-24", "check 52 since 2026-02-24"},
		{"counts the live ones", batchWith(dogwood, stuck("2026-01-18"), lost("2026-02-01", 0, 12)), "2026-02-15", "check 60 since 2026-02-15"},
	})
}

// winter is a batch that is stuck on 5 January, unheated or as said.
func winter(how func(*models.Sticking), changes ...change) *models.BatchRecord {
	begin := func(r *models.BatchRecord) { r.CollectedOn, r.WaitingFrom = day("2026-01-04"), day("2026-01-04") }
	return batchWith(append([]change{begin, stuck("2026-01-05", how)}, changes...)...)
}

func stuckIn2025(on string) *models.BatchRecord {
	begin := func(r *models.BatchRecord) { r.CollectedOn, r.WaitingFrom = day("2025-06-20"), day("2025-06-20") }
	return batchWith(begin, stuck(on, unheated))
}

func heated(*models.Sticking) {}

func coldWater(s *models.Sticking) { water(s); unheated(s) }

func TestCheckOnUnheatedBenches(t *testing.T) {
	runDue(t, []dueCase{
		{"no look in the first month", winter(unheated), "2026-02-03", ""},
		{"one after thirty days", winter(unheated), "2026-02-04", "check 72 since 2026-02-04"},
		{"the next would come when it is warm", winter(unheated, looked("2026-02-05", 0)), "2026-03-14", ""},
		{"fourteen days after it is warm", winter(unheated, looked("2026-02-05", 0)), "2026-03-15", "check 72 since 2026-03-15"},
		{"a second look before it is warm", winter(unheated, looked("2026-01-20", 0)), "2026-02-19", "check 72 since 2026-02-19"},
		{"then as on any bench", winter(unheated, looked("2026-03-15", 0)), "2026-03-29", "check 72 since 2026-03-29"},
		{"heat not recorded is taken as warm", winter(heatUnsaid), "2026-01-19", "check 72 since 2026-01-19"},
		{"a heated bench is warm", winter(heated), "2026-01-19", "check 72 since 2026-01-19"},
		{"water is cold too", winter(coldWater), "2026-02-03", ""},
		{"seven days after it is warm", winter(coldWater, looked("2026-02-05", 0)), "2026-03-08", "check 72 since 2026-03-08"},
		{"stuck in spring", batchWith(stuck("2026-03-10", unheated)), "2026-03-24", "check 72 since 2026-03-24"},
		{"stuck in summer, when it is warm", stuckIn2025("2025-07-10"), "2025-07-24", "check 72 since 2025-07-24"},
		{"on the last warm day", stuckIn2025("2025-09-30"), "2025-10-14", "check 72 since 2025-10-14"},
		{"on the first cold one", stuckIn2025("2025-10-01"), "2025-10-30", ""},
		{"which waits for the next spring", stuckIn2025("2025-10-01"), "2025-10-31", "check 72 since 2025-10-31"},
	})
}

func TestWarmFromIsASetting(t *testing.T) {
	r := winter(unheated, looked("2026-02-05", 0))
	set := rules.DefaultSettings()
	for warmFrom, want := range map[string]string{
		"02-29": "2026-03-14", // read as the 28th
		"04-01": "2026-03-07", // the cold interval runs on
		"02-10": "2026-02-24",
		"11-01": "2026-02-19", // the other half of the earth: warm since November
	} {
		set.Thresholds.WarmFrom = warmFrom
		items := rules.Flags(r, tell(t, r, day("2026-06-01")), set)
		check := items[len(items)-1]
		if check.Flag != models.FlagCheck || check.Since != day(want) {
			t.Errorf("warm from %s: %v, want a check since %s", warmFrom, shorts(items), want)
		}
	}
}

func TestDecide(t *testing.T) {
	willow, ninebark := taxon("Salix scouleriana"), taxon("Physocarpus capitatus")
	at := func(how func(*models.Sticking), changes ...change) *models.BatchRecord {
		return batchWith(append(changes, stuck("2026-03-01", how), looked("2026-03-15", 30), decided("2026-03-15", models.Keep, "2026-03-15"))...)
	}
	cases := []struct {
		name  string
		batch *models.BatchRecord
		last  string // the last day of the time it is given
	}{
		{"water", at(water), "2026-03-29"},
		{"willow in water", at(water, willow), "2026-03-29"},
		{"willow", at(heated, willow), "2026-04-26"},
		{"cottonwood", at(heated, taxon("Populus trichocarpa")), "2026-04-26"},
		{"others", at(heated, ninebark), "2026-05-24"},
		{"slow kinds", at(heated, slow), "2026-06-21"},
		{"slow kinds in water", at(water, slow), "2026-06-21"},
		{"unheated since before it was warm", winter(unheated, willow), "2026-04-26"},
		{"heated in winter", winter(heated, willow), "2026-03-02"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			next := day(c.last).Add(1).String()
			if got := find(dueOn(t, c.batch, c.last), models.FlagDecide); got != nil {
				t.Errorf("on the last day already: %v", short(*got))
			}
			got := find(dueOn(t, c.batch, next), models.FlagDecide)
			if got == nil || got.Since != day(next) || got.Count != tell(t, c.batch, day(next)).Tally.Unrooted {
				t.Errorf("on %s: %+v, want the unrooted to be decided about", next, got)
			}
		})
	}
}

func find(items []models.DueItem, flag models.Flag) *models.DueItem {
	for i := range items {
		if items[i].Flag == flag {
			return &items[i]
		}
	}
	return nil
}

func TestNothingToDecideWhereAllHaveRooted(t *testing.T) {
	r := batchWith(stuck("2026-01-18"), looked("2026-02-01", 72, 0))
	if got := find(dueOn(t, r, "2026-12-31"), models.FlagDecide); got != nil {
		t.Errorf("no cutting is unrooted: %+v", got)
	}
}

func TestADecisionQuietsCheckAndDecide(t *testing.T) {
	kept := decided("2026-04-20", models.Keep, "2026-05-18")
	r := batchWith(taxon("Salix scouleriana"), stuck("2026-01-18"), looked("2026-02-01", 20, 0), kept)
	runDue(t, []dueCase{
		{"the day before", r, "2026-04-19", "pot_up 20 since 2026-03-01, decide 52 since 2026-03-16, check 72 since 2026-02-15"},
		{"potting is never quieted", r, "2026-04-20", "pot_up 20 since 2026-03-01"},
		{"to that day", r, "2026-05-18", "pot_up 20 since 2026-03-01"},
		{"and not longer", r, "2026-05-19", "pot_up 20 since 2026-03-01, decide 52 since 2026-05-19, check 72 since 2026-05-19"},
	})
	soaking := batchWith(moved("2026-01-17", models.ToSoak, 72), decided("2026-01-18", models.Keep, "2026-06-01"))
	runDue(t, []dueCase{{"nor is a soak", soaking, "2026-01-25", "soak 72 since 2026-01-25"}})
}

func TestReasonsOfTheTray(t *testing.T) {
	cases := []struct {
		batch *models.BatchRecord
		on    string
		flag  models.Flag
		want  string
	}{
		{batchWith(stuck("2026-01-18")), "2026-02-02", models.FlagCheck,
			"stuck on 2026-01-18, 15 days ago, and not looked at yet: in medium a first look is due after 14 days"},
		{batchWith(stuck("2026-01-18", water), looked("2026-01-25", 0)), "2026-01-30", models.FlagCheck,
			"last looked at on 2026-01-25, 5 days ago: in water a look is due every 4 days"},
		{batchWith(stuck("2026-01-18", mist), looked("2026-02-01", 0)), "2026-02-08", models.FlagCheck,
			"last looked at on 2026-02-01, 7 days ago: under mist a look is due every 7 days"},
		{winter(unheated), "2026-02-05", models.FlagCheck,
			"stuck on 2026-01-05, 31 days ago, on an unheated bench: until it is warm on 2026-03-01 a look is due every 30 days"},
		{winter(unheated, looked("2026-02-05", 0)), "2026-03-15", models.FlagCheck,
			"stuck on 2026-01-05, on an unheated bench, and not looked at since it was warm on 2026-03-01, 14 days ago: in medium a first look is due after 14 days"},
		{winter(unheated, taxon("Salix scouleriana"), looked("2026-03-15", 34)), "2026-04-27", models.FlagDecide,
			"38 cuttings unrooted after 57 days in the warm, from 2026-03-01 on, past the 56 for willow and cottonwood: keep them to a day, stick them again, discard them or close the batch"},
	}
	for _, c := range cases {
		got := find(dueOn(t, c.batch, c.on), c.flag)
		if got == nil || got.Reason != c.want {
			t.Errorf("on %s: %+v, want the reason %q", c.on, got, c.want)
		}
	}
}

func TestReasonsHaveNumbers(t *testing.T) {
	r := batchWith(stuck("2026-01-18", only(60)), looked("2026-02-01", 20))
	for _, item := range dueOn(t, r, "2026-09-01") {
		if !strings.ContainsAny(item.Reason, "0123456789") {
			t.Errorf("%s: the reason %q has no number", item.Flag, item.Reason)
		}
	}
}
