package rules

import "withybed/models"

// EnterTaxon makes the taxon of a request. Identifier and time of entry are left
// to the caller.
func EnterTaxon(req models.NewTaxon) (models.Taxon, error) {
	taxon := models.Taxon{
		ScientificName: models.Clean(req.ScientificName), NameKey: models.NameKey(req.ScientificName),
		CommonName: models.Clean(req.CommonName), Family: models.Clean(req.Family),
		Dioecious: req.Dioecious, Protected: req.Protected, SlowToRoot: req.SlowToRoot,
		SoakDays: req.SoakDays, Version: 1,
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
	taxon.SoakDays = patched(edit.SoakDays, taxon.SoakDays)
	return taxon, checkTaxon(&taxon)
}

const longestSoak = 60 // days; a longer one is a slip of the pen

func checkTaxon(t *models.Taxon) error {
	var f models.Faults
	needText(&f, "scientific_name", t.ScientificName, models.MaxName)
	checkText(&f, "common_name", t.CommonName, models.MaxName)
	checkText(&f, "family", t.Family, models.MaxName)
	if t.SoakDays != nil && (*t.SoakDays < 0 || *t.SoakDays > longestSoak) {
		f.Add("invalid", "soak_days", *t.SoakDays, "is %d, and must be from 0 to %d", *t.SoakDays, longestSoak)
	}
	return f.Err()
}
