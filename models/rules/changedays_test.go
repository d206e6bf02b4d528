package rules_test

import (
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
)

// drawKept adds to a stand what else its rules read: rests, looks for nests, papers,
// salvage, what is set aside, closures of every year and plants known by their tags.
func drawKept(t *rapid.T, r *models.StandRecord) {
	day := func(name string) models.Date { return base.Add(rapid.IntRange(-20, span+200).Draw(t, name)) }
	until := func(from models.Date, name string) models.Date {
		return from.Add(rapid.IntRange(0, 60).Draw(t, name))
	}
	some := func(most int, name string, add func(i int)) {
		for i := range rapid.IntRange(0, most).Draw(t, name) {
			add(i)
		}
	}
	some(2, "rests", func(int) {
		rest := models.Rest{StartsOn: day("rest from"), Why: "worn"}
		if rapid.IntRange(0, 4).Draw(t, "ends") > 0 {
			rest.EndsOn = until(rest.StartsOn, "rest to")
		}
		r.Rests = append(r.Rests, rest)
	})
	some(1, "salvages", func(int) {
		from := day("salvage from")
		r.Salvages = append(r.Salvages, models.SalvagePeriod{StartsOn: from, EndsOn: until(from, "salvage to"), Authority: "roads", Why: "a road"})
	})
	kinds := rapid.SampledFrom(models.ClosureKinds)
	ends := rapid.SampledFrom([]string{"02-28", "02-29", "03-01", "01-01", "12-31", "04-15", "05-02"})
	some(2, "yearly closures", func(int) {
		r.Closures[0].Closures = append(r.Closures[0].Closures,
			models.Closure{From: ends.Draw(t, "from"), To: ends.Draw(t, "to"), EveryYear: true, Kind: kinds.Draw(t, "kind")})
	})
	some(2, "closures of the place", func(int) {
		from := day("closed from")
		r.PlaceClosures = append(r.PlaceClosures, models.PlaceClosureVersion{InForceFrom: day("in force"), Closures: []models.Closure{
			{From: from.String(), To: until(from, "closed to").String(), Kind: kinds.Draw(t, "place kind")}}})
	})
	for at := base.Add(-20); len(r.NestChecks) < 3 && rapid.Bool().Draw(t, "another look"); {
		at = until(at, "looked after")
		r.NestChecks = append(r.NestChecks, models.NestLook{CheckedOn: at, NestsFound: rapid.Bool().Draw(t, "found")})
	}
	r.PermitRequired = rapid.SampledFrom([]models.PermitNeed{models.PermitNotStated, models.PermitNeeded}).Draw(t, "permit")
	some(2, "permits", func(i int) {
		p := models.Permit{ID: fmt.Sprint("permit ", i), Number: fmt.Sprint(i), StandIDs: []string{r.ID}}
		p.Kind, p.Issuer, p.ValidFrom, p.Authority = models.PermitPaper, "the board", day("valid from"), rapid.SampledFrom([]string{"", "the board"}).Draw(t, "authority")
		if rapid.Bool().Draw(t, "has an end") {
			p.ValidTo = until(p.ValidFrom, "valid to")
		}
		r.Permits = append(r.Permits, p)
	})
	some(2, "shares", func(i int) {
		from := day("set aside from")
		stems := rapid.IntRange(1, 9).Draw(t, "set aside")
		r.Shares = append(r.Shares, models.OpenShare{
			Share: models.Share{ID: fmt.Sprint("share ", i), Crew: "C", FromDay: from, ToDay: until(from, "to"), EnteredAt: from.At(9, time.UTC)}, Left: stems})
		r.Ledger = rules.WithStems(r.Ledger, models.LedgerDay{TakenOn: from, Stems: stems})
	})
	some(3, "tagged", func(int) {
		r.Parents = append(r.Parents, models.ParentDay{TakenOn: day("cut from"), TagKey: "d-1", Tag: "D-1", Stems: rapid.IntRange(1, 4).Draw(t, "of it"), Batches: 1})
	})
}

// Between two days of change nothing changes: the first possible day is the same as
// when every rule is asked about every day.
func TestPossibleFromIsWhatAskingDayByDayFinds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawStand(t).record()
		drawKept(t, r)
		for range cutsAsked {
			cut := drawCut(t).cut()
			if cut.Parents != nil && rapid.Bool().Draw(t, "known by tags") {
				cut.Tagged = []models.Parent{{Tag: "D-1", Stems: rapid.IntRange(1, cut.Stems).Draw(t, "from D-1")}}
			}
			if len(r.Permits) > 0 && rapid.Bool().Draw(t, "names a permit") {
				cut.Logged, cut.Permit = true, &r.Permits[0]
			}
			if len(r.Shares) > 0 && rapid.Bool().Draw(t, "on a share") {
				cut.Share = &r.Shares[0]
			}
			got, want := rules.PossibleFrom(r, cut), rules.PossibleDayByDay(r, cut)
			if (got == nil) != (want == nil) || got != nil && *got != *want {
				t.Fatalf("%+v is possible from %v, and day by day from %v", cut, got, want)
			}
		}
	})
}
