package nursery_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
)

func lookFirst(from, to, reason string) models.Closure {
	return models.Closure{From: from, To: to, EveryYear: true, Reason: reason, Kind: models.NestCheck}
}

func placeClosing(closures ...models.Closure) models.NewPlaceClosures {
	return models.NewPlaceClosures{Closures: closures, Why: "nests found", By: "parks"}
}

// A place is closed with all its stands, and no other; those who come later, too.
func TestAPlaceIsClosedWithAllItsStands(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		h.stand("EL-01", func(r *models.NewStand) { r.Place = "Elsewhere" })
		h.census("EL-01", "2026-01-01", 800)
		view, err := h.ClosePlace(h.ctx, keyed("k"), "wrenlow  BEND", placeClosing(yearly("02-20", "03-31", "lambs")))
		if must(h, view, err); view.Place != "Wrenlow Bend" || len(view.Stands) != 2 || len(view.Closures) != 1 || len(view.Versions) != 1 || len(view.Warnings) != 0 {
			h.t.Errorf("%+v", view)
		}
		again, err := h.ClosePlace(h.ctx, keyed("k"), "wrenlow  BEND", placeClosing(yearly("02-20", "03-31", "lambs")))
		h.sameJSON("sent again", view, must(h, again, err))
		for _, code := range []string{"TB-01", "TB-02"} {
			_, err := h.LogBatch(h.ctx, unkeyed, cutOf(code, "2026-03-01", 1))
			h.refused(err, models.Refused, "closed-season", "the whole place is closed from 02-20 to 03-31 every year (lambs)")
			if shown := h.standNow(code); !shown.ClosedToday || len(shown.PlaceClosures) != 1 || len(shown.Closures) != 0 || shown.ClosedWhy == "" {
				h.t.Errorf("%+v", shown)
			}
		}
		h.log(cutOf("EL-01", "2026-03-01", 1))
		h.log(cutOf("TB-01", "2026-02-28", 1)) // the list is in force from today on
		later, err := h.AddStand(h.ctx, unkeyed, models.NewStand{Code: "TB-03", Name: "Wrenlow Bend", Taxon: "Cornus sericea", Place: "Wrenlow bend"})
		if must(h, later, err); !later.ClosedToday {
			h.t.Errorf("%+v", later)
		}
		moved, err := h.EditStand(h.ctx, "EL-01", 1, models.StandEdit{Place: models.SetTo("Wrenlow Bend")})
		if must(h, moved, err); !moved.ClosedToday || len(moved.PlaceClosures) != 1 {
			h.t.Errorf("%+v", moved)
		}

		same, err := h.ClosePlace(h.ctx, unkeyed, "Wrenlow Bend", placeClosing(yearly("02-20", "03-31", "lambs")))
		h.warned(must(h, same, err).Warnings, "no new version")
		opened, err := h.ClosePlace(h.ctx, unkeyed, "Wrenlow Bend", models.NewPlaceClosures{WholeList: true, Why: "no lambs", By: "OP"})
		h.warned(must(h, opened, err).Warnings, "no longer closed: 02-20..03-31 (lambs)")
		if len(opened.Closures) != 0 || len(opened.Versions) != 2 || len(opened.Stands) != 4 {
			h.t.Errorf("%+v", opened)
		}
		h.log(cutOf("TB-02", "2026-03-01", 1))
		shown, err := h.PlaceClosures(h.ctx, "wrenlow bend")
		h.sameJSON("shown", opened.Versions, must(h, shown, err).Versions)
	})
}

func TestPlacesThatAreNone(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		for name, ask := range map[string]func(place string) error{
			"closed": func(p string) error {
				_, err := h.ClosePlace(h.ctx, unkeyed, p, placeClosing(yearly("04-15", "07-31", "")))
				return err
			},
			"shown": func(p string) error { _, err := h.PlaceClosures(h.ctx, p); return err },
			"looked over": func(p string) error {
				_, err := h.CheckPlaceForNests(h.ctx, unkeyed, p, models.NewNestCheck{By: "RQ"})
				return err
			},
		} {
			if e := h.refused(ask("Wrenlow Bent"), models.NotFound, "no-such-place"); len(e.Suggestions) != 1 || e.Suggestions[0] != "Wrenlow Bend" {
				h.t.Errorf("%s suggests %v", name, e.Suggestions)
			}
		}
		_, err := h.ClosePlace(h.ctx, unkeyed, "Wrenlow Bend", placeClosing())
		h.refused(err, models.Invalid, "invalid", "closures")
	})
}

// A land manager closes and looks over a place that is all on their land, and no other.
func TestALandManagerKeepsTheirOwnPlaces(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		h.stand("SF-01", func(r *models.NewStand) { r.Place, r.LandManager = "Shared Flat", "Sorrel Flat Ditch Company" })
		h.stand("SF-02", func(r *models.NewStand) { r.Place = "Shared Flat" })
		h.stand("OW-01", func(r *models.NewStand) { r.Place, r.LandManager = "Otter Weir", "Sorrel Flat Ditch Company" })
		parks := h.as(models.Manager)
		tasks := map[string]func(ctx context.Context, place string) error{
			"close": func(ctx context.Context, place string) error {
				_, err := h.ClosePlace(ctx, unkeyed, place, placeClosing(yearly("04-15", "07-31", "birds nest")))
				return err
			},
			"look over": func(ctx context.Context, place string) error {
				_, err := h.CheckPlaceForNests(ctx, unkeyed, place, models.NewNestCheck{By: "parks"})
				return err
			},
		}
		for name, do := range tasks {
			if err := do(parks, "Wrenlow Bend"); err != nil {
				h.t.Errorf("%s: %v", name, err)
			}
			h.refused(do(parks, "Shared Flat"), models.Forbidden, "place-of-others", "one by one")
			if e := h.refused(do(parks, "Otter Weir"), models.NotFound, "no-such-place", "on the land of Wrenlow Valley Parks"); len(e.Suggestions) != 0 {
				h.t.Errorf("%s suggests %v", name, e.Suggestions)
			}
			if err := do(h.as(models.Coordinator), "Shared Flat"); err != nil {
				h.t.Errorf("%s: %v", name, err)
			}
		}
		_, err := h.ClosePlace(parks, unkeyed, "Wrenlow Bend", models.NewPlaceClosures{WholeList: true})
		h.refused(err, models.Forbidden, "not-for-role", "whole_list")
		shared, err := h.PlaceClosures(parks, "Shared Flat")
		if must(h, shared, err); len(shared.Stands) != 1 || shared.Stands[0] != "SF-02" || len(shared.Closures) != 1 {
			h.t.Errorf("%+v", shared)
		}
		_, err = h.PlaceClosures(parks, "Otter Weir")
		h.refused(err, models.NotFound, "no-such-place")
	})
}

// Where nests are looked for first, a look that found none opens the stand for a week.
func TestALookForNestsOpensAStand(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		closed, err := h.ClosePlace(h.ctx, unkeyed, "Wrenlow Bend", placeClosing(lookFirst("02-01", "04-14", "owls")))
		must(h, closed, err)
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-03-01", 1))
		h.refused(err, models.Refused, "closed-season", "no look of the last 7 days is on file")
		volunteer := h.as(models.Volunteer)
		look, err := h.AddNestCheck(volunteer, keyed("a"), "tb-01", models.NewNestCheck{By: "RQ", Note: "an old nest, empty"})
		if must(h, look, err); look.Stand != "TB-01" || look.CheckedOn != date("2026-03-01") || look.GoodTo != date("2026-03-08") || look.NestsFound {
			h.t.Errorf("%+v", look)
		}
		again, err := h.AddNestCheck(volunteer, keyed("a"), "tb-01", models.NewNestCheck{By: "RQ", Note: "an old nest, empty"})
		h.sameJSON("sent again", look, must(h, again, err))
		h.log(cutOf("TB-01", "2026-03-01", 1))
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-02", "2026-03-01", 1))
		h.refused(err, models.Refused, "closed-season")
		h.goTo("2026-03-08 10:00")
		h.log(cutOf("TB-01", "2026-03-08", 1))
		h.goTo("2026-03-09 10:00")
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-03-09", 1))
		h.refused(err, models.Refused, "closed-season")

		whole, err := h.CheckPlaceForNests(volunteer, unkeyed, "wrenlow bend", models.NewNestCheck{By: "TS"})
		if must(h, whole, err); whole.Stand != "" || whole.Place != "Wrenlow Bend" {
			h.t.Errorf("%+v", whole)
		}
		h.log(cutOf("TB-01", "2026-03-09", 1))
		h.log(cutOf("TB-02", "2026-03-09", 1))
		found, err := h.AddNestCheck(h.as(models.Manager), unkeyed, "TB-01", models.NewNestCheck{By: "parks", NestsFound: true})
		must(h, found, err)
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-03-09", 1))
		h.refused(err, models.Refused, "closed-season", "nests in use were found on 2026-03-09")
		h.log(cutOf("TB-02", "2026-03-09", 1))

		shown := h.standNow("TB-01")
		if shown.NestCheck == nil || shown.NestCheck.ID != found.ID || !shown.ClosedToday {
			h.t.Errorf("%+v", shown)
		}
		list, err := h.NestChecks(h.ctx, "TB-01", models.Page{})
		if must(h, list, err); len(list.Items) != 3 || list.Items[0].ID != found.ID || list.Items[1].Stand != "" || list.Items[2].ID != look.ID {
			h.t.Errorf("%+v", list.Items)
		}
		voided, err := h.CorrectStand(h.ctx, unkeyed, "TB-01", models.NewStandCorrection{Subject: models.OfNestCheck, SubjectID: found.ID, Why: "it was another thicket", By: "OP"})
		must(h, voided, err)
		h.log(cutOf("TB-01", "2026-03-09", 1))
		list, err = h.NestChecks(h.ctx, "TB-01", models.Page{})
		if must(h, list, err); !list.Items[0].Void {
			h.t.Errorf("%+v", list.Items[0])
		}
	})
}

// A closure, and nests that were found, tell of the crew shares that they meet.
func TestWhatShutsAStandTellsOfItsCrews(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		for _, code := range []string{"TB-01", "TB-02"} {
			share, err := h.AddShare(h.ctx, unkeyed, code, models.NewShare{Crew: "C", Stems: 6, From: date("2026-03-01"), To: date("2026-03-20")})
			must(h, share, err)
		}
		closed, err := h.ClosePlace(h.ctx, unkeyed, "Wrenlow Bend", placeClosing(lookFirst("03-01", "03-31", "owls")))
		if must(h, closed, err); len(closed.Warnings) != 2 {
			h.t.Errorf("it warns of %q", closed.Warnings)
		}
		h.warned(closed.Warnings, "the share of C (6 stems left, 2026-03-01 to 2026-03-20) no longer fits on 2026-03-01")
		look, err := h.CheckPlaceForNests(h.ctx, unkeyed, "Wrenlow Bend", models.NewNestCheck{By: "RQ", NestsFound: true})
		if must(h, look, err); len(look.Warnings) != 2 {
			h.t.Errorf("it warns of %q", look.Warnings)
		}
	})
}

// Of many who close a place at once, while batches are logged there, none undoes what
// another did, and none waits for another in vain.
func TestClosuresOfAPlaceAddedAtOnceAreAllKept(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02", "TB-03")
		atOnce(12, func(i int, chance *rand.Rand) {
			if i%3 == 0 {
				code := fmt.Sprintf("TB-0%d", 1+chance.IntN(3))
				if _, err := h.LogBatch(h.ctx, unkeyed, cutOf(code, "2026-03-01", 1)); err != nil {
					h.t.Error(err)
				}
				return
			}
			on := fmt.Sprintf("%02d-07", i+1)
			if _, err := h.ClosePlace(h.ctx, unkeyed, "Wrenlow Bend", placeClosing(yearly(on, on, ""))); err != nil {
				h.t.Error(err)
			}
		})
		view, err := h.PlaceClosures(h.ctx, "Wrenlow Bend")
		if must(h, view, err); len(view.Closures) != 8 || len(view.Versions) != 8 {
			h.t.Errorf("%+v", view)
		}
		if got := len(h.batchesOf(nursery.BatchQuery{})); got != 4 {
			h.t.Errorf("%d batches are logged", got)
		}
	})
}

// The latest cleaning of tools is told with the stand.
func TestCleaningsOfToolsAreLogged(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		volunteer := h.as(models.Volunteer)
		first, err := h.LogToolCleaning(volunteer, keyed("a"), "tb-01", models.NewToolCleaning{By: "RQ", How: "brushed, then alcohol"})
		if must(h, first, err); first.Stand != "TB-01" || first.CleanedOn != date("2026-03-01") {
			h.t.Errorf("%+v", first)
		}
		again, err := h.LogToolCleaning(volunteer, keyed("a"), "tb-01", models.NewToolCleaning{By: "RQ", How: "brushed, then alcohol"})
		h.sameJSON("sent again", first, must(h, again, err))
		earlier, err := h.LogToolCleaning(volunteer, unkeyed, "TB-01", models.NewToolCleaning{On: date("2026-02-01"), By: "TS", How: "flamed"})
		must(h, earlier, err)
		if shown := h.standNow("TB-01"); shown.ToolCleaning == nil || shown.ToolCleaning.ID != first.ID {
			h.t.Errorf("%+v", shown.ToolCleaning)
		}
		if shown := h.standNow("TB-02"); shown.ToolCleaning != nil {
			h.t.Errorf("%+v", shown.ToolCleaning)
		}
		all, err := h.Stands(h.ctx, nursery.StandQuery{})
		if must(h, all, err); all.Items[0].ToolCleaning == nil || all.Items[0].ToolCleaning.ID != first.ID || all.Items[1].ToolCleaning != nil {
			h.t.Errorf("%+v", all.Items)
		}
		edited, err := h.EditStand(h.ctx, "TB-01", 1, models.StandEdit{Name: models.SetTo("Upper bank")})
		if must(h, edited, err); edited.ToolCleaning == nil || edited.ToolCleaning.ID != first.ID {
			h.t.Errorf("%+v", edited)
		}
		list, err := h.ToolCleanings(h.ctx, "TB-01", models.Page{})
		if must(h, list, err); len(list.Items) != 2 || list.Items[0].ID != earlier.ID {
			h.t.Errorf("%+v", list.Items)
		}
		_, err = h.LogToolCleaning(volunteer, unkeyed, "TB-01", models.NewToolCleaning{On: date("2026-03-02"), By: "RQ", How: "x"})
		h.refused(err, models.Invalid, "in-the-future")
	})
}
