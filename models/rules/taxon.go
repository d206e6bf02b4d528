package rules

import (
	"strings"

	"withybed/models"
)

// EnterTaxon makes the taxon of a request. Identifier and time of entry are left
// to the caller.
func EnterTaxon(req models.NewTaxon) (models.Taxon, error) {
	taxon := models.Taxon{
		ScientificName: models.Clean(req.ScientificName), NameKey: models.NameKey(req.ScientificName),
		CommonName: models.Clean(req.CommonName), Family: models.Clean(req.Family),
		Dioecious: req.Dioecious, Protected: req.Protected, SlowToRoot: req.SlowToRoot,
		IdentityMarks: cleanLines(req.IdentityMarks), SoakDays: req.SoakDays, Version: 1,
	}
	return taxon, checkTaxon(&taxon)
}

// EditTaxon is a taxon after a merge patch.
func EditTaxon(taxon models.Taxon, edit models.TaxonEdit) (models.Taxon, error) {
	taxon.CommonName = models.Clean(edit.CommonName.Or(taxon.CommonName))
	taxon.Family = models.Clean(edit.Family.Or(taxon.Family))
	taxon.Dioecious = edit.Dioecious.Or(taxon.Dioecious)
	taxon.Protected = edit.Protected.Or(taxon.Protected)
	taxon.SlowToRoot = edit.SlowToRoot.Or(taxon.SlowToRoot)
	taxon.IdentityMarks = cleanLines(edit.IdentityMarks.Or(taxon.IdentityMarks))
	taxon.SoakDays = patched(edit.SoakDays, taxon.SoakDays)
	return taxon, checkTaxon(&taxon)
}

// cleanLines is a text with its spaces put in order line by line, without empty
// lines.
func cleanLines(text string) string {
	var lines []string
	for line := range strings.Lines(text) {
		if line = models.Clean(line); line != "" {
			lines = append(lines, line)
		}
	}
	return strings.Join(lines, "\n")
}

const longestSoak = 60 // days; a longer one is a slip of the pen

func checkTaxon(t *models.Taxon) error {
	var f models.Faults
	needText(&f, "scientific_name", t.ScientificName, models.MaxName)
	checkText(&f, "common_name", t.CommonName, models.MaxName)
	checkText(&f, "family", t.Family, models.MaxName)
	checkText(&f, "identity_marks", t.IdentityMarks, models.MaxNote)
	if t.SoakDays != nil && (*t.SoakDays < 0 || *t.SoakDays > longestSoak) {
		f.Add("invalid", "soak_days", *t.SoakDays, "is %d, and must be from 0 to %d", *t.SoakDays, longestSoak)
	}
	return f.Err()
}
