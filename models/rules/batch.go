package rules

import (
	"fmt"
	"strings"

	"withybed/models"
)

// EnterBatch makes the batch of a request and judges its cut by the harvest
// rules of its stand. What a rule refuses is an error, with the batch beside it so
// that the rest of the request can be looked at first, unless the request says
// that it is already cut: then the batch is made, to be reviewed. Identifier,
// code, number and time of entry are left to the caller.
func EnterBatch(stand *models.StandRecord, req models.NewBatch, today models.Date) (models.Batch, []string, error) {
	h := newHistory(stand)
	countPlants(&req)
	cut, err := h.cutOf(&req, today)
	if err != nil {
		return models.Batch{}, nil, err
	}
	batch := batchOf(stand, &req)
	if refusal := h.enterCut(&batch, cut, req.AlreadyCut); refusal != nil {
		if refusal.Kind != models.Refused {
			return models.Batch{}, nil, refusal
		}
		return batch, nil, refusal
	}
	return batch, h.cutWarnings(&batch, &req, cut), nil
}

// enterCut writes into a batch what its cut draws on, its shares of the stand, and
// what the harvest rules say of it. It answers what a rule refuses, unless the stems
// are cut already: then the batch is to be reviewed.
func (h *history) enterCut(batch *models.Batch, cut Cut, alreadyCut bool) *models.Error {
	batch.PermitID, batch.PermitQuantity, batch.ShareID = nil, 0, nil
	if cut.Permit != nil {
		batch.PermitID, batch.PermitQuantity = &cut.Permit.ID, cut.Drawn
	}
	if cut.Share != nil {
		batch.ShareID = &cut.Share.ID
	}
	h.setFractions(batch, cut)
	refusal, beyond := judge(h, cut), beyondShare(cut)
	batch.AwaitsReview, batch.RefusedBy, batch.OverLimit = beyond != "", beyond, false
	switch {
	case refusal == nil:
		return nil
	case !alreadyCut && refusal.Kind == models.Refused:
		return sayShare(refusal, cut)
	case !alreadyCut:
		return refusal
	}
	batch.AwaitsReview, batch.RefusedBy = true, strings.Join(nonEmpty(beyond, against(h, cut, refusal)), "; ")
	batch.OverLimit = h.countedBy(cut.On) && !h.fits(cut)
	return nil
}

// setFractions writes into a batch what share of its stand its cut is, where the stand
// was counted by then.
func (h *history) setFractions(batch *models.Batch, cut Cut) {
	batch.SurveyID, batch.HarvestFraction, batch.StandFraction = nil, nil, nil
	if !h.countedBy(cut.On) {
		return
	}
	var survey *models.Survey
	if survey, batch.HarvestFraction, batch.StandFraction = h.fractions(cut); survey != nil {
		batch.SurveyID = &survey.ID
	}
}

// cutWarnings are what to look at again of a cut that was entered.
func (h *history) cutWarnings(batch *models.Batch, req *models.NewBatch, cut Cut) []string {
	warnings := append(nonEmpty(beyondShare(cut)), batchWarnings(h, req, batch.AwaitsReview)...)
	if batch.OverLimit {
		warnings = append(warnings, restBegins(batch, h.Code))
	}
	return warnings
}

func batchOf(stand *models.StandRecord, req *models.NewBatch) models.Batch {
	batch := models.Batch{
		StandID: stand.ID, TaxonID: stand.TaxonID, Year: req.CollectedOn.Year(),
		CollectedOn: req.CollectedOn, StemsCut: req.StemsCut, Cuttings: req.Cuttings, ParentPlants: req.ParentPlants,
		CollectedBy: models.Clean(req.CollectedBy), IdentifiedBy: models.Clean(req.IdentifiedBy),
		Identification: req.Identification, Purpose: req.Purpose, Kind: req.Kind,
		LengthCM: req.LengthCM, DiameterMM: req.DiameterMM, Nodes: req.Nodes, WoodAgeYears: req.WoodAgeYears,
		Health: models.Clean(req.Health), HoursToWater: req.HoursToWater, Note: models.Clean(req.Note),
		AlreadyCut: req.AlreadyCut, Reason: models.Clean(req.Reason),
		WaitingFrom: req.CollectedOn, Active: true, Version: 1,
	}
	if batch.Identification == "" {
		batch.Identification = models.Unconfirmed
	}
	if batch.Purpose == "" {
		batch.Purpose = models.Rooting
	}
	if tag := models.Clean(req.RecordNumber); tag != "" {
		batch.RecordNumber = &tag
	}
	return batch
}

// CheckForm looks at all of a request that can be looked at without its stand.
func CheckForm(req models.NewBatch, today models.Date) error {
	var f models.Faults
	checkForm(&f, &req, today)
	return f.Err()
}

// cutOf is the cut of a request, with the permit and the crew share it names.
func (h *history) cutOf(req *models.NewBatch, today models.Date) (Cut, error) {
	var f models.Faults
	f.Join(checkBatch(h, req, today))
	cut := Cut{
		On: req.CollectedOn, Stems: req.StemsCut, Parents: req.ParentPlants, Tagged: req.Parents,
		By: models.Clean(req.CollectedBy), Logged: true,
	}
	cut.Permit, cut.Drawn = h.namedPermit(&f, req)
	cut.Share = h.namedShare(&f, req)
	return cut, f.Err()
}

func checkBatch(h *history, req *models.NewBatch, today models.Date) error {
	var f models.Faults
	checkForm(&f, req, today)
	if name := models.NameKey(req.Taxon); name != "" && name != h.Taxon.NameKey {
		f.Add("taxon-misfit", "taxon", req.Taxon, "is %q, and %s is a stand of %s: check the plant and the stand. If the wrong plant was cut, log it without a taxon, then name it with withy batch determine",
			req.Taxon, h.Code, h.Taxon.ScientificName)
	}
	if req.ParentPlants == nil && !req.CollectedOn.IsZero() {
		if survey, counted := h.plantsOn(req.CollectedOn); counted {
			f.Add("parents-missing", "parent_plants", nil, "is missing: the survey of %s counted plants, so say how many you cut from", survey.SurveyedOn)
		}
	}
	return f.Err()
}

func checkForm(f *models.Faults, req *models.NewBatch, today models.Date) {
	checkPast(f, "collected_on", req.CollectedOn, today)
	checkStems(f, req)
	needText(f, "collected_by", req.CollectedBy, models.MaxName)
	checkOptionalCount(f, "parent_plants", req.ParentPlants, 1)
	checkParents(f, req)
	checkDetails(f, &req.Details)
	checkText(f, "reason", req.Reason, models.MaxNote)
	switch reason := models.Clean(req.Reason); {
	case req.AlreadyCut && reason == "":
		f.Add("invalid", "reason", nil, "is missing: say why the stems were cut")
	case !req.AlreadyCut && reason != "":
		f.Add("invalid", "reason", req.Reason, "goes with already_cut")
	}
	if req.StuckOn.IsZero() && (req.Count != nil || !req.Tray.IsZero()) {
		f.Add("invalid", "stuck_on", nil, "is missing: the day they were stuck")
	}
}

func checkStems(f *models.Faults, req *models.NewBatch) {
	switch {
	case req.StemsCut != 0:
		checkCount(f, "stems_cut", req.StemsCut, 1)
	case req.Cuttings > 0:
		f.Add("no-stems", "stems_cut", 0, "is 0, and stems are needed to make %s from", models.Counted(req.Cuttings, "cutting"))
	default:
		f.Add("no-stems", "stems_cut", 0, "is 0: a batch begins with at least one stem")
	}
	checkCount(f, "cuttings", req.Cuttings, 0)
}

func checkDetails(f *models.Faults, d *models.Details) {
	checkText(f, "identified_by", d.IdentifiedBy, models.MaxName)
	checkText(f, "record_number", d.RecordNumber, models.MaxName)
	checkText(f, "health", d.Health, models.MaxName)
	checkText(f, "note", d.Note, models.MaxNote)
	checkKnown(f, "identification", d.Identification, models.Identifications)
	checkKnown(f, "purpose", d.Purpose, models.Purposes)
	checkKnown(f, "kind", d.Kind, models.CuttingKinds)
	checkMeasure(f, "length_cm", d.LengthCM, 0.1, 1000)
	checkMeasure(f, "diameter_mm", d.DiameterMM, 0.1, 500)
	checkMeasure(f, "wood_age_years", d.WoodAgeYears, 0, 100)
	checkMeasure(f, "hours_to_water", d.HoursToWater, 0, 1000)
	if d.Nodes != nil && (*d.Nodes < 0 || *d.Nodes > 100) {
		f.Add("invalid", "nodes", *d.Nodes, "is %d, and must be from 0 to 100", *d.Nodes)
	}
}

// judge puts the question of the first survey before the harvest rules: a cut
// from before it is a slip of the pen more often than a cut.
func judge(h *history, cut Cut) *models.Error {
	if h.countedBy(cut.On) {
		return h.judgeCut(cut)
	}
	return models.InvalidField("before-first-survey", "collected_on", cut.On,
		"cannot be: %s. Stems that are cut already are recorded with already_cut and a reason", h.notCounted(cut.On))
}

// against is the rule a cut is recorded against, in words that stand alone.
func against(h *history, cut Cut, refusal *models.Error) string {
	if h.countedBy(cut.On) {
		return refusal.Detail
	}
	return h.notCounted(cut.On)
}

func (h *history) notCounted(on models.Date) string {
	if len(h.Surveys) == 0 {
		return h.Code + " was never surveyed: enter a survey first"
	}
	return fmt.Sprintf("%s is before the first survey of %s, on %s", on, h.Code, h.Surveys[0].SurveyedOn)
}

// countedBy says that the stand was counted on or before a day, or that a salvage
// sets it free of counts.
func (h *history) countedBy(day models.Date) bool {
	return h.salvageOn(day) != nil || len(h.Surveys) > 0 && !day.Before(h.Surveys[0].SurveyedOn)
}

func batchWarnings(h *history, req *models.NewBatch, refused bool) []string {
	var warnings []string
	if req.Cuttings < req.StemsCut {
		warnings = append(warnings, fmt.Sprintf("%s %s fewer than the %s cut", models.Counted(req.Cuttings, "cutting"), models.Are(req.Cuttings), models.Counted(req.StemsCut, "stem")))
	}
	if req.ParentPlants != nil {
		if *req.ParentPlants > req.StemsCut {
			warnings = append(warnings, fmt.Sprintf("%s are more than the %s cut from them", models.Counted(*req.ParentPlants, "parent plant"), models.Counted(req.StemsCut, "stem")))
		}
		if survey, counted := h.plantsOn(req.CollectedOn); counted && *req.ParentPlants > *survey.Plants {
			warnings = append(warnings, fmt.Sprintf("%s are more than the %d counted on %s", models.Counted(*req.ParentPlants, "parent plant"), *survey.Plants, survey.SurveyedOn))
		}
	}
	switch {
	case refused:
		warnings = append(warnings, "recorded against a rule and to be reviewed by the coordinator; may be stuck, checked and potted meanwhile")
	case req.AlreadyCut:
		warnings = append(warnings, "already_cut was not needed: the cut is within every rule")
	}
	return append(warnings, h.salvageMissing(req)...)
}
