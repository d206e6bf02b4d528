package rules

import (
	"slices"

	"withybed/models"
)

// sisterForm is what can be said wrongly of a batch that was split off: how many
// cuttings it was, and its details. All else is of the batch that holds the stems.
type sisterForm struct {
	Cuttings int `json:"cuttings"`
	models.Details
}

func sisterFormOf(r *models.BatchRecord) sisterForm {
	return sisterForm{Cuttings: r.Cuttings, Details: DetailsOf(&r.Batch)}
}

// CorrectSister corrects what was said of a batch that was split off, and of the split:
// of is the batch it was split off. It answers the split as it is after that.
func CorrectSister(r, of *models.BatchRecord, req models.NewCorrection, today models.Date) (CutCorrection, models.Split, error) {
	none, split := CutCorrection{}, models.Split{}
	if err := checkCutCorrection(r, &req); err != nil {
		return none, split, err
	}
	was := sisterFormOf(r)
	is, err := changed(was, req.Changes, "a batch that was split off: correct "+of.Code+", or the batch that holds the stems")
	if err != nil {
		return none, split, inChanges(err)
	}
	if err := checkSister(&is, of); err != nil {
		return none, split, inChanges(err)
	}
	said := batchOf(&models.StandRecord{}, &models.NewBatch{CollectedBy: r.CollectedBy, Cuttings: is.Cuttings, Details: is.Details})
	made := CutCorrection{Batch: retold(r.Batch, said)}
	b := &made.Batch
	b.StandID, b.Year, b.CollectedOn, b.WaitingFrom, b.StemsCut = r.StandID, r.Year, r.CollectedOn, r.WaitingFrom, 0
	after := *r
	after.Batch = made.Batch
	if made.Before, made.After, err = differences(was, sisterFormOf(&after)); err != nil {
		return none, split, err
	}
	if err := stillStands(&after, 0, "changes.cuttings", is.Cuttings, "with so many"); err != nil {
		return none, split, err
	}
	split, err = recount(of, r.ID, is.Cuttings)
	return made, split, err
}

func checkSister(is *sisterForm, of *models.BatchRecord) error {
	var f models.Faults
	checkCount(&f, "cuttings", is.Cuttings, 1)
	checkDetails(&f, &is.Details)
	if is.RecordNumber != "" {
		f.Add("not-correctable", "record_number", is.RecordNumber, "is the tag of a bundle, and belongs to the batch that holds the stems, not to one split off %s", of.Code)
	}
	return f.Err()
}

// recount gives the split by which a sister was made its right number, where the batch
// she was split off had so many.
func recount(of *models.BatchRecord, sister string, count int) (models.Split, error) {
	with := *of
	with.Splits = slices.Clone(of.Splits)
	for i := range with.Splits {
		s := &with.Splits[i]
		if s.SisterID != sister {
			continue
		}
		s.Count = count
		_, at, err := replayTo(&with, endOfTime)
		switch {
		case err == nil:
			return *s, nil
		case at.number == s.Entry:
			return *s, models.InvalidField("too-many-cuttings", "changes.cuttings", count, "cannot be: %s", whatIsWrong(err))
		}
		return *s, stillStands(&with, s.Entry, "changes.cuttings", count, "with so many split off")
	}
	return models.Split{}, models.Errorf(models.Internal, "internal", "batch %s was split off %s, and that does not know of it", sister, of.Code)
}

// Follow writes into a batch that was split off what was corrected of the harvest: its
// stand, day and taxon, and all that it said as the batch that holds the stems did. It
// answers what changed, or that the batch cannot be so.
func Follow(sister *models.BatchRecord, was, is *models.Batch, stand string, taxon models.Taxon) (before, after map[string]any, err error) {
	said, err := models.Said(followed(sister))
	if err != nil {
		return nil, nil, err
	}
	b := &sister.Batch
	if b.StandID != is.StandID {
		sister.Stand = stand
	}
	follow(&b.StandID, was.StandID, is.StandID)
	if b.TaxonID == was.TaxonID {
		b.TaxonID, sister.Taxon = is.TaxonID, taxon
	}
	follow(&b.WaitingFrom, was.WaitingFrom, is.WaitingFrom)
	follow(&b.CollectedOn, was.CollectedOn, is.CollectedOn)
	b.Year = is.Year
	follow(&b.CollectedBy, was.CollectedBy, is.CollectedBy)
	follow(&b.IdentifiedBy, was.IdentifiedBy, is.IdentifiedBy)
	follow(&b.Identification, was.Identification, is.Identification)
	follow(&b.Purpose, was.Purpose, is.Purpose)
	follow(&b.Kind, was.Kind, is.Kind)
	follow(&b.Health, was.Health, is.Health)
	follow(&b.Note, was.Note, is.Note)
	followPointer(&b.LengthCM, was.LengthCM, is.LengthCM)
	followPointer(&b.DiameterMM, was.DiameterMM, is.DiameterMM)
	followPointer(&b.Nodes, was.Nodes, is.Nodes)
	followPointer(&b.WoodAgeYears, was.WoodAgeYears, is.WoodAgeYears)
	followPointer(&b.HoursToWater, was.HoursToWater, is.HoursToWater)
	says, err := models.Said(followed(sister))
	if err != nil {
		return nil, nil, err
	}
	before, after = models.Differences(said, says)
	return before, after, stillStands(sister, 0, "changes", nil, "with them")
}

// followed is what a sister says of its harvest.
func followed(r *models.BatchRecord) any {
	return struct {
		Stand       string      `json:"stand"`
		Taxon       string      `json:"taxon"`
		CollectedOn models.Date `json:"collected_on"`
		CollectedBy string      `json:"collected_by"`
		models.Details
	}{r.Stand, r.Taxon.ScientificName, r.CollectedOn, r.CollectedBy, DetailsOf(&r.Batch)}
}

func follow[T comparable](to *T, was, is T) {
	if *to == was {
		*to = is
	}
}

func followPointer[T comparable](to **T, was, is *T) {
	if sameValue(*to, was) {
		*to = is
	}
}

func sameValue[T comparable](a, b *T) bool {
	if a == nil || b == nil {
		return a == b
	}
	return *a == *b
}
