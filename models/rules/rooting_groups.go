package rules

import (
	"cmp"
	"maps"
	"slices"
	"strings"

	"withybed/models"
	"withybed/models/stats"
)

// Told is a batch with its story.
type Told struct {
	Record *models.BatchRecord
	Story  *Story
}

// NotRecorded stands in a group's key where a batch has no value.
const NotRecorded = "not recorded"

// grouping is one thing batches can be grouped by; an empty value was not
// recorded.
type grouping struct {
	name string
	of   func(*models.BatchRecord) string
}

var groupings = []grouping{
	{"taxon", func(r *models.BatchRecord) string { return r.Taxon.ScientificName }},
	{"stand", func(r *models.BatchRecord) string { return r.Stand }},
	{"kind", func(r *models.BatchRecord) string { return string(r.Kind) }},
	{"treatment", func(r *models.BatchRecord) string { return r.Sticking.TreatmentLabel() }},
	{"season", func(r *models.BatchRecord) string { return r.CollectedOn.Season() }},
	{"medium", func(r *models.BatchRecord) string { return r.Sticking.Medium }},
	{"container", func(r *models.BatchRecord) string { return r.Sticking.Container }},
	{"bench", func(r *models.BatchRecord) string { return r.Sticking.Bench }},
	{"heated", heatedWord},
	{"mist", func(r *models.BatchRecord) string { return yesNo(r.Sticking.Mist) }},
	{"purpose", func(r *models.BatchRecord) string { return string(r.Purpose) }},
}

// DefaultGrouping is what batches are grouped by where nothing is asked for:
// treated and untreated, heated and unheated are not pooled.
var DefaultGrouping = []string{"taxon", "treatment", "heated"}

// Groupings are the names of everything batches can be grouped by.
func Groupings() []string {
	names := make([]string, len(groupings))
	for i, g := range groupings {
		names[i] = g.name
	}
	return names
}

func heatedWord(r *models.BatchRecord) string {
	heat := r.Sticking.BottomHeat
	if heat == nil || heat.IsZero() {
		return ""
	}
	return yesNo(heat.Heated)
}

func yesNo(yes bool) string {
	if yes {
		return "yes"
	}
	return "no"
}

// GroupRooting sums what rooted over groups of batches, in the order of their
// keys. Values are compared without case and extra spaces, treatments by their
// label. Only what is asked for in by is told apart, everything else is pooled;
// empty by is DefaultGrouping. Sisters stuck again from a tray are batches of
// their own, and withdrawn ones in the batch they came from.
//
// A batch is finished by age, never by outcome: where its last check of the
// whole tray was at least 84 days after sticking, 112 for slow kinds, by
// default. Batches without a check of the whole tray or a potting enter no
// denominator; those that were checked all do, whatever was found, since a
// treatment that kills would otherwise hide what it killed. There is no interval:
// cuttings of one batch are not independent.
//
// It fails with a models.Error, kind Invalid, code unknown-grouping.
func GroupRooting(batches []Told, by []string, set models.Settings, on models.Date) (models.RootingReport, error) {
	if len(by) == 0 {
		by = DefaultGrouping
	}
	chosen, err := chosenGroupings(by)
	if err != nil {
		return models.RootingReport{}, err
	}
	report := models.RootingReport{On: on, By: []string{}, Groups: []models.RootingGroup{}}
	for _, g := range chosen {
		report.By = append(report.By, g.name)
	}
	for _, g := range gather(batches, chosen, &set.Thresholds) {
		report.Groups = append(report.Groups, g.sum())
	}
	return report, nil
}

func chosenGroupings(by []string) ([]grouping, error) {
	var chosen []grouping
	for _, name := range by {
		i := slices.IndexFunc(groupings, func(g grouping) bool { return g.name == name })
		if i < 0 {
			err := models.InvalidField("unknown-grouping", "by", name,
				"is %q, and batches are grouped by %s", name, models.OneOf(Groupings()))
			err.Suggestions = Near(name, Groupings())
			return nil, err
		}
		if !slices.ContainsFunc(chosen, func(g grouping) bool { return g.name == name }) {
			chosen = append(chosen, groupings[i])
		}
	}
	return chosen, nil
}

// rootingGroup is a group while its batches are added.
type rootingGroup struct {
	models.RootingGroup
	sortKey []string
	found   []stats.Found
	stuck   int
}

func gather(batches []Told, by []grouping, t *models.Thresholds) []*rootingGroup {
	groups := map[string]*rootingGroup{}
	for _, b := range batches {
		if b.Record.Sticking == nil || b.Story.Tally.Stuck == 0 {
			continue
		}
		fresh := newGroup(b.Record, by)
		id := strings.Join(fresh.sortKey, "\x00")
		if groups[id] == nil {
			groups[id] = fresh
		}
		groups[id].add(b, t)
	}
	return slices.SortedFunc(maps.Values(groups), func(a, b *rootingGroup) int {
		return slices.Compare(a.sortKey, b.sortKey)
	})
}

func newGroup(r *models.BatchRecord, by []grouping) *rootingGroup {
	g := &rootingGroup{RootingGroup: models.RootingGroup{Key: map[string]string{}}}
	for _, grouping := range by {
		value := cmp.Or(models.Clean(grouping.of(r)), NotRecorded)
		g.Key[grouping.name] = value
		g.sortKey = append(g.sortKey, models.NameKey(value))
	}
	return g
}

func (g *rootingGroup) add(b Told, t *models.Thresholds) {
	count := &g.Unfinished
	if finished(b, t) {
		count = &g.Finished
	}
	if rootingDay(b.Story).IsZero() {
		count.WithoutChecks++
		return
	}
	tally := &b.Story.Tally
	count.Batches++
	count.Cuttings += tally.Stuck
	count.Rooted += tally.EverRooted
	count.Lost += tally.LostUnrooted
	count.Withdrawn += tally.Withdrawn
	count.StillUnrooted += tally.Unrooted
	g.found = append(g.found, foundIn(b.Record, b.Story)...)
	g.stuck += tally.Stuck
}

func finished(b Told, t *models.Thresholds) bool {
	after := t.FinishedAfter
	if b.Record.Taxon.SlowToRoot {
		after = t.FinishedAfterSlow
	}
	last := b.Story.LastFull
	return !last.IsZero() && last.Sub(b.Record.Sticking.StuckOn) >= after
}

func (g *rootingGroup) sum() models.RootingGroup {
	for _, count := range []*models.GroupCount{&g.Finished, &g.Unfinished} {
		if count.Cuttings > 0 {
			p := percent(count.Rooted, count.Cuttings)
			count.Percent = &p
		}
	}
	g.DaysToRoot = daysToRoot(g.found, g.stuck)
	return g.RootingGroup
}
