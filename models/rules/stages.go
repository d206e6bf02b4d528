package rules

import (
	"cmp"
	"slices"

	"withybed/models"
	"withybed/models/stats"
)

// Replay tells what the entries of a batch dated on or before a day add up to,
// taken in the order of their days and, on one day, of their entry. It fails
// with a models.Error at the first entry that cannot be: so a new entry is
// possible where the record with it still replays to the end.
func Replay(r *models.BatchRecord, on models.Date) (*Story, error) {
	p, _, err := replayTo(r, on)
	if err != nil {
		return nil, err
	}
	return p.finish(), nil
}

// Tallies are the counts of a batch after each of its entries, by the number of
// the entry, as far as they replay.
func Tallies(r *models.BatchRecord) map[int]models.Tally {
	after := map[int]models.Tally{}
	p := begin(r, endOfTime)
	for _, e := range entriesOf(r) {
		if err := p.take(e); err != nil {
			return after
		}
		after[e.number] = p.counts()
	}
	return after
}

// endOfTime is later than every day a record can hold.
var endOfTime = models.NewDate(models.LastYear+1, 1, 1)

// replay is a story while it is being told.
type replay struct {
	Story
	record  *models.BatchRecord
	looks   lookDays
	counted models.Date // last day the tray was counted, for sentences
}

// entry is one record about a batch, ready to be taken.
type entry struct {
	on     models.Date
	number int
	rank   int    // of its kind, among entries with one day and number
	id     string // decides between entries of one kind that came in one request
	field  string // the name of its day in requests
	what   string // for sentences
	apply  func(*replay) error
	saw    stats.Sight // how much of the tray it looked at
}

// The ranks: a sister is begun with its moves and its sticking in one request.
const (
	rankSplit = iota
	rankMove
	rankSticking
	rankCheck
	rankPotting
	rankDecision
)

func (e entry) compare(o entry) int {
	return cmp.Or(e.on.Compare(o.on), cmp.Compare(e.number, o.number),
		cmp.Compare(e.rank, o.rank), cmp.Compare(e.id, o.id))
}

// entriesOf is every entry of the record that moves a count or a date, in order.
func entriesOf(r *models.BatchRecord) []entry {
	var all []entry
	for i := range r.Splits {
		s := &r.Splits[i]
		all = append(all, entry{s.SplitOn, s.Entry, rankSplit, s.ID, "on", "split", func(p *replay) error { return p.split(s) }, stats.SawPart})
	}
	for i := range r.Moves {
		m := &r.Moves[i]
		all = append(all, entry{m.MovedOn, m.Entry, rankMove, m.ID, "on", "move", func(p *replay) error { return p.move(m) }, stats.SawPart})
	}
	if s := r.Sticking; s != nil {
		all = append(all, entry{s.StuckOn, s.Entry, rankSticking, s.BatchID, "stuck_on", "sticking", func(p *replay) error { return p.stick(s) }, stats.SawPart})
	}
	for i := range r.Checks {
		c := &r.Checks[i]
		all = append(all, entry{c.CheckedOn, c.Entry, rankCheck, c.ID, "checked_on", "check", func(p *replay) error { return p.check(c) }, sawBy(c)})
	}
	for i := range r.Pottings {
		k := &r.Pottings[i]
		all = append(all, entry{k.PottedOn, k.Entry, rankPotting, k.ID, "potted_on", "potting", func(p *replay) error { return p.pot(k) }, stats.SawPart})
	}
	for i := range r.Decisions {
		d := &r.Decisions[i]
		all = append(all, entry{d.DecidedOn, d.Entry, rankDecision, d.ID, "on", "decision", func(p *replay) error { return p.decide(d) }, stats.SawPart})
	}
	slices.SortFunc(all, entry.compare)
	return all
}

func begin(r *models.BatchRecord, on models.Date) *replay {
	p := &replay{record: r}
	p.On = on
	p.Tally.Made = r.Cuttings
	p.Tally.LostByCause = models.Losses{}
	p.setWaits(addWait(nil, Wait{In: inHand, Since: waitingFrom(r)}, r.Cuttings))
	return p
}

// waitingFrom is the first day anything can happen to a batch's cuttings.
func waitingFrom(r *models.BatchRecord) models.Date {
	if r.WaitingFrom.After(r.CollectedOn) {
		return r.WaitingFrom
	}
	return r.CollectedOn
}

// replayTo replays to a day. Where it fails it says at which entry.
func replayTo(r *models.BatchRecord, on models.Date) (*replay, entry, error) {
	p := begin(r, on)
	for _, e := range entriesOf(r) {
		if e.on.After(on) {
			break
		}
		if err := p.take(e); err != nil {
			return nil, e, err
		}
	}
	return p, entry{}, nil
}

func (p *replay) take(e entry) error {
	if from := waitingFrom(p.record); e.on.Before(from) {
		return models.InvalidField("out-of-order", e.field, e.on,
			"is %s, before the cuttings were there: the batch begins on %s", e.on, from)
	}
	if p.closed() {
		return models.InvalidField("batch-closed", e.field, e.on,
			"is %s, and the batch was closed on %s: only what happened before that day can still be entered", e.on, p.EndedOn)
	}
	return e.apply(p)
}

func (p *replay) closed() bool { return !p.EndedOn.IsZero() }

func (p *replay) stuck() bool { return p.Tally.Stuck > 0 }

// counts is the tally with its sums.
func (p *replay) counts() models.Tally {
	t := p.Tally
	t.EverRooted = everRooted(t)
	t.LostByCause = models.Losses{}
	for cause, n := range p.Tally.LostByCause {
		t.LostByCause[cause] = n
	}
	return t
}

func everRooted(t models.Tally) int { return t.Rooted + t.Potted + t.LostRooted }

func (p *replay) finish() *Story {
	p.Tally = p.counts()
	p.Stage = p.stage()
	p.State = p.state()
	story := p.Story
	return &story
}

func (p *replay) state() models.State {
	switch {
	case p.record.Void:
		return models.NeverWas
	case p.closed():
		return models.Ended
	case p.record.AwaitsReview || p.record.HarvestAwaitsReview:
		return models.ToReview
	}
	return models.Open
}

// stage is where the cuttings are: in the tray as long as any live there, then
// where the rest of them waits.
func (p *replay) stage() models.Stage {
	t := &p.Tally
	switch {
	case p.closed() || p.record.Void:
		return models.StageEnded
	case t.Live() > 0 && t.EverRooted > 0:
		return models.StageRooting
	case t.Live() > 0:
		return models.StageStuck
	case t.InHand > 0:
		return models.StageCut
	case t.Soaking > 0:
		return models.StageSoaking
	case t.Waiting() > 0:
		return models.StageStored
	}
	return models.StageEmptied
}
