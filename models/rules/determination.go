package rules

import (
	"fmt"

	"withybed/models"
)

// Determine names a batch anew, with the day, the person and how sure they are.
// Identifiers, number and time of entry are left to the caller. The warnings say
// where the taxon is not that of the stand, which then is a cut of the wrong plant.
func Determine(r *models.BatchRecord, req models.NewDetermination, taxon models.Taxon, stand *models.StandRecord, today models.Date) (models.Determination, []string, error) {
	var f models.Faults
	checkPast(&f, "on", req.On, today)
	needText(&f, "by", req.By, models.MaxName)
	checkText(&f, "note", req.Note, models.MaxNote)
	checkKnown(&f, "qualifier", req.Qualifier, models.Qualifiers)
	checkKnown(&f, "identification", req.Identification, models.Identifications)
	if !req.On.IsZero() && req.On.Before(r.CollectedOn) {
		f.Add("out-of-order", "on", req.On, "is %s, before it was cut on %s", req.On, r.CollectedOn)
	}
	if n := len(r.Determinations); n > 0 && req.On.Before(r.Determinations[n-1].DeterminedOn) {
		f.Add("out-of-order", "on", req.On, "is %s, and it was named on %s: the later name stands, and an earlier one is told in its note",
			req.On, r.Determinations[n-1].DeterminedOn)
	}
	if err := f.Err(); err != nil {
		return models.Determination{}, nil, err
	}
	if err := notVoid(r); err != nil {
		return models.Determination{}, nil, err
	}
	d := models.Determination{
		TaxonID: taxon.ID, BeforeID: r.TaxonID, Taxon: taxon.ScientificName, Before: r.Taxon.ScientificName,
		Qualifier: req.Qualifier, DeterminedOn: req.On, DeterminedBy: models.Clean(req.By), Note: models.Clean(req.Note),
	}
	return d, determinationWarnings(r, &d, &taxon, stand), nil
}

func determinationWarnings(r *models.BatchRecord, d *models.Determination, taxon *models.Taxon, stand *models.StandRecord) []string {
	var warnings []string
	if WrongSpecies(d, stand) {
		warnings = append(warnings, fmt.Sprintf("%s is a stand of %s, and %s is %s: stems of the wrong plant were cut. They count against %s all the same; the leads are told",
			stand.Code, stand.Taxon.ScientificName, r.Code, models.QualifiedName(d.Taxon, d.Qualifier), stand.Code))
		if taxon.Protected {
			warnings = append(warnings, taxon.ScientificName+" is protected: tell the coordinator and the authority before anything more is done with it")
		}
	}
	if d.TaxonID != d.BeforeID {
		warnings = append(warnings, "mend the labels: they say "+d.Before)
	}
	return warnings
}

// WrongSpecies says that a name is not the stand's: the wrong plant was cut.
func WrongSpecies(d *models.Determination, stand *models.StandRecord) bool {
	return d.TaxonID != stand.TaxonID
}

// Name writes a determination into a batch.
func Name(r *models.BatchRecord, d models.Determination, grade models.Identification, taxon models.Taxon) {
	r.TaxonID, r.Taxon, r.Qualifier, r.IdentifiedBy = taxon.ID, taxon, d.Qualifier, d.DeterminedBy
	r.Identification = grade
	if grade == "" {
		r.Identification = models.Confirmed
		if d.Qualifier != "" {
			r.Identification = models.Qualified
		}
	}
	r.Determinations = append(r.Determinations, d)
}
