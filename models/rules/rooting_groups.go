package rules

import "withybed/models"

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
	{"taxon", func(r *models.BatchRecord) string { return models.QualifiedName(r.Taxon.ScientificName, r.Qualifier) }},
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

// DefaultGrouping is what batches are grouped by where nothing is asked for: kinds
// of cutting, treated and untreated, heated and unheated are not pooled.
var DefaultGrouping = []string{"taxon", "kind", "treatment", "heated"}

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
