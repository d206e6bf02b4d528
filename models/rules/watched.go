package rules

import (
	"cmp"
	"iter"
	"maps"
	"slices"
	"strings"

	"withybed/models"
	"withybed/models/stats"
)

// Watched is a batch as its rooting is judged: what its looks found, what it is
// grouped and compared by, and when it counts as final.
type Watched struct {
	Lot       stats.Lot
	StuckOn   models.Date
	Keys      map[string]string // by the names of Groupings; a value that was not recorded is missing
	Harvest   string            // what was cut in one harvest is split from one batch; empty where unknown
	Block     string            // a block named in a file
	Person    string            // who stuck them, for leads alone
	Treatment *models.Treatment // its parts; nil where they are not known, as in a file
	FinalAt   int               // days after sticking from which a last look is final
}

// Closed says that the batch was watched long enough to count as final, whatever
// had rooted: its last look at roots was late enough, or it was declared finished with
// nothing left to look at.
func (w *Watched) Closed() bool {
	return w.Lot.LastRoots() >= w.FinalAt || w.Lot.Finished && w.Lot.Open() == 0
}

// Watch makes a watched batch of one that was stuck; ok is false before that.
func Watch(r *models.BatchRecord, on models.Date, t *models.Thresholds) (w Watched, ok bool, err error) {
	s := r.Sticking
	if s == nil || s.StuckOn.After(on) {
		return Watched{}, false, nil
	}
	lot, err := lotOf(r, on)
	if err != nil || lot.Cuttings == 0 {
		return Watched{}, false, err
	}
	w = Watched{Lot: lot, StuckOn: s.StuckOn, Keys: keysOf(r), Harvest: r.HarvestID, Person: s.StuckBy, Treatment: s.Treatment, FinalAt: t.FinishedAfter}
	if r.Taxon.SlowToRoot {
		w.FinalAt = t.FinishedAfterSlow
	}
	return w, true, nil
}

func keysOf(r *models.BatchRecord) map[string]string {
	keys := make(map[string]string, len(groupings))
	for _, g := range groupings {
		if value := models.Clean(g.of(r)); value != "" {
			keys[g.name] = value
		}
	}
	return keys
}

// lotOf replays a batch to a day and keeps what each day's entries moved.
func lotOf(r *models.BatchRecord, on models.Date) (stats.Lot, error) {
	lot := stats.Lot{ID: r.Code}
	p := begin(r, on)
	for _, e := range entriesOf(r) {
		if e.on.After(on) {
			break
		}
		before, thrown := p.Tally, p.Tally.LostByCause[models.Discarded]
		if err := p.take(e); err != nil {
			return lot, err
		}
		day := e.on.Sub(r.Sticking.StuckOn)
		if !p.stuck() || day < 1 {
			continue
		}
		after := p.Tally
		look := stats.Look{
			Day: int32(day), Saw: e.saw, Rooted: int32(everRooted(after) - everRooted(before)),
			Lost: int32(after.LostUnrooted - before.LostUnrooted), Withdrawn: int32(after.Withdrawn - before.Withdrawn),
		}
		look.Discarded = min(look.Lost, int32(p.Tally.LostByCause[models.Discarded]-thrown))
		lot.Looks = addLook(lot.Looks, look)
	}
	lot.Cuttings, lot.Finished = p.Tally.Stuck, p.closed()
	return lot, nil
}

// sawBy is how much of the tray a check looked at.
func sawBy(c *models.Check) stats.Sight {
	switch {
	case c.Examined != nil || countsNothing(c):
		return stats.SawPart
	case c.Rooted == nil:
		return stats.SawLosses
	}
	return stats.SawRoots
}

// addLook adds what an entry found to the looks, one a day; what tells nothing is
// none. Who finds rooted ones when potting has had the tray in hand: those left
// were seen unrooted.
func addLook(looks []stats.Look, k stats.Look) []stats.Look {
	if k.Saw == stats.SawPart && k.Rooted > 0 {
		k.Saw = stats.SawRoots
	}
	if k.Saw == stats.SawPart && k.Rooted+k.Lost+k.Withdrawn == 0 {
		return looks
	}
	if i := len(looks) - 1; i >= 0 && looks[i].Day == k.Day {
		same := &looks[i]
		same.Rooted += k.Rooted
		same.Lost += k.Lost
		same.Discarded += k.Discarded
		same.Withdrawn += k.Withdrawn
		same.Saw = max(same.Saw, k.Saw)
		return looks
	}
	return append(looks, k)
}

// Pool is a group of batches whose rooting is judged together.
type Pool struct {
	Key     models.RootingKey
	Batches []Watched
}

// Lots are the batches of the pool as statistics see them.
func (p *Pool) Lots() []stats.Lot {
	lots := make([]stats.Lot, len(p.Batches))
	for i := range p.Batches {
		lots[i] = p.Batches[i].Lot
	}
	return lots
}

// Pools groups batches by what they have in common, in the order of their keys.
// Values are compared without case and extra spaces. Without by there is one
// pool, with an empty key, even of no batches. Each is made when it is its turn: of
// many batches no more than one pool has to be held.
//
// It fails with a models.Error, kind Invalid, code unknown-grouping.
func Pools(batches []Watched, by []string) (iter.Seq[Pool], error) {
	names, err := groupingNames(by)
	if err != nil {
		return nil, err
	}
	return func(yield func(Pool) bool) {
		if len(names) == 0 {
			yield(Pool{Key: models.RootingKey{}, Batches: batches})
			return
		}
		members := membersBy(batches, names)
		for _, id := range slices.Sorted(maps.Keys(members)) {
			p := Pool{Key: models.RootingKey{}, Batches: make([]Watched, 0, len(members[id]))}
			for _, i := range members[id] {
				p.Batches = append(p.Batches, batches[i])
			}
			for _, name := range names {
				p.Key[name] = cmp.Or(p.Batches[0].Keys[name], NotRecorded)
			}
			if !yield(p) {
				return
			}
		}
	}, nil
}

// membersBy are the places of batches by what they have in common.
func membersBy(batches []Watched, names []string) map[string][]int32 {
	members, keys := map[string][]int32{}, nameKeys{}
	var id strings.Builder
	for i := range batches {
		id.Reset()
		for _, name := range names {
			id.WriteString(keys.of(cmp.Or(batches[i].Keys[name], NotRecorded)))
			id.WriteByte(0)
		}
		members[id.String()] = append(members[id.String()], int32(i))
	}
	return members
}

// nameKeys are the keys of names, each worked out once: many batches share a few.
type nameKeys map[string]string

func (k nameKeys) of(name string) string {
	key, known := k[name]
	if !known {
		key = models.NameKey(name)
		k[name] = key
	}
	return key
}

// groupingNames are the names to group by, each once.
func groupingNames(by []string) ([]string, error) {
	names := []string{}
	for _, name := range by {
		if !slices.Contains(Groupings(), name) {
			err := models.InvalidQuestion("unknown-grouping", "by", name,
				"is %q, and batches are grouped by %s", name, models.OneOf(Groupings()))
			err.Suggestions = Near(name, Groupings())
			return nil, err
		}
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names, nil
}
