package nursery_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store"
)

// reader puts someone who gets mail on the list of people.
func (h *house) reader(code, email string, lists ...models.MailList) {
	h.t.Helper()
	must1(h, func() (models.PersonView, error) {
		return h.AddPerson(h.ctx, unkeyed, models.NewPerson{Code: code, Email: email, Mail: lists})
	})
}

// crew is a lead, a coordinator, one who gets both lists, one of the same address
// as the lead, and one who gets none.
func (h *house) crew() {
	h.t.Helper()
	h.reader("AL", "lead@wrenlow.example", models.BenchMail)
	h.reader("CO", "coordinator@wrenlow.example", models.StandMail)
	h.reader("DO", "both@wrenlow.example", models.BenchMail, models.StandMail)
	h.reader("SM", "Lead@Wrenlow.example", models.BenchMail)
	h.reader("NO", "none@wrenlow.example")
}

// outbox are all letters in the outbox, the first made first.
func (h *house) outbox() []models.Letter {
	h.t.Helper()
	var all []models.Letter
	err := h.store.Read(h.ctx, func(tx *store.Tx) error {
		page := models.Page{Limit: models.MaxPage}
		list, err := tx.Letters("", page)
		all = list.Items
		return err
	})
	must(h, all, err)
	slices.Reverse(all)
	return all
}

// mailed wants the letters that were made since the last look: address, then what
// each subject says.
func (h *house) mailed(seen *int, want ...string) []models.Letter {
	h.t.Helper()
	fresh := h.outbox()[*seen:]
	*seen += len(fresh)
	var got []string
	for _, l := range fresh {
		_, about, _ := strings.Cut(l.Subject, ": ")
		got = append(got, l.Address+": "+about)
		if l.Text == "" || !strings.Contains(l.HTML, "</html>") || !l.TryAt.Equal(h.at.UTC().Truncate(time.Millisecond)) || l.State() != models.LetterWaiting {
			h.t.Errorf("%+v", l)
		}
	}
	if !slices.Equal(got, want) {
		h.t.Errorf("the letters are\n%q, want\n%q", got, want)
	}
	return fresh
}

func TestARemindersMailGoesToThoseItTells(t *testing.T) {
	each(t, func(h *house) {
		seen := 0
		h.counted("TB-01", "TB-02")
		h.dueAndComing()
		seen = len(h.outbox()) // the alert of the batch to review
		h.crew()
		h.goTo("2026-03-02 07:00")
		h.remindIfDue(true)
		letters := h.mailed(&seen,
			"lead@wrenlow.example: 1 batch to pot up, 2 to stick",
			"both@wrenlow.example: 1 batch to review, 1 to pot up, 2 to stick, 1 stand near a limit",
			"coordinator@wrenlow.example: 1 batch to review, 1 stand near a limit")
		lead, both, coordinator := letters[0].Text, letters[1].Text, letters[2].Text
		for _, says := range []string{"TB-02-2026-1", "Pot up"} {
			if !strings.Contains(lead, says) || !strings.Contains(both, says) || strings.Contains(coordinator, says) {
				h.t.Errorf("%q is told to the wrong people", says)
			}
		}
		for _, says := range []string{"two crews cut on one morning", "Stands near a limit"} {
			if strings.Contains(lead, says) || !strings.Contains(both, says) || !strings.Contains(coordinator, says) {
				h.t.Errorf("%q is told to the wrong people", says)
			}
		}
		h.remindIfDue(false)
		must1(h, func() (models.ReminderView, error) { return h.Remind(h.ctx, unkeyed, models.NewReminder{}) })
		h.mailed(&seen)
	})
}

// A reminder with nothing to say is kept and not mailed, and a list it says
// nothing to gets none.
func TestNothingToSayIsNotMailed(t *testing.T) {
	each(t, func(h *house) {
		seen := 0
		h.crew()
		h.counted("TB-01")
		h.goTo("2026-03-02 07:00")
		h.remindIfDue(true)
		h.mailed(&seen)
		h.log(cutOf("TB-01", "2026-03-02", 5, stuckOn("2026-03-02", "B2")))
		h.goTo("2026-03-16 07:00")
		h.remindIfDue(true)
		h.mailed(&seen, "lead@wrenlow.example: 1 batch to check", "both@wrenlow.example: 1 batch to check")
	})
}

// What nobody gets stands in the outbox without an address, and says what to do.
func TestALetterThatNobodyGets(t *testing.T) {
	each(t, func(h *house) {
		seen := 0
		h.counted("TB-01", "TB-02")
		h.dueAndComing()
		h.mailed(&seen, ": 1 batch to review, cut against a rule; over its limit: TB-01")
		h.reader("LD", "lead@wrenlow.example", models.BenchMail)
		h.remindIfDue(false)
		h.goTo("2026-03-02 07:00")
		h.remindIfDue(true)
		letters := h.mailed(&seen,
			"lead@wrenlow.example: 1 batch to pot up, 2 to stick",
			": 1 batch to review, 1 stand near a limit")
		if want := "--mail stands"; !strings.HasSuffix(letters[1].Trouble, want) || letters[0].Trouble != "" {
			h.t.Errorf("the troubles are %q and %q", letters[0].Trouble, letters[1].Trouble)
		}
	})
}

// Batches to review are told of at once, those of one sheet in one letter.
func TestReviewsAreToldAtOnce(t *testing.T) {
	each(t, func(h *house) {
		seen := 0
		h.crew()
		h.counted("TB-01", "TB-02")
		h.log(cutOf("TB-01", "2026-02-20", 30))
		h.mailed(&seen)
		h.log(cutOf("TB-01", "2026-02-27", 12, alreadyCut))
		about := "1 batch to review, cut against a rule; over its limit: TB-01"
		h.mailed(&seen, "coordinator@wrenlow.example: "+about, "both@wrenlow.example: "+about)
		h.log(cutOf("TB-01", "2026-02-28", 2, alreadyCut)) // over its limit before
		about = "1 batch to review, cut against a rule"
		h.mailed(&seen, "coordinator@wrenlow.example: "+about, "both@wrenlow.example: "+about)

		sheet := "stand,collected_on,stems_cut,cuttings,collected_by,already_cut,reason\n" +
			"TB-02,2026-02-26,45,90,RQ,true,ice broke them\nTB-02,2026-02-27,1,3,RQ,true,ice again\n"
		day := must2(h, func() (models.DayView, error) { return h.LogDay(h.ctx, keyed("sheet"), []byte(sheet)) })
		must1(h, func() (models.DayView, error) { return h.LogDay(h.ctx, keyed("sheet"), []byte(sheet)) })
		about = "2 batches to review, cut against a rule; over its limit: TB-02"
		letters := h.mailed(&seen, "coordinator@wrenlow.example: "+about, "both@wrenlow.example: "+about)
		for _, b := range day.Batches {
			if !strings.Contains(letters[0].Text, b.Code) {
				h.t.Errorf("the letter does not name %s:\n%s", b.Code, letters[0].Text)
			}
		}
		_, err := h.LogBatch(h.ctx, unkeyed, cutOf("TB-02", "2026-02-28", 5))
		h.refused(err, models.Refused, "at-rest")
		h.mailed(&seen)
	})
}

// must2 runs a step and gives its answer.
func must2[T any](h *house, step func() (T, error)) T {
	h.t.Helper()
	answer, err := step()
	return must(h, answer, err)
}

// A survey or a stricter rule may show that a stand was cut too much.
func TestExceedancesAreToldAtOnce(t *testing.T) {
	each(t, func(h *house) {
		seen := 0
		h.reader("CO", "coordinator@wrenlow.example", models.StandMail)
		h.counted("TB-01", "TB-02")
		h.log(cutOf("TB-01", "2026-02-20", 40))
		h.log(cutOf("TB-02", "2026-02-20", 40))
		h.mailed(&seen)
		h.census("TB-01", "2026-02-14", 900)
		h.mailed(&seen)
		h.census("TB-01", "2026-02-15", 400)
		letter := h.mailed(&seen, "coordinator@wrenlow.example: TB-01 is over its limit")[0]
		if !strings.Contains(letter.Text, "40 stems were taken") {
			h.t.Error(letter.Text)
		}
		h.census("TB-01", "2026-02-16", 300) // over its limit before
		h.mailed(&seen)

		view := must2(h, func() (models.StandView, error) { return h.Stand(h.ctx, "TB-02", false) })
		rule := models.NewHarvestRule{StandCap: ptr(models.MustDecimal("0.01"))}
		edit := models.StandEdit{HarvestRule: &rule, InForceFrom: date("2026-02-01"), Why: "a dry year", By: "OP"}
		must1(h, func() (models.StandView, error) { return h.EditStand(h.ctx, "TB-02", view.Version, edit) })
		h.mailed(&seen, "coordinator@wrenlow.example: TB-02 is over its limit")
	})
}

// Dogwood soaks ten days at most. A soak is told of once it is to end within two
// days: by the job of the morning, or at once where it is entered late.
func TestSoaksAreTold(t *testing.T) {
	each(t, func(h *house) {
		seen := 0
		h.reader("LD", "lead@wrenlow.example", models.BenchMail)
		h.counted("TB-01", "TB-02")
		soak := func(batch, on string, count int) {
			h.t.Helper()
			must1(h, func() (models.BatchView, error) {
				return h.Move(h.ctx, unkeyed, batch, models.NewMove{On: date(on), To: models.ToSoak, Count: count})
			})
		}
		flags := func() {
			h.t.Helper()
			must1(h, func() (bool, error) { return h.WriteFlags(h.ctx) })
		}
		limit := must2(h, func() (models.NurseryView, error) { return h.See(h.ctx) }).Thresholds.SoakDogwood
		last := date("2026-02-28").Add(limit)
		batch := h.log(cutOf("TB-01", "2026-02-28", 5)).Code
		soak(batch, "2026-02-28", 15)
		flags()
		h.mailed(&seen)
		h.goTo(last.Add(-3).String() + " 06:00")
		flags()
		h.mailed(&seen)
		h.goTo(last.Add(-2).String() + " 06:00")
		flags()
		h.mailed(&seen, fmt.Sprintf("lead@wrenlow.example: take %s out of the soak by %s", batch, last))
		h.goTo(last.Add(-1).String() + " 06:00")
		flags()
		h.mailed(&seen)

		late := h.log(cutOf("TB-02", "2026-02-27", 5)).Code // entered after the fact
		soak(late, "2026-02-28", 10)
		h.mailed(&seen, fmt.Sprintf("lead@wrenlow.example: take %s out of the soak by %s", late, last))
		soak(late, "2026-02-28", 5)
		h.mailed(&seen)
		must1(h, func() (models.SplitView, error) {
			return h.Split(h.ctx, unkeyed, batch, models.NewSplit{On: last.Add(-1), Arms: []models.Arm{{Count: 4}}})
		})
		h.mailed(&seen, fmt.Sprintf("lead@wrenlow.example: take TB-01-2026-2 out of the soak by %s", last))
	})
}

const (
	server = "one"
	other  = "two"
	host   = "wrenlow.example"
)

func (h *house) claim(by string) (models.Letter, bool) {
	h.t.Helper()
	letter, found, err := h.ClaimLetter(h.ctx, by, host, 3*time.Minute)
	if err != nil {
		h.t.Fatal(err)
	}
	return letter, found
}

// oneLetter is a house with one letter that waits.
func (h *house) oneLetter() {
	h.t.Helper()
	h.reader("CO", "coordinator@wrenlow.example", models.StandMail)
	h.counted("TB-01")
	h.log(cutOf("TB-01", "2026-02-20", 41, alreadyCut))
}

func (h *house) wait(d time.Duration) { h.at = h.at.Add(d) }

func TestALetterIsClaimedSentAndMarked(t *testing.T) {
	each(t, func(h *house) {
		h.oneLetter()
		first, found := h.claim(server)
		if !found || first.Tries != 1 || first.MessageID != first.ID+"@"+host || first.HeldBy != server {
			h.t.Fatalf("%t %+v", found, first)
		}
		if _, found := h.claim(other); found {
			h.t.Error("two servers hold one letter")
		}
		h.refused(h.MarkSent(h.ctx, first.ID, other), models.Stale, "stale")
		h.refused(h.MarkFailed(h.ctx, first.ID, other, "no", false), models.Stale, "stale")
		if err := h.MarkSent(h.ctx, first.ID, server); err != nil {
			h.t.Error(err)
		}
		h.refused(h.MarkSent(h.ctx, first.ID, server), models.Stale, "stale")
		h.refused(h.MarkSent(h.ctx, "no letter", server), models.Stale, "stale")
		h.wait(time.Hour)
		if _, found := h.claim(server); found {
			h.t.Error("a letter that was sent is sent again")
		}
		sent := h.outbox()[0]
		if sent.State() != models.LetterSent || sent.HeldBy != "" || sent.HeldUntil != nil {
			h.t.Errorf("%+v", sent)
		}
	})
}

// A server that died with a letter in hand leaves it to another once the lease is
// over, under the message id it had. If it was not dead after all, it has nothing
// to mark any more.
func TestALeaseRunsOut(t *testing.T) {
	each(t, func(h *house) {
		h.oneLetter()
		first, _ := h.claim(server)
		h.wait(3*time.Minute - time.Millisecond)
		if _, found := h.claim(other); found {
			h.t.Error("the lease is not over yet")
		}
		h.wait(time.Millisecond)
		second, found := h.claim(other)
		if !found || second.ID != first.ID || second.MessageID != first.MessageID || second.Tries != 2 {
			h.t.Fatalf("%t %+v", found, second)
		}
		h.refused(h.MarkSent(h.ctx, first.ID, server), models.Stale, "stale")
		if err := h.MarkSent(h.ctx, first.ID, other); err != nil {
			h.t.Error(err)
		}
	})
}

// A letter that fails is tried after 1, 2, 4 … minutes, at most six hours apart,
// for five days.
func TestALetterThatFailsIsTriedAgain(t *testing.T) {
	each(t, func(h *house) {
		h.oneLetter()
		began, tries := h.at, 0
		for wait := time.Minute; ; wait = min(2*wait, 6*time.Hour) {
			letter, found := h.claim(server)
			if !found {
				h.t.Fatalf("after %d tries it is not tried again", tries)
			}
			tries++
			must1(h, func() (bool, error) { return true, h.MarkFailed(h.ctx, letter.ID, server, "451\r\nlater", false) })
			kept := h.outbox()[0]
			if kept.Tries != tries || kept.Trouble != "451 later" || kept.HeldBy != "" {
				h.t.Fatalf("%+v", kept)
			}
			if kept.State() == models.LetterGivenUp {
				break
			}
			if want := h.at.Add(wait); !kept.TryAt.Equal(want) {
				h.t.Fatalf("after %d tries it is tried at %s, want %s", tries, kept.TryAt, want)
			}
			h.wait(wait - time.Millisecond)
			if _, found := h.claim(server); found {
				h.t.Fatal("it is tried too soon")
			}
			h.wait(time.Millisecond)
		}
		if passed := h.at.Sub(began); passed < 5*24*time.Hour || passed >= 5*24*time.Hour+6*time.Hour {
			h.t.Errorf("it was given up after %s", passed)
		}
		h.wait(24 * time.Hour)
		if _, found := h.claim(server); found {
			h.t.Error("a letter that was given up is tried again")
		}
	})
}

func TestALetterRefusedForGoodIsGivenUp(t *testing.T) {
	each(t, func(h *house) {
		h.oneLetter()
		letter, _ := h.claim(server)
		must1(h, func() (bool, error) { return true, h.MarkFailed(h.ctx, letter.ID, server, "550 no such user", true) })
		h.wait(time.Hour)
		if _, found := h.claim(server); found {
			h.t.Error("it is tried again")
		}
		list := must2(h, func() (models.List[models.LetterView], error) {
			return h.Letters(h.ctx, models.LetterGivenUp, models.Page{})
		})
		if len(list.Items) != 1 || list.Items[0].Trouble != "550 no such user" || list.Items[0].GivenUpAt == nil || list.Items[0].Tries != 1 {
			h.t.Errorf("%+v", list.Items)
		}
	})
}

// A deed that does not come about leaves no letter.
func TestNoDeedNoLetter(t *testing.T) {
	each(t, func(h *house) {
		h.reader("CO", "coordinator@wrenlow.example", models.StandMail)
		h.counted("TB-01")
		bad := cutOf("TB-01", "2026-02-20", 41, alreadyCut)
		bad.StuckOn, bad.Count = date("2026-02-21"), ptr(9999)
		if _, err := h.LogBatch(h.ctx, nursery.Once{}, bad); models.AsError(err) == nil || errors.Is(err, store.ErrNoRow) {
			h.t.Fatal(err)
		}
		seen := 0
		h.mailed(&seen)
	})
}
