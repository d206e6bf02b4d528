package rules

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"withybed/models"
	"withybed/models/stats"
)

// toldApart are the recorded things that batches are not pooled over without a
// word.
var toldApart = []string{"taxon", "kind", "treatment", "heated"}

// poolingNotes say over what a pool of batches goes, with the p of whether it
// makes a difference, where there are two batches or more of each kind.
func (j *judged) poolingNotes() []string {
	var notes []string
	var scores map[string]float64
	for _, name := range toldApart {
		values := j.valuesOf(name)
		if len(values) < 2 {
			continue
		}
		if scores == nil {
			scores = stats.BatchScores(j.lots, j.inc)
		}
		note := fmt.Sprintf("pooled over %s", pooledWords(name, values))
		if p, ok := j.poolingP(name, values, scores); ok {
			note += fmt.Sprintf(" (p = %s that they root alike)", pWords(p))
		}
		notes = append(notes, note)
	}
	return notes
}

// valuesOf are the recorded values of a pool, with how many of its batches have
// each.
func (j *judged) valuesOf(name string) map[string]int {
	values := map[string]int{}
	for i := range j.pool.Batches {
		w := &j.pool.Batches[i]
		if value := models.NameKey(w.Keys[name]); value != "" && w.Lot.Seen() {
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
// one batch.
func (j *judged) poolingP(name string, values map[string]int, scores map[string]float64) (p float64, ok bool) {
	for _, n := range values {
		if n < 2 {
			return 0, false
		}
	}
	names := slices.Sorted(maps.Keys(values))
	var lots []stats.Scored
	for i := range j.pool.Batches {
		w := &j.pool.Batches[i]
		if arm := slices.Index(names, models.NameKey(w.Keys[name])); arm >= 0 && w.Lot.Seen() {
			lots = append(lots, stats.Scored{Score: scores[w.Lot.ID], Arm: arm})
		}
	}
	slices.SortFunc(lots, func(a, b stats.Scored) int { return cmp.Or(cmp.Compare(a.Arm, b.Arm), cmp.Compare(a.Score, b.Score)) })
	if len(lots) > mostRelabeled {
		test, ok := stats.ChiManyArms(lots)
		return test.PChi, ok
	}
	test, ok := stats.TestManyArms(lots, j.draw.Seed)
	return test.P, ok
}

// mostRelabeled is how many batches are relabeled for the sake of a note.
const mostRelabeled = 100
