package nursery_test

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store"
)

func shareOf(crew string, stems int, from, to string, change ...func(*models.NewShare)) models.NewShare {
	req := models.NewShare{Crew: crew, Stems: stems, From: date(from), To: date(to), By: "OP"}
	for _, c := range change {
		c(&req)
	}
	return req
}

func (h *house) setAside(stand string, req models.NewShare) models.ShareView {
	h.t.Helper()
	view, err := h.AddShare(h.ctx, unkeyed, stand, req)
	return must(h, view, err)
}

func onShare(share string) func(*models.NewBatch) {
	return func(r *models.NewBatch) { r.Share = share }
}

// shares are all shares of a stand by crew, the latest entered first.
func (h *house) shares(stand string) []models.ShareView {
	h.t.Helper()
	list, err := h.Shares(h.ctx, stand, models.Page{})
	return must(h, list, err).Items
}

// lines are the lines of a stand's ledger in order of entry: kind, day and stems.
func (h *house) lines(stand string) []string {
	h.t.Helper()
	list, err := h.Ledger(h.ctx, stand, models.Date{}, models.Page{Limit: models.MaxPage})
	must(h, list, err)
	var lines []string
	for _, l := range list.Items {
		lines = append(lines, fmt.Sprintf("%s %s %d %s", l.Kind, l.TakenOn, l.Stems, l.EnteredBy))
	}
	slices.Reverse(lines)
	return lines
}

func (h *house) wantLines(stand string, want ...string) {
	h.t.Helper()
	if got := h.lines(stand); !slices.Equal(got, want) {
		h.t.Errorf("the ledger of %s is\n%q, want\n%q", stand, got, want)
	}
}

// A coordinator sets 30 of 40 stems aside. What is left for others is 10. The crew
// cuts out of signal and logs late, twice, then goes beyond its share, and another
// share is returned.
func TestTheStoryOfAShare(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		share := h.setAside("tb-01", shareOf(" C ", 20, "2026-03-02", "2026-03-04"))
		if share.Stand != "TB-01" || share.Crew != "C" || share.Left != 20 || share.Drawn != 0 || share.LogUntil != date("2026-03-11") || share.Unreturned ||
			share.Leave != "Leave to cut is not on file: ask the land manager (Wrenlow Valley Parks)." || len(share.Warnings) != 0 {
			h.t.Errorf("%+v", share)
		}
		other := h.setAside("TB-01", shareOf("weavers", 10, "2026-03-03", "2026-03-04"))
		if got := h.allowed("TB-01", allowanceOn("2026-03-01")); got.Allowed != 10 || got.Taken != 0 {
			h.t.Errorf("%d are allowed and %d taken", got.Allowed, got.Taken)
		}
		if got := h.allowed("TB-01", allowanceOn("2026-03-05")); got.Allowed != 10 || got.Taken != 30 || got.SetAside != 30 {
			h.t.Errorf("%d are allowed and %d taken", got.Allowed, got.Taken)
		}

		h.goTo("2026-03-11 20:00")
		_, err := h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-03-04", 11))
		h.refused(err, models.Refused, "over-allowance", "30 of 40 stems are taken, 30 of them set aside for crews,")
		first := h.log(cutOf("TB-01", "2026-03-04", 8, onShare("c")))
		if first.ToReview || first.Crew != "C" || len(first.Warnings) != 0 || *first.StandFraction != 0.0375 {
			h.t.Errorf("%+v", first)
		}
		second := h.log(cutOf("TB-01", "2026-03-03", 12, onShare(share.ID)))
		if second.ToReview {
			h.t.Errorf("%+v", second)
		}
		third := h.log(cutOf("TB-01", "2026-03-04", 4, onShare("C")))
		if !third.ToReview || third.RefusedBy != "4 stems were cut on the share of C, which had 0 left: 4 more than were set aside" {
			h.t.Errorf("%+v", third)
		}
		back, err := h.ReturnShare(h.ctx, unkeyed, "TB-01", "weavers", models.NewShareReturn{By: "TS", Why: "the river was too high"})
		if must(h, back, err); back.Left != 0 || back.Returned != 10 || back.Drawn != 0 || back.EndedOn != date("2026-03-11") {
			h.t.Errorf("%+v", back)
		}
		h.wantLines("TB-01", "share 2026-03-02 20 OP", "share 2026-03-03 10 OP",
			"cut 2026-03-04 8 RQ", "share_drawn 2026-03-02 -8 RQ", "cut 2026-03-03 12 RQ", "share_drawn 2026-03-02 -12 RQ",
			"cut 2026-03-04 4 RQ", "share_returned 2026-03-03 -10 TS")
		if got := h.allowed("TB-01", allowanceOn("2026-03-11")); got.Allowed != 16 || got.Taken != 24 || got.SetAside != 0 {
			h.t.Errorf("%d are allowed and %d taken", got.Allowed, got.Taken)
		}
		seasons, err := h.Seasons(h.ctx, "TB-01", models.Date{})
		if must(h, seasons, err); len(seasons) != 1 || seasons[0].Stems != 24 || seasons[0].Batches != 3 {
			h.t.Errorf("the seasons are %+v", seasons)
		}

		list := h.shares("TB-01")
		if len(list) != 2 || list[0].ID != other.ID || list[0].Returned != 10 || list[1].Drawn != 20 || list[1].Left != 0 {
			h.t.Errorf("%+v", list)
		}
		held, err := h.HeldShares(h.ctx, models.Page{})
		if must(h, held, err); len(held.Items) != 0 {
			h.t.Errorf("%+v", held.Items)
		}
		_, err = h.ReturnShare(h.ctx, unkeyed, "TB-01", "c", models.NewShareReturn{By: "TS"})
		h.refused(err, models.Conflict, "share-ended", "batches used it up")
		_, err = h.ReturnShare(h.ctx, unkeyed, "TB-01", other.ID, models.NewShareReturn{By: "TS"})
		h.refused(err, models.Conflict, "share-ended", "was returned or released")
		_, err = h.ReturnShare(h.ctx, unkeyed, "TB-01", "nobody", models.NewShareReturn{By: "TS"})
		h.refused(err, models.NotFound, "no-such-share")
	})
}

// A season in which stems were only set aside is none in which stems were taken.
func TestSeasonsLeaveOutWhatIsSetAside(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.goTo("2026-06-29 10:00")
		h.setAside("TB-01", shareOf("C", 20, "2026-06-29", "2026-07-03"))
		if seasons, err := h.Seasons(h.ctx, "TB-01", models.Date{}); err != nil || len(seasons) != 0 {
			h.t.Errorf("%+v, %v", seasons, err)
		}
		h.goTo("2026-07-02 10:00")
		h.log(cutOf("TB-01", "2026-07-02", 6, onShare("C")))
		seasons, err := h.Seasons(h.ctx, "TB-01", models.Date{})
		if must(h, seasons, err); len(seasons) != 1 || seasons[0].Season != "2026/27" || seasons[0].Stems != 6 || seasons[0].Batches != 1 {
			h.t.Errorf("%+v", seasons)
		}
	})
}

func TestWhatIsNotSetAsideLeavesNoTrace(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		_, err := h.AddShare(h.ctx, unkeyed, "TB-01", shareOf("C", 41, "2026-03-02", "2026-03-04"))
		e := h.refused(err, models.Refused, "over-allowance", "nothing is set aside for C", "2026-03-02")
		if *e.Allowed != 40 || e.Binding.Code != "stand" {
			h.t.Errorf("%+v", e)
		}
		_, err = h.AddShare(h.ctx, unkeyed, "TB-10", shareOf("C", 1, "2026-03-02", "2026-03-04"))
		h.refused(err, models.NotFound, "no-such-stand")
		_, err = h.AddShare(h.ctx, unkeyed, "TB-01", shareOf("C", 1, "2026-03-02", "2026-02-28"))
		h.refused(err, models.Invalid, "out-of-order")
		if len(h.shares("TB-01")) != 0 || len(h.lines("TB-01")) != 0 {
			h.t.Error("something was set aside")
		}
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-03-01", 1, onShare("C")))
		h.refused(err, models.Invalid, "share-misfit", "nothing is set aside under it at TB-01")
	})
}

func TestAShareSentAgainIsOne(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		req := shareOf("C", 20, "2026-03-02", "2026-03-04")
		first, err := h.AddShare(h.ctx, keyed("a"), "TB-01", req)
		must(h, first, err)
		again, err := h.AddShare(h.ctx, keyed("a"), "TB-01", req)
		h.sameJSON("the share sent again", first, must(h, again, err))
		back, err := h.ReturnShare(h.ctx, keyed("b"), "TB-01", "C", models.NewShareReturn{By: "TS"})
		must(h, back, err)
		once, err := h.ReturnShare(h.ctx, keyed("b"), "TB-01", "C", models.NewShareReturn{By: "TS"})
		h.sameJSON("the return sent again", back, must(h, once, err))
		h.wantLines("TB-01", "share 2026-03-02 20 OP", "share_returned 2026-03-02 -20 TS")
	})
}

// Who sets aside and who returns is shown like all people of records, and a land
// manager knows of the shares on their own land alone.
func TestWhoSeesShares(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		_, err := h.EditStand(h.ctx, "TB-02", 1, models.StandEdit{LandManager: models.SetTo("Sorrel Flat Ditch Company")})
		must(h, 0, err)
		h.reader("OP", "op@wrenlow.example")
		view := h.setAside("TB-01", shareOf("C", 5, "2026-03-02", "2026-03-04", func(r *models.NewShare) { r.By = "op" }))
		if view.SetBy != "OP" {
			h.t.Errorf("set by %q", view.SetBy)
		}
		stranger := h.setAside("TB-02", shareOf("D", 5, "2026-03-02", "2026-03-03", func(r *models.NewShare) { r.By = "a passer-by" }))
		h.warned(stranger.Warnings, "no code on the list of people")

		as := func(c models.Caller) []models.ShareView {
			list, err := h.HeldShares(nursery.As(h.ctx, c), models.Page{})
			return must(h, list, err).Items
		}
		if all := as(models.Caller{Role: models.Reader}); len(all) != 2 || all[0].Crew != "D" || all[0].SetBy != models.NotListed || all[1].SetBy != "OP" {
			h.t.Errorf("a reader sees %+v", all)
		}
		own := as(models.Caller{Role: models.Manager, LandManager: "wrenlow valley  parks"})
		if len(own) != 1 || own[0].Stand != "TB-01" {
			h.t.Errorf("a land manager sees %+v", own)
		}
		_, err = h.Shares(nursery.As(h.ctx, models.Caller{Role: models.Manager, LandManager: "Wrenlow Valley Parks"}), "TB-02", models.Page{})
		h.refused(err, models.NotFound, "no-such-stand")
	})
}

// What is left is held for seven days after the last one. From the eighth on it is
// shown as released, and written down by whoever writes to the stand.
func TestWhatIsLeftIsReleased(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.setAside("TB-01", shareOf("C", 40, "2026-03-02", "2026-03-04"))
		h.goTo("2026-03-11 23:30")
		_, err := h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-03-11", 1))
		h.refused(err, models.Refused, "over-allowance", "40 of 40")
		if list := h.shares("TB-01"); !list[0].Unreturned || list[0].Left != 40 {
			h.t.Errorf("%+v", list[0])
		}
		h.goTo("2026-03-12 00:30")
		if list := h.shares("TB-01"); list[0].Unreturned || list[0].Left != 0 || list[0].Released != 40 || list[0].EndedOn != date("2026-03-12") {
			h.t.Errorf("%+v", list[0])
		}
		if held, err := h.HeldShares(h.ctx, models.Page{}); err != nil || len(held.Items) != 0 {
			h.t.Errorf("%+v, %v", held.Items, err)
		}
		if got := h.allowed("TB-01", allowanceOn("2026-03-12")); got.Allowed != 40 || got.Taken != 0 {
			h.t.Errorf("%d are allowed", got.Allowed)
		}
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-03-04", 5, onShare("C")))
		h.refused(err, models.Invalid, "share-misfit", "was returned or released")
		h.wantLines("TB-01", "share 2026-03-02 40 OP") // what is refused writes nothing
		h.log(cutOf("TB-01", "2026-03-12", 40))
		h.wantLines("TB-01", "share 2026-03-02 40 OP", "share_released 2026-03-02 -40 ", "cut 2026-03-12 40 RQ")
		if list := h.shares("TB-01"); list[0].Released != 40 || list[0].Drawn != 0 || list[0].EndedOn != date("2026-03-12") {
			h.t.Errorf("%+v", list[0])
		}
		h.releases(false)
	})
}

func (h *house) releases(want bool) {
	h.t.Helper()
	if did, err := h.ReleaseShares(h.ctx); err != nil || did != want {
		h.t.Errorf("the job did something: %t, %v", did, err)
	}
}

// Every write to a stand that judges on what is released writes the release down.
func TestEveryWriteToAStandWritesTheRelease(t *testing.T) {
	each(t, func(h *house) {
		writes := map[string]func(stand string) error{
			"a survey": func(stand string) error {
				_, err := h.AddSurvey(h.ctx, unkeyed, stand, models.NewSurvey{SurveyedOn: date("2026-03-20"), Method: models.Census, Stems: ptr(800)})
				return err
			},
			"a flood": func(stand string) error {
				_, err := h.AddDisturbance(h.ctx, unkeyed, stand, models.NewDisturbance{On: date("2026-03-20"), Kind: "flood"})
				return err
			},
			"a cut of others": func(stand string) error {
				_, err := h.AddOthersCut(h.ctx, unkeyed, stand, byOthers("2026-03-18", "2026-03-20", 0, 3))
				return err
			},
			"an edit": func(stand string) error {
				_, err := h.EditStand(h.ctx, stand, 1, models.StandEdit{Name: models.SetTo("Upper bank")})
				return err
			},
			"a closure": func(stand string) error {
				_, err := h.AddClosures(h.ctx, unkeyed, stand, models.NewClosures{Closures: []models.Closure{{From: "2026-05-01", To: "2026-05-02"}}, Why: "works"})
				return err
			},
			"a rest": func(stand string) error {
				_, err := h.AddRest(h.ctx, unkeyed, stand, models.NewRest{Why: "browsed"})
				return err
			},
			"another share": func(stand string) error {
				_, err := h.AddShare(h.ctx, unkeyed, stand, shareOf("D", 40, "2026-03-20", "2026-03-21"))
				return err
			},
			"the return of another": func(stand string) error {
				_, err := h.ReturnShare(h.ctx, unkeyed, stand, "E", models.NewShareReturn{By: "TS"})
				return err
			},
			"a day sheet": func(stand string) error {
				_, err := h.LogDay(h.ctx, unkeyed, []byte("stand,collected_on,stems_cut,cuttings,collected_by,share\n"+stand+",2026-03-20,3,9,RQ,\n"))
				return err
			},
		}
		h.dogwood()
		for name := range writes {
			code := "S-" + strings.ReplaceAll(name, " ", "-")
			h.stand(code)
			h.census(code, "2026-01-01", 800)
			h.setAside(code, shareOf("C", 30, "2026-03-02", "2026-03-04"))
			h.setAside(code, shareOf("E", 5, "2026-03-02", "2026-03-18"))
		}
		h.goTo("2026-03-20 10:00")
		for name, write := range writes {
			code := "S-" + strings.ReplaceAll(name, " ", "-")
			if err := write(code); err != nil {
				if name != "another share" { // five are held by E still
					h.t.Errorf("%s: %v", name, err)
				}
				continue
			}
			if lines := h.lines(code); !slices.Contains(lines, "share_released 2026-03-02 -30 ") || slices.Contains(lines, "share_released 2026-03-02 -5 ") {
				h.t.Errorf("%s leaves the ledger %q", name, lines)
			}
		}
		h.releases(true)
		h.releases(false)
		if lines := h.lines("S-another-share"); !slices.Contains(lines, "share_released 2026-03-02 -30 ") {
			h.t.Errorf("the job left %q", lines)
		}
	})
}

// The job releases what nobody touched, on many servers at once and beside others who
// write: each share once.
func TestTheJobReleasesOnce(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		for i := range 8 {
			h.setAside("TB-01", shareOf(fmt.Sprint("C", i), 5, "2026-03-02", "2026-03-04"))
		}
		h.setAside("TB-02", shareOf("C", 5, "2026-03-02", "2026-03-04"))
		h.releases(false)
		h.goTo("2026-03-12 10:00")
		did := make([]bool, 8)
		atOnce(len(did), func(i int, _ *rand.Rand) {
			var err error
			if i%2 == 0 {
				did[i], err = h.ReleaseShares(h.ctx)
			} else {
				_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-03-12", 1))
			}
			if err != nil {
				h.t.Error(err)
			}
		})
		h.releases(false)
		released := 0
		for _, line := range h.lines("TB-01") {
			if strings.HasPrefix(line, "share_released") {
				released++
			}
		}
		if stems, lines := h.ledger("TB-01"); stems != 4 || released != 8 || lines != 8+8+4 {
			h.t.Errorf("%d stems in %d lines, of which %d release", stems, lines, released)
		}
		h.wantLines("TB-02", "share 2026-03-02 5 OP", "share_released 2026-03-02 -5 ")
	})
}

// Rows of one day sheet draw on a share one after the other, and a sheet that is not
// entered leaves the share as it was.
func TestADaySheetDrawsOnAShare(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.setAside("TB-01", shareOf("C", 30, "2026-03-01", "2026-03-04"))
		h.log(cutOf("TB-01", "2026-03-01", 8))
		sheet := func(last string) []byte {
			return []byte("stand,collected_on,stems_cut,cuttings,collected_by,share\n" +
				"TB-01,2026-03-01,20,60,RQ,C\nTB-01,2026-03-01,8,24,TS,C\n" + last)
		}
		_, err := h.LogDay(h.ctx, unkeyed, sheet("TB-01,2026-03-01,5,15,OP,C\n")) // 3 more than set aside, and 2 are left
		h.refused(err, models.Refused, "over-allowance")
		if list := h.shares("TB-01"); list[0].Left != 30 {
			h.t.Errorf("%d are left", list[0].Left)
		}
		view, err := h.LogDay(h.ctx, unkeyed, sheet("TB-01,2026-03-01,4,12,OP,c\n"))
		must(h, view, err)
		if b := view.Batches; b[0].ToReview || b[1].ToReview || !b[2].ToReview || !strings.Contains(b[2].RefusedBy, "had 2 left: 2 more") {
			h.t.Errorf("%+v", b)
		}
		if stems, _ := h.ledger("TB-01"); stems != 40 || h.shares("TB-01")[0].Left != 0 {
			h.t.Errorf("%d stems are on the ledger", stems)
		}
	})
}

// Two shares that no longer fit by one write are told in one sentence.
func TestTwoSharesThatNoLongerFit(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.setAside("TB-01", shareOf("C", 5, "2026-03-05", "2026-03-10"))
		h.setAside("TB-01", shareOf("D", 6, "2026-03-06", "2026-03-10"))
		closed := must2(h, func() (models.PlaceView, error) {
			return h.ClosePlace(h.ctx, unkeyed, "Wrenlow Bend", models.NewPlaceClosures{Closures: []models.Closure{{From: "2026-03-09", To: "2026-04-02", Reason: "works"}}, Why: "works"})
		})
		h.warned(closed.Warnings, "to 2026-04-02 (works); and the share of D (6 stems left")
	})
}

// A share that does not fit any more is told at once: in the answer, and in a letter
// of the same transaction. Once told it is told no more.
func TestSharesThatNoLongerFitAreToldAtOnce(t *testing.T) {
	each(t, func(h *house) {
		h.dogwood()
		for _, c := range []struct {
			name  string
			write func(stand string) ([]string, error)
			says  string
		}{
			{"a lower count", func(stand string) ([]string, error) {
				v, err := h.AddSurvey(h.ctx, unkeyed, stand, models.NewSurvey{SurveyedOn: date("2026-03-01"), Method: models.Census, Stems: ptr(400)})
				return v.Warnings, err
			}, "0 of 20 stems"},
			{"a flood", func(stand string) ([]string, error) {
				v, err := h.AddDisturbance(h.ctx, unkeyed, stand, models.NewDisturbance{On: date("2026-03-01"), Kind: "flood"})
				return v.Warnings, err
			}, "count the stand again"},
			{"a cut of others", func(stand string) ([]string, error) {
				v, err := h.AddOthersCut(h.ctx, unkeyed, stand, byOthers("2026-02-18", "2026-02-20", 0, 11))
				return v.Warnings, err
			}, "11 of 40 stems"},
			{"a stricter rule", func(stand string) ([]string, error) {
				v, err := h.EditStand(h.ctx, stand, 1, models.StandEdit{HarvestRule: &models.NewHarvestRule{StandCap: ptr(models.MustDecimal("0.03"))}, Why: "asked for"})
				return v.Warnings, err
			}, "0 of 24 stems"},
			{"a closure", func(stand string) ([]string, error) {
				v, err := h.AddClosures(h.ctx, unkeyed, stand, models.NewClosures{Closures: []models.Closure{{From: "2026-03-09", To: "2026-04-02"}}, Why: "works"})
				return v.Warnings, err
			}, "on 2026-03-09: closed from"},
			{"a rest", func(stand string) ([]string, error) {
				v, err := h.AddRest(h.ctx, unkeyed, stand, models.NewRest{From: date("2026-03-08"), Why: "browsed"})
				return v.Warnings, err
			}, "a rest does not stop what was set aside before it"},
			{"a batch that was cut already", func(stand string) ([]string, error) {
				return h.log(cutOf(stand, "2026-03-01", 11, alreadyCut)).Warnings, nil
			}, "no longer fits"},
		} {
			code := "S-" + strings.ReplaceAll(c.name, " ", "-")[2:]
			code = code[:min(len(code), 24)]
			h.stand(code)
			h.census(code, "2026-01-01", 800)
			h.setAside(code, shareOf("C", 30, "2026-03-05", "2026-03-10"))
			seen := len(h.outbox())
			warnings, err := c.write(code)
			if err != nil {
				h.t.Fatalf("%s: %v", c.name, err)
			}
			h.warned(warnings, "the share of C (30 stems left, 2026-03-05 to 2026-03-10) no longer fits on ")
			h.warned(warnings, c.says)
			letters := slices.DeleteFunc(h.outbox()[seen:], func(l models.Letter) bool { return !strings.Contains(l.Subject, "crew shares that no longer fit") })
			if len(letters) != 1 || !strings.Contains(letters[0].Subject, code) || !strings.Contains(strings.Join(strings.Fields(letters[0].Text), " "), "the share of C (30 stems left") {
				h.t.Errorf("%s: the letters are %+v", c.name, letters)
			}
			if list := h.shares(code); !strings.Contains(list[0].Misfit, c.says) {
				h.t.Errorf("%s: the list says %q", c.name, list[0].Misfit)
			}
			seen = len(h.outbox())
			must1(h, func() (models.OthersCutView, error) {
				return h.AddOthersCut(h.ctx, unkeyed, code, byOthers("2025-01-03", "2025-01-05", 0, 1))
			})
			for _, l := range h.outbox()[seen:] {
				h.t.Errorf("%s: it is told again: %s", c.name, l.Subject)
			}
		}
	})
}

// A taxon that becomes protected is told of at once where something of it is set aside.
func TestSharesOfAProtectedTaxonAreTold(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		h.setAside("TB-01", shareOf("C", 30, "2026-03-05", "2026-03-10"))
		seen := len(h.outbox())
		_, err := h.EditTaxon(h.ctx, "Cornus sericea", 1, models.TaxonEdit{Protected: models.SetTo(true)})
		must(h, 0, err)
		letters := h.outbox()[seen:]
		if len(letters) != 1 || !strings.Contains(letters[0].Subject, "crew shares that no longer fit: TB-01") {
			h.t.Errorf("the letters are %+v", letters)
		}
	})
}

// What is set aside of a protected taxon rests on the authority of a permit: where that
// is taken back, ends before, or covers the stand no longer, it is told at once.
func TestSharesWithoutTheirPermitAreTold(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01", "TB-02")
		must1(h, func() (models.Taxon, error) {
			return h.EditTaxon(h.ctx, "Cornus sericea", 1, models.TaxonEdit{Protected: models.SetTo(true)})
		})
		h.permit(newPermit("WV-1", 30, "TB-01", "TB-02"))
		authority := models.PermitEdit{Authority: models.SetTo("valley conservation board")}
		h.editPermit("WV-1", authority)
		h.setAside("TB-01", shareOf("C", 20, "2026-03-05", "2026-03-10"))
		for _, c := range []struct {
			edit models.PermitEdit
			says string
		}{
			{models.PermitEdit{Conditions: models.SetTo("hand tools only")}, ""},
			{models.PermitEdit{ValidTo: models.SetTo(date("2026-03-07"))}, "no longer fits on 2026-03-08: Cornus sericea is protected"},
			{models.PermitEdit{Authority: models.SetNull[string](), ValidTo: models.SetTo(date("2026-04-30"))}, "no longer fits on 2026-03-05: Cornus sericea is protected"},
			{authority, ""},
			{models.PermitEdit{Stands: models.SetTo([]string{"TB-02"})}, "no longer fits on 2026-03-05: Cornus sericea is protected"},
		} {
			seen := len(h.outbox())
			warnings := strings.Join(h.editPermit("WV-1", c.edit).Warnings, "; ")
			letters := h.outbox()[seen:]
			if c.says == "" {
				if len(letters) != 0 || strings.Contains(warnings, "no longer fits") {
					h.t.Errorf("%+v: %q, %+v", c.edit, warnings, letters)
				}
				continue
			}
			if len(letters) != 1 || !strings.Contains(letters[0].Subject, "crew shares that no longer fit: TB-01") || !strings.Contains(warnings, c.says) {
				h.t.Errorf("%+v: %q, %+v", c.edit, warnings, letters)
			}
		}
	})
}

// Shares that are past their last day and not returned are told in the weekly reminder
// until they are released.
func TestTheReminderTellsOfSharesNotReturned(t *testing.T) {
	each(t, func(h *house) {
		h.crew()
		h.counted("TB-01", "TB-02", "TB-03")
		h.setAside("TB-01", shareOf("C", 10, "2026-03-02", "2026-03-06"))
		h.setAside("TB-02", shareOf("D", 10, "2026-03-02", "2026-03-16"))
		h.setAside("TB-03", shareOf("E", 10, "2026-03-02", "2026-03-06"))
		h.goTo("2026-03-06 10:00")
		h.log(cutOf("TB-01", "2026-03-06", 6, onShare("C")))
		h.log(cutOf("TB-03", "2026-03-06", 10, onShare("E")))
		h.goTo("2026-03-09 07:00")
		seen := len(h.outbox())
		view, err := h.Remind(h.ctx, unkeyed, models.NewReminder{})
		must(h, view, err)
		want := models.StandNotice{Stand: "TB-01", Name: "Wrenlow Bend TB-01", Crossed: true,
			Text: "4 of 10 stems set aside for C to 2026-03-06 are neither logged nor returned: held to 2026-03-13, then released"}
		if got := view.Body.Shares; len(got) != 1 || got[0] != want {
			h.t.Errorf("%+v", got)
		}
		if !strings.Contains(view.Text, "Crew shares not returned") {
			h.t.Error(view.Text)
		}
		told := 0
		for _, l := range h.outbox()[seen:] {
			if strings.Contains(l.Subject, "1 crew share to return") {
				told++
			}
		}
		if told != 2 {
			h.t.Errorf("%d people are told", told)
		}
		h.goTo("2026-03-16 07:00")
		view, err = h.Remind(h.ctx, unkeyed, models.NewReminder{})
		if must(h, view, err); len(view.Body.Shares) != 0 {
			h.t.Errorf("%+v", view.Body.Shares)
		}
		if lines := h.lines("TB-01"); !slices.Contains(lines, "share_released 2026-03-02 -4 ") {
			h.t.Errorf("making a reminder left %q", lines)
		}
	})
}

// An older reminder speaks of no shares, and is shown with none.
func TestAnOlderReminderHasNoShares(t *testing.T) {
	each(t, func(h *house) {
		view, err := h.Remind(h.ctx, unkeyed, models.NewReminder{})
		must(h, view, err)
		_, err = h.store.SQL().ExecContext(h.ctx, `UPDATE reminders SET body = '{"review":[],"pot_up":[],"due":[],"coming":[],"stands":[],"expiring":[]}'`)
		must(h, 0, err)
		found, err := h.Reminder(h.ctx, view.Week)
		text, err2 := json.Marshal(must(h, found, err).Body)
		if must(h, text, err2); !strings.Contains(string(text), `"shares":[]`) {
			h.t.Errorf("%s", text)
		}
	})
}

// While many crews log on their shares of one stand, others log on none, shares are
// returned, set anew and run out: what is on the ledger is what was cut and what is
// held, no window is overfilled, no share is drawn on twice, and no crew is refused
// what was set aside for it.
func TestManyCrewsOnSharesOfOneStand(t *testing.T) {
	const crews, rounds = 8, 5
	each(t, func(h *house) {
		h.dogwood()
		h.stand("TB-01", func(r *models.NewStand) {
			r.HarvestRule = &models.NewHarvestRule{StandCap: ptr(models.MustDecimal("0.3")), WindowDays: ptr(30)}
		})
		h.census("TB-01", "2025-11-01", 400) // 120 stems in any 30 days
		h.setAside("TB-01", shareOf("old", 5, "2026-02-22", "2026-03-01"))
		for crew := range crews {
			h.setAside("TB-01", shareOf(fmt.Sprint("C", crew), 8, "2026-03-02", "2026-03-07"))
		}
		h.goTo("2026-03-09 10:00") // the old share is over
		var mutex sync.Mutex
		drawn, plain := map[string]int{}, 0
		atOnce(2*crews, func(i int, chance *rand.Rand) {
			crew := fmt.Sprint("C", i%crews)
			for range rounds {
				req := cutOf("TB-01", date("2026-03-02").Add(chance.IntN(6)).String(), 1+chance.IntN(3))
				switch {
				case i < crews:
					req.Share = crew
				case i == crews: // returns what the last crew has left
					_, err := h.ReturnShare(h.ctx, unkeyed, "TB-01", "C7", models.NewShareReturn{By: "OP"})
					if e := models.AsError(err); err != nil && (e == nil || e.Code != "share-ended" && e.Code != "no-such-share") {
						h.t.Error(err)
					}
					continue
				case i == crews+1:
					_, err := h.AddShare(h.ctx, unkeyed, "TB-01", shareOf(fmt.Sprint("late", chance.IntN(1000)), 2, "2026-03-09", "2026-03-12"))
					if e := models.AsError(err); err != nil && (e == nil || e.Kind != models.Refused) {
						h.t.Error(err)
					}
					continue
				}
				view, err := h.LogBatch(h.ctx, unkeyed, req)
				e := models.AsError(err)
				mutex.Lock()
				switch {
				case err == nil && req.Share != "":
					drawn[req.Share] += req.StemsCut
					if beyond := drawn[req.Share] > 8; view.ToReview && !beyond {
						h.t.Errorf("%s is to review after %d of 8 stems: %s", crew, drawn[req.Share], view.RefusedBy)
					}
				case err == nil:
					plain += req.StemsCut
				case e == nil:
					h.t.Error(err)
				case e.Kind == models.Refused && (req.Share == "" || drawn[req.Share]+req.StemsCut > 8): // no more room, beside the share too
				case e.Code == "share-misfit" && req.Share == "C7": // returned
				default:
					h.t.Errorf("%d stems on %q are refused: %v", req.StemsCut, req.Share, err)
				}
				mutex.Unlock()
			}
		})
		h.sharesBalance("TB-01", drawn, plain)
		h.noWindowIsOver("TB-01", 30, 120)
	})
}

// sharesBalance holds the shares of a stand against its ledger, line by line, and
// against what was answered to those who logged.
func (h *house) sharesBalance(stand string, drawn map[string]int, plain int) {
	h.t.Helper()
	held, cut := 0, 0
	for _, s := range h.shares(stand) {
		held += s.Left
		took := min(s.Stems, drawn[s.Crew])
		if s.Left < 0 || s.Drawn != took || s.Drawn+s.Left+s.Returned+s.Released != s.Stems || !s.EndedOn.IsZero() && s.Left != 0 {
			h.t.Errorf("%d were drawn: %+v", drawn[s.Crew], s)
		}
	}
	for _, stems := range drawn {
		cut += stems
	}
	if stems, _ := h.ledger(stand); stems != cut+plain+held {
		h.t.Errorf("%d stems are on the ledger, %d were cut on shares, %d on none, and %d are held", stems, cut, plain, held)
	}
}

// noWindowIsOver sums the ledger line by line, without asking the rules.
func (h *house) noWindowIsOver(stand string, window, limit int) {
	h.t.Helper()
	list, err := h.Ledger(h.ctx, stand, models.Date{}, models.Page{Limit: models.MaxPage})
	must(h, list, err)
	if list.Next != "" {
		h.t.Fatal("the ledger has more lines than are looked at")
	}
	stems := map[models.Date]int{}
	for _, l := range list.Items {
		stems[l.TakenOn] += l.Stems
	}
	for day, some := range stems {
		taken := 0
		for i := range window {
			taken += stems[day.Add(-i)]
		}
		if some != 0 && taken > limit {
			h.t.Errorf("%d of %d stems are in the %d days to %s", taken, limit, window, day)
		}
	}
}

// A share is set aside in the same row of the ledger that counts it, or not at all.
func TestAShareIsNeverWithoutItsEntry(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		atOnce(16, func(i int, _ *rand.Rand) {
			_, err := h.AddShare(h.ctx, unkeyed, "TB-01", shareOf(fmt.Sprint("C", i), 3, "2026-03-02", "2026-03-04"))
			if e := models.AsError(err); err != nil && (e == nil || e.Code != "over-allowance") {
				h.t.Error(err)
			}
		})
		var rows, entries int
		count := func(query string, to *int) {
			must(h, 0, h.store.SQL().QueryRowContext(h.ctx, query).Scan(to))
		}
		count("SELECT COUNT(*) FROM crew_shares", &rows)
		count("SELECT COUNT(*) FROM ledger WHERE kind = 'share'", &entries)
		if stems, _ := h.ledger("TB-01"); rows != 13 || entries != 13 || stems != 39 {
			h.t.Errorf("%d shares, %d entries, %d stems", rows, entries, stems)
		}
		err := h.store.Read(h.ctx, func(tx *store.Tx) error {
			record, err := tx.StandRecord("tb-01", date("2026-03-01"))
			if err == nil && len(record.Shares) != 13 {
				h.t.Errorf("%d shares are read", len(record.Shares))
			}
			return err
		})
		must(h, 0, err)
	})
}
