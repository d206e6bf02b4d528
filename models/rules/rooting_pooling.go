package rules

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"

	"withybed/models/stats"
)

// toldApart are the recorded things that batches are not pooled over without a
// word.
var toldApart = []string{"taxon", "kind", "treatment", "heated"}

// poolingNotes say over what a pool of batches goes, with the p of whether it
// makes a difference, where there are two batches or more of each kind.
func (j *judged) poolingNotes(ctx context.Context) []string {
	var notes []string
	scorer := stats.NewScorer(j.inc)
	for _, name := range toldApart {
		values := j.valuesOf(name)
		if len(values) < 2 {
			continue
		}
		note := fmt.Sprintf("pooled over %s", pooledWords(name, values))
		if p, ok := j.poolingP(ctx, name, values, scorer); ok {
			note += fmt.Sprintf(" (p = %s that they root alike)", pWords(p))
		}
		notes = append(notes, note)
	}
	return notes
}

// valuesOf are the recorded values of a pool, with how many of its batches have
// each.
func (j *judged) valuesOf(name string) map[string]int {
	values, keys := map[string]int{}, nameKeys{}
	for i := range j.pool.Batches {
		w := &j.pool.Batches[i]
		if value := keys.of(w.Keys[name]); value != "" && w.Lot.Seen() {
			values[value]++
		}
	}
	return values
}

func pooledWords(name string, values map[string]int) string {
	if name == "heated" {
		return "heated and unheated trays"
	}
	plural := map[string]string{"taxon": "taxa", "kind": "kinds of cutting", "treatment": "treatments"}[name]
	return fmt.Sprintf("%d %s", len(values), plural)
}

// poolingP relabels the batches of each value; ok is false where a value has but
// one batch, or ctx ends.
func (j *judged) poolingP(ctx context.Context, name string, values map[string]int, scorer *stats.Scorer) (p float64, ok bool) {
	all := 0
	for _, n := range values {
		if n < 2 {
			return 0, false
		}
		all += n
	}
	names := slices.Sorted(maps.Keys(values))
	lots, keys := make([]stats.Scored, 0, all), nameKeys{}
	for i := range j.pool.Batches {
		w := &j.pool.Batches[i]
		if arm := slices.Index(names, keys.of(w.Keys[name])); arm >= 0 && w.Lot.Seen() {
			lots = append(lots, stats.Scored{Score: scorer.Score(&w.Lot), Arm: arm})
		}
	}
	slices.SortFunc(lots, func(a, b stats.Scored) int { return cmp.Or(cmp.Compare(a.Arm, b.Arm), cmp.Compare(a.Score, b.Score)) })
	if len(lots) > mostRelabeled {
		test, ok := stats.ChiManyArms(lots)
		return test.PChi, ok
	}
	test, ok, err := stats.TestManyArms(ctx, lots, j.draw.Seed)
	return test.P, ok && err == nil
}

// mostRelabeled is how many batches are relabeled for the sake of a note.
const mostRelabeled = 100
