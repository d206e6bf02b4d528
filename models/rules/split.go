package rules

import (
	"fmt"
	"slices"

	"withybed/models"
)

// Sister is a batch to be split off: the record of the split, and what the
// sister begins with.
type Sister struct {
	Split       models.Split
	WaitingFrom models.Date      // since when its cuttings wait
	Moves       []models.Move    // puts them where they waited, on the days they came there
	Sticking    *models.Sticking // where they are stuck at once
}

// mostArms is the most sister batches one split makes.
const mostArms = 50

// SplitArms makes the sister batches of a split, in the order of its arms. Each
// takes from the cuttings in hand first, then from soak, refrigerator and cold
// store, and keeps the days since when they waited there.
func SplitArms(r *models.BatchRecord, req models.NewSplit, today models.Date) ([]Sister, []string, error) {
	sisters, err := sistersOf(&req, today)
	if err != nil {
		return nil, nil, err
	}
	with := *r
	with.Splits = slices.Clone(r.Splits)
	for _, s := range sisters {
		s.Split.Entry = r.Version + 1
		with.Splits = append(with.Splits, s.Split)
	}
	story, err := Replay(r, req.On)
	if err != nil {
		return nil, nil, err
	}
	if err := wantForArms(story, &req); err != nil {
		return nil, nil, err
	}
	if err := fits(&with, newSlot(r), "on", req.On); err != nil {
		return nil, nil, err
	}
	inherit(sisters, story.Waits, waitingFrom(r))
	return sisters, nil, nil
}

func sistersOf(req *models.NewSplit, today models.Date) ([]Sister, error) {
	var f models.Faults
	checkPast(&f, "on", req.On, today)
	if n := len(req.Arms); n < 1 || n > mostArms {
		f.Add("invalid", "arms", n, "has %d arms, and must have from 1 to %d", n, mostArms)
		return nil, f.Err()
	}
	sisters := make([]Sister, len(req.Arms))
	for i, arm := range req.Arms {
		sisters[i].Split = models.Split{SplitOn: req.On, Count: arm.Count, Source: models.FromWaiting}
		sisters[i].Sticking = armSticking(&f, fmt.Sprintf("arms[%d].", i), &arm, req.On, today)
	}
	return sisters, f.Err()
}

// armSticking is nil for an arm of which nothing but the count was given.
func armSticking(f *models.Faults, prefix string, arm *models.Arm, on, today models.Date) *models.Sticking {
	if arm.StuckOn.IsZero() && arm.Tray.IsZero() {
		checkCount(f, prefix+"count", arm.Count, 1)
		return nil
	}
	req := models.NewSticking{StuckOn: arm.StuckOn, Count: arm.Count, Tray: arm.Tray}
	if req.StuckOn.IsZero() {
		req.StuckOn = on
	}
	s := stickingOf(f, prefix, req, today)
	if s.StuckOn.Before(on) {
		f.Add("out-of-order", prefix+"stuck_on", s.StuckOn, "is %s, before the split on %s", s.StuckOn, on)
	}
	return &s
}

// wantForArms refuses arms that ask for more than waits. What a closed batch
// refuses is left to the replay.
func wantForArms(story *Story, req *models.NewSplit) error {
	wanted := 0
	for _, arm := range req.Arms {
		wanted += arm.Count
	}
	there := story.Tally.Waiting()
	if wanted <= there || story.State == models.Ended {
		return nil
	}
	return models.InvalidField("too-many-cuttings", "arms", wanted,
		"ask for %d cuttings, but of %d only %d wait to be stuck on %s", wanted, story.Tally.Made, there, req.On)
}

// inherit shares what waits out among the sisters, one after the other.
func inherit(sisters []Sister, waits []Wait, from models.Date) {
	for i := range sisters {
		s := &sisters[i]
		var taken []Wait
		taken, waits = TakeWaiting(waits, s.Split.Count)
		s.WaitingFrom = from
		for _, w := range taken {
			if w.In != inHand {
				s.Moves = append(s.Moves, models.Move{MovedOn: w.Since, To: w.In, Count: w.Count})
			}
		}
	}
}
