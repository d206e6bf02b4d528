package documents

import (
	"fmt"
	"strings"

	"withybed/models"
)

// WrongSpeciesLetter tells at once of batches of one harvest that turn out to be of
// another taxon than the stand they were cut from.
func WrongSpeciesLetter(nurseryName string, batches []string, stand, standTaxon string, d *models.Determination, lists []models.MailList) Message {
	name := models.QualifiedName(d.Taxon, d.Qualifier)
	text := fmt.Sprintf("named %s on %s by %s", name, d.DeterminedOn, someone(d.DeterminedBy)) + told("; note", d.Note)
	l := letter{
		Nursery: nurseryName, About: fmt.Sprintf("%s is %s, not %s", batches[0], name, standTaxon),
		Lead: []string{fmt.Sprintf("Stems of the wrong plant were cut at %s, which is a stand of %s. Look into what else that crew cut there, and show it the marks of the plant before it cuts again.",
			stand, standTaxon)},
		Parts: []part{{Heading: "Named anew", Groups: []group{{Entries: []entry{{What: strings.Join(batches, ", "), Why: text}}}}}},
		Care:  [][]string{{"Mend the labels.", "The stems count against the stand they were cut from all the same.", "If the plant is protected, tell the authority before anything more is done with it."}},
		Foot:  footWords(lists),
	}
	return l.message()
}
