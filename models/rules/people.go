package rules

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"withybed/models"
)

// People is the list of people, as far as records know it: their codes. While
// nobody is on it, nothing is held against it: texts are kept and shown to
// everyone as they were written, without a warning.
type People struct {
	codes map[string]string // as the list spells them, by key
}

// PeopleOf is the list of people with these codes.
func PeopleOf(codes []string) People {
	p := People{codes: make(map[string]string, len(codes))}
	for _, code := range codes {
		p.codes[models.NameKey(code)] = code
	}
	return p
}

// Settle writes codes in the fields of a request as the list spells them, and
// leaves any other text as it was written, with a warning. A request that was
// settled stays as it is when it is settled again.
func (p People) Settle(fields []models.PersonField) (warnings []string) {
	if len(p.codes) == 0 {
		return nil
	}
	for _, field := range fields {
		spelt, listed := p.spell(*field.Text)
		*field.Text = spelt
		if !listed && spelt != "" {
			warnings = append(warnings, fmt.Sprintf(
				"%s is %q, which is no code on the list of people: it is kept as written, and shown to others as %q; the coordinator adds people with withy person add",
				field.Name, spelt, models.NotListed))
		}
	}
	return warnings
}

// Veil rewrites fields for the eyes of those who see codes alone: any other text
// becomes the words for one who is not on the list.
func (p People) Veil(fields []models.PersonField) {
	if len(p.codes) == 0 {
		return
	}
	for _, field := range fields {
		spelt, listed := p.spell(*field.Text)
		if !listed && spelt != "" {
			spelt = models.NotListed
		}
		*field.Text = spelt
	}
}

// Veiled is a batch that shows codes alone, and leaves the record as it is.
func (p People) Veiled(r *models.BatchRecord) *models.BatchRecord {
	c := r.Copy()
	p.Veil(c.PersonFields())
	for i := range c.Corrections {
		p.VeilSaid(&c.Corrections[i])
	}
	return c
}

// VeilSaid shows codes alone in what a correction says of before and after. What it was
// read from stays as it is.
func (p People) VeilSaid(c *models.Correction) {
	c.Before, c.After = p.veiledSaid(c.Before), p.veiledSaid(c.After)
}

func (p People) veiledSaid(said map[string]any) map[string]any {
	said = maps.Clone(said)
	for field, value := range said {
		if text, is := value.(string); is && models.NamesPerson(field) {
			p.Veil([]models.PersonField{{Name: field, Text: &text}})
			said[field] = text
		}
	}
	return said
}

// spell reads a text as one code or several with commas or semicolons between
// them, and is the codes as the list spells them, each once. Where a part is no
// code it is the text, with its spaces put in order.
func (p People) spell(text string) (spelt string, listed bool) {
	var codes []string
	for _, part := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ';' }) {
		key := models.NameKey(part)
		if key == "" {
			continue
		}
		code, known := p.codes[key]
		if !known {
			return models.Clean(text), false
		}
		if !slices.Contains(codes, code) {
			codes = append(codes, code)
		}
	}
	if len(codes) == 0 {
		return models.Clean(text), false
	}
	return strings.Join(codes, ", "), true
}

// FirstPerson warns of what begins with the first person on the list.
func FirstPerson(before People) []string {
	if len(before.codes) > 0 {
		return nil
	}
	return []string{fmt.Sprintf("this is the first code on the list: from now on a name in a record that is no code is shown to others than coordinators as %q",
		models.NotListed)}
}
