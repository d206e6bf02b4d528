package documents

import (
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"withybed/models"
)

// Corrected is a correction as a sentence, with what was said before.
func Corrected(c *models.Correction) string {
	what := c.Subject.Words()
	if c.AboutEntry > 0 {
		what += fmt.Sprintf(" (entry %d)", c.AboutEntry)
	}
	switch {
	case c.Void && c.Subject == models.OfBatch:
		return did(c.CorrectedBy, "voided the batch") + told("", c.Why)
	case c.Void:
		verb := "took out the "
		if c.AboutEntry == 0 {
			verb = "voided the "
		}
		return did(c.CorrectedBy, verb+what) + told("", c.Why) + told("; it said", strings.Join(said(c.Subject, c.Before), ", "))
	case c.Subject == models.OfBatch:
		what = "cut"
	}
	return did(c.CorrectedBy, "corrected the "+what) + told("", strings.Join(changes(c.Subject, c.Before, c.After), ", ")) + told("; why", c.Why)
}

// named is a batch named anew.
func named(d *models.Determination) string {
	name := models.QualifiedName(d.Taxon, d.Qualifier)
	if d.TaxonID == d.BeforeID {
		return did(d.DeterminedBy, "named it "+name+" once more") + told("; note", d.Note)
	}
	return did(d.DeterminedBy, "named it "+name+"; it was called "+d.Before) + told("; note", d.Note)
}

// changes are the fields that a correction changed, from what to what.
func changes(subject models.Subject, before, after map[string]any) []string {
	names := slices.Sorted(maps.Keys(before))
	for name := range after {
		if _, also := before[name]; !also {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	var parts []string
	for _, name := range names {
		was, had := before[name]
		is, has := after[name]
		switch field := fieldWords(subject, name); {
		case name == "to_review" && is == true:
			parts = append(parts, "it is to be reviewed")
		case name == "to_review":
			parts = append(parts, "it is within every rule now, and not to be reviewed any more")
		case !had:
			parts = append(parts, field+" is "+valueWords(name, is))
		case !has:
			parts = append(parts, field+" was "+valueWords(name, was)+" and is none")
		default:
			parts = append(parts, field+" from "+valueWords(name, was)+" to "+valueWords(name, is))
		}
	}
	return parts
}

// bookkeeping are the fields of a record that nobody said: they are given to it as
// it is kept.
var bookkeeping = []string{"id", "entered_at", "set_at"}

// said are the fields of something that never was.
func said(subject models.Subject, before map[string]any) []string {
	var parts []string
	for _, name := range slices.Sorted(maps.Keys(before)) {
		text := valueWords(name, before[name])
		if text == "" || slices.Contains(bookkeeping, name) {
			continue
		}
		parts = append(parts, fieldWords(subject, name)+" "+text)
	}
	return parts
}

// fieldWords is a field of a record as it stands in a sentence.
func fieldWords(subject models.Subject, name string) string {
	switch {
	case name == "by" && subject == models.OfDecision:
		return "decided by"
	case name == "why":
		return "the reason"
	}
	return strings.ReplaceAll(name, "_", " ")
}

// valueWords is a value of JSON as it stands in a sentence.
func valueWords(name string, value any) string {
	switch v := value.(type) {
	case string:
		if v == "" {
			return "nothing"
		}
		if models.NamesPerson(name) {
			return someone(v)
		}
		return v
	case float64:
		return strconv.FormatFloat(math.Round(v*1e4)/1e4, 'f', -1, 64) // bounds are kept to four places
	case bool:
		if v {
			return "yes"
		}
		return "no"
	case map[string]any:
		return objectWords(name, v)
	case []any:
		return listWords(v)
	}
	return fmt.Sprint(value)
}

// objectWords is a treatment, losses or the fields of a count in words.
func objectWords(name string, object map[string]any) string {
	text, err := json.Marshal(object)
	if err != nil {
		return fmt.Sprint(object)
	}
	if name == "treatment" {
		var t models.Treatment
		if json.Unmarshal(text, &t) == nil {
			return t.Label()
		}
	}
	var lost models.Losses
	if json.Unmarshal(text, &lost) != nil {
		return "(" + strings.Join(said("", object), ", ") + ")"
	}
	if words := losses(lost); words != "" {
		return words
	}
	return "nothing"
}

// listWords is the tagged plants of a cut, or the figures of a count, in words.
func listWords(list []any) string {
	var plants, figures []string
	for _, item := range list {
		if plant, is := item.(map[string]any); is {
			plants = append(plants, fmt.Sprintf("%v of %v", plant["stems"], plant["tag"]))
			continue
		}
		figures = append(figures, valueWords("", item))
	}
	return strings.Join(plants, " and ") + strings.Join(figures, ",")
}
