package rules

import (
	"fmt"
	"slices"

	"withybed/models"
)

// CutCorrection is a batch as it is after a correction of its cut.
type CutCorrection struct {
	Batch    models.Batch
	Parents  []models.Parent
	Before   map[string]any
	After    map[string]any
	Warnings []string
}

// TakeOut takes out of a stand what a batch took of it, as if it had not been cut: its
// stems, plants and draws, and the rest it began. Drawn is what stands on the ledger
// of its draw on a crew share. Of another stand only the permit is, where that covers
// both.
func TakeOut(stand *models.StandRecord, r *models.BatchRecord, drawn []models.LedgerEntry) {
	for i := range stand.Permits {
		if p := &stand.Permits[i]; r.PermitID != nil && p.ID == *r.PermitID {
			p.Drawn -= r.PermitQuantity
		}
	}
	if stand.ID != r.StandID {
		return
	}
	stand.Ledger = WithStems(stand.Ledger, models.LedgerDay{TakenOn: r.CollectedOn, Stems: -r.StemsCut, Parents: -orZero(r.ParentPlants)})
	for _, p := range r.Parents {
		stand.Parents = withoutParent(stand.Parents, r.CollectedOn, p)
	}
	if s := heldShare(stand, r.ShareID); s != nil {
		stems, plants := sumOf(drawn, s.ID)
		s.Left, s.LeftParents = s.Left-stems, s.LeftParents-plants
		stand.Ledger = WithStems(stand.Ledger, models.LedgerDay{TakenOn: s.FromDay, Stems: -stems, Parents: -plants})
	}
	stand.Rests = slices.DeleteFunc(slices.Clone(stand.Rests), func(rest models.Rest) bool {
		return rest.BatchID != nil && *rest.BatchID == r.ID
	})
}

func withoutParent(days []models.ParentDay, on models.Date, p models.Parent) []models.ParentDay {
	days = slices.Clone(days)
	i := slices.IndexFunc(days, func(d models.ParentDay) bool { return d.TakenOn == on && d.TagKey == models.NameKey(p.Tag) })
	if i < 0 {
		return days // before the days that were read
	}
	days[i].Stems, days[i].Batches = days[i].Stems-p.Stems, days[i].Batches-1
	if days[i].Batches == 0 {
		return slices.Delete(days, i, i+1)
	}
	return days
}

// heldShare is the crew share of an identifier among those on which can be drawn at a
// stand, or nil.
func heldShare(stand *models.StandRecord, id *string) *models.OpenShare {
	for i := range stand.Shares {
		if id != nil && stand.Shares[i].ID == *id {
			return &stand.Shares[i]
		}
	}
	return nil
}

// sumOf is what entries of a ledger sum to that are of a crew share.
func sumOf(entries []models.LedgerEntry, share string) (stems, plants int) {
	for _, e := range entries {
		if e.ShareID != nil && *e.ShareID == share {
			stems, plants = stems+e.Stems, plants+e.Parents
		}
	}
	return stems, plants
}

// CorrectCut corrects what was said of the cut of a batch. From and to are the stand it
// was of and the one it is of after that, with what it took taken out. A cut that
// becomes larger in any way, of another day, stand, plants, permit or share is judged
// as a new one. What only becomes less is not, and lifts a review where it passes every
// rule. A crew share stays behind with its stand.
func CorrectCut(r *models.BatchRecord, from, to *models.StandRecord, req models.NewCorrection, today models.Date) (CutCorrection, error) {
	none := CutCorrection{}
	if err := checkCutCorrection(r, &req); err != nil {
		return none, err
	}
	was := cutForm(r, from)
	is, err := changed(was, req.Changes, "the cut"+byNumber)
	if err != nil {
		return none, inChanges(err)
	}
	if req.Changes.Parents.IsSet() && !req.Changes.ParentPlants.IsSet() {
		is.ParentPlants = nil // they are counted anew
	}
	if from.ID != to.ID && !req.Changes.Share.IsSet() {
		is.Share = ""
	}
	c := cutCorrector{history: newHistory(to), record: r, was: &was, is: &is}
	made, err := c.correct(&req, today)
	if err != nil {
		return none, inChanges(err)
	}
	after := *r
	after.Batch, after.Parents, after.Stand = made.Batch, made.Parents, to.Code
	if orEmpty(after.PermitID) != orEmpty(r.PermitID) {
		after.Permit, after.PermitUnit = permitNamed(to, after.PermitID)
	}
	if made.Before, made.After, err = differences(was, cutForm(&after, to)); err != nil {
		return none, err
	}
	if r.AwaitsReview != made.Batch.AwaitsReview {
		made.Before["to_review"], made.After["to_review"] = r.AwaitsReview, made.Batch.AwaitsReview
	}
	if r.TaxonID != made.Batch.TaxonID {
		made.Before["taxon"], made.After["taxon"] = r.Taxon.ScientificName, to.Taxon.ScientificName
		made.Warnings = append(made.Warnings, becomes(r, to))
	} else if from.ID != to.ID && r.TaxonID != to.TaxonID {
		made.Warnings = append(made.Warnings, fmt.Sprintf("%s was named %s and stays so, and %s is a stand of %s: check the plant and the stand",
			r.Code, r.Taxon.ScientificName, to.Code, to.Taxon.ScientificName))
	}
	return made, stillStands(&after, 0, "changes", nil, "with them")
}

// becomes warns that a batch takes the taxon of the stand it is said to be of.
func becomes(r *models.BatchRecord, to *models.StandRecord) string {
	who := r.Code + " is"
	if len(r.Splits) > 0 {
		who = r.Code + " and what was split off it are"
	}
	return fmt.Sprintf("%s %s now, as %s is a stand of it, and no more %s: check the plant and the stand, and mend the labels. If the plant is the one it was called, name it anew",
		who, to.Taxon.ScientificName, to.Code, r.Taxon.ScientificName)
}

func checkCutCorrection(r *models.BatchRecord, req *models.NewCorrection) error {
	if err := checkCorrection(req.Why, req.By); err != nil {
		return err
	}
	if err := notVoid(r); err != nil {
		return err
	}
	if req.Void {
		return models.InvalidField("contradiction", "void", true, "takes one entry out, and none is named: a whole batch is voided by its own way")
	}
	return nil
}

// cutForm is a cut as it would be requested at a stand. A crew share on which nothing
// can be drawn any more is left out.
func cutForm(r *models.BatchRecord, stand *models.StandRecord) models.CutForm {
	form := models.CutForm{
		Stand: r.Stand, CollectedOn: r.CollectedOn, StemsCut: r.StemsCut, Cuttings: r.Cuttings, CollectedBy: r.CollectedBy,
		ParentPlants: r.ParentPlants, Parents: r.Parents, Permit: r.Permit, Details: DetailsOf(&r.Batch),
	}
	if r.PermitUnit == models.InBundles || r.PermitUnit == models.InKG {
		form.PermitQuantity = &r.PermitQuantity
	}
	if s := heldShare(stand, r.ShareID); s != nil {
		form.Share = s.Crew
		if found, _ := FindShare(stand, s.Crew, r.CollectedOn); found == nil || found.ID != s.ID {
			form.Share = s.ID // the crew has another one there
		}
	}
	return form
}

// permitNamed is the number and the unit of a permit that covers a stand.
func permitNamed(stand *models.StandRecord, id *string) (number string, unit models.PermitUnit) {
	for i := range stand.Permits {
		if p := &stand.Permits[i]; id != nil && p.ID == *id {
			return p.Number, p.Unit
		}
	}
	return "", ""
}

// DetailsOf are the details of a batch as a request gives them.
func DetailsOf(b *models.Batch) models.Details {
	d := models.Details{
		IdentifiedBy: b.IdentifiedBy, Identification: b.Identification, Purpose: b.Purpose, Kind: b.Kind,
		LengthCM: b.LengthCM, DiameterMM: b.DiameterMM, Nodes: b.Nodes, WoodAgeYears: b.WoodAgeYears,
		Health: b.Health, HoursToWater: b.HoursToWater, Note: b.Note,
	}
	if b.RecordNumber != nil {
		d.RecordNumber = *b.RecordNumber
	}
	return d
}

// cutCorrector holds what was said of a cut, and what is said of it now, at the stand
// it is of now.
type cutCorrector struct {
	*history
	record  *models.BatchRecord
	was, is *models.CutForm
}

func (c *cutCorrector) correct(req *models.NewCorrection, today models.Date) (CutCorrection, error) {
	r := c.record
	as := models.NewBatch{
		CollectedOn: c.is.CollectedOn, StemsCut: c.is.StemsCut, Cuttings: c.is.Cuttings, CollectedBy: c.is.CollectedBy,
		ParentPlants: c.is.ParentPlants, Parents: c.is.Parents, Permit: c.is.Permit, PermitQuantity: c.is.PermitQuantity,
		Share: c.is.Share, Details: c.is.Details, AlreadyCut: req.AlreadyCut, Reason: req.Reason,
	}
	countPlants(&as)
	if err := CheckForm(as, today); err != nil {
		return CutCorrection{}, err
	}
	batch := retold(r.Batch, batchOf(c.StandRecord, &as))
	if r.StandID != c.ID && len(r.Determinations) == 0 {
		batch.TaxonID = c.TaxonID
	}
	less := c.noWorse(&as)
	cut, err := c.cutOf(&as, today)
	switch {
	case less && (c.sameCut() || !r.AwaitsReview || err != nil):
		return c.lessen(batch, &as), nil
	case err != nil:
		return CutCorrection{}, err
	}
	if refusal := c.enterCut(&batch, cut, req.AlreadyCut || less); refusal != nil {
		return CutCorrection{}, refusal
	}
	if c.was.Share == "" && c.is.Share == "" && r.StandID == c.ID {
		batch.ShareID = r.ShareID // it was taken from it, though nothing of it is held now
	}
	batch.OverLimit = batch.OverLimit && !less
	if batch.AwaitsReview && req.AlreadyCut {
		batch.AlreadyCut, batch.Reason = true, models.Clean(req.Reason)
	}
	return CutCorrection{Batch: batch, Parents: ParentsOf(&as), Warnings: c.cutWarnings(&batch, &as, cut)}, nil
}

// lessen makes a batch whose cut no rule has to be asked about.
func (c *cutCorrector) lessen(batch models.Batch, as *models.NewBatch) CutCorrection {
	cut := c.cutAs(as)
	batch.PermitQuantity = cut.Drawn
	if !c.sameCut() {
		c.setFractions(&batch, cut)
	}
	return CutCorrection{Batch: batch, Parents: ParentsOf(as), Warnings: batchWarnings(c.history, as, false)}
}

// cutAs is the corrected cut on the permit the batch has.
func (c *cutCorrector) cutAs(as *models.NewBatch) Cut {
	cut := Cut{On: as.CollectedOn, Stems: as.StemsCut, Parents: as.ParentPlants, Tagged: as.Parents, By: models.Clean(as.CollectedBy), Logged: true}
	if c.record.PermitID == nil {
		return cut
	}
	cut.Drawn = DrawnOn(&models.Permit{PermitTerms: models.PermitTerms{Unit: c.record.PermitUnit}}, as.StemsCut, as.Cuttings, as.PermitQuantity)
	for i := range c.Permits {
		if c.Permits[i].ID == *c.record.PermitID {
			cut.Permit = &c.Permits[i]
		}
	}
	return cut
}

// sameCut says that nothing is changed that a harvest rule reads, but for the name of
// who cut.
func (c *cutCorrector) sameCut() bool {
	return c.samePlace() && c.is.StemsCut == c.was.StemsCut && c.samePlants() && c.drawn() == c.drew()
}

func (c *cutCorrector) samePlace() bool {
	return c.record.StandID == c.ID && c.is.CollectedOn == c.was.CollectedOn && models.NameKey(c.is.Share) == models.NameKey(c.was.Share) &&
		models.NameKey(c.is.Permit) == models.NameKey(c.was.Permit)
}

// noWorse says that a cut only becomes less, so that no rule has to be asked: of the
// same day, stand, permit and share, of no more stems, drawing no more, of as many
// plants or none that the per-plant cap forbids, and by someone who may cut on its
// permit.
func (c *cutCorrector) noWorse(as *models.NewBatch) bool {
	if !c.samePlace() || c.is.StemsCut > c.was.StemsCut || c.drawn() > c.drew() {
		return false
	}
	cut := c.cutAs(as)
	sameCutter := c.was.Permit == "" || models.NameKey(c.is.CollectedBy) == models.NameKey(c.was.CollectedBy)
	return (c.noFewerPlants() || allows(c.perPlant(cut), cut.Stems)) && (sameCutter || allows(c.permit(cut), cut.Stems))
}

func allows(rule models.RuleAllowed, stems int) bool {
	return rule.Allowed == nil || *rule.Allowed >= stems
}

// drew and drawn are what the cut took of its permit before, and what it takes now.
func (c *cutCorrector) drew() models.Decimal { return c.record.PermitQuantity }

func (c *cutCorrector) drawn() models.Decimal {
	if c.record.PermitID == nil {
		return 0
	}
	return DrawnOn(&models.Permit{PermitTerms: models.PermitTerms{Unit: c.record.PermitUnit}}, c.is.StemsCut, c.is.Cuttings, c.is.PermitQuantity)
}

func (c *cutCorrector) samePlants() bool {
	return orZero(c.was.ParentPlants) == orZero(c.is.ParentPlants) && len(c.was.Parents) == len(c.is.Parents) && c.noFewerPlants()
}

// noFewerPlants says that the cut is of as many plants, and of each tagged one of no
// more stems.
func (c *cutCorrector) noFewerPlants() bool {
	stems := map[string]int{}
	for _, p := range c.was.Parents {
		stems[models.NameKey(p.Tag)] = p.Stems
	}
	for _, p := range c.is.Parents {
		if p.Stems > stems[models.NameKey(p.Tag)] {
			return false
		}
	}
	tagged := len(c.is.Parents) > 0 || len(c.was.Parents) == 0
	return tagged && orZero(c.is.ParentPlants) >= orZero(c.was.ParentPlants)
}

// countPlants says of plants that are known one by one how many they are.
func countPlants(req *models.NewBatch) {
	if len(req.Parents) > 0 && req.ParentPlants == nil {
		tagged := len(req.Parents)
		req.ParentPlants = &tagged
	}
}

// retold is a batch with what is said of it now.
func retold(b, said models.Batch) models.Batch {
	if b.WaitingFrom == b.CollectedOn {
		b.WaitingFrom = said.CollectedOn
	}
	b.StandID, b.Year, b.CollectedOn = said.StandID, said.Year, said.CollectedOn
	b.StemsCut, b.Cuttings, b.ParentPlants, b.CollectedBy = said.StemsCut, said.Cuttings, said.ParentPlants, said.CollectedBy
	b.IdentifiedBy, b.Identification, b.RecordNumber, b.Purpose = said.IdentifiedBy, said.Identification, said.RecordNumber, said.Purpose
	b.Kind, b.LengthCM, b.DiameterMM, b.Nodes, b.WoodAgeYears = said.Kind, said.LengthCM, said.DiameterMM, said.Nodes, said.WoodAgeYears
	b.Health, b.HoursToWater, b.Note = said.Health, said.HoursToWater, said.Note
	return b
}

// LedgerOf is what a correction adds to ledgers: what the batch took gives back on its
// day, and takes anew on the day it was cut, each with the entry it corrects. After is
// nil for a batch that never was. From and to are the stand it was of and the one it
// is of, with what it took taken out; entries are all that stands on ledgers about it.
// Identifiers and time of entry are left to the caller.
func LedgerOf(r *models.BatchRecord, after *models.Batch, entries []models.LedgerEntry, from, to *models.StandRecord) []models.LedgerEntry {
	l := ledgerChange{batch: r.ID, told: entries}
	l.add(r.StandID, nil, r.CollectedOn, -r.StemsCut, -orZero(r.ParentPlants))
	if after != nil {
		l.add(after.StandID, nil, after.CollectedOn, after.StemsCut, orZero(after.ParentPlants))
	}
	if s := heldShare(from, r.ShareID); s != nil {
		stems, plants := sumOf(entries, s.ID)
		l.add(r.StandID, &s.ID, s.FromDay, -stems, -plants)
	}
	if after == nil {
		return l.made()
	}
	if s := heldShare(to, after.ShareID); s != nil {
		drawn := DrawShare(s, after)
		l.add(after.StandID, &s.ID, s.FromDay, drawn.Stems, drawn.Parents)
	}
	return l.made()
}

// ledgerChange gathers what a correction changes, one entry for a stand, share and day.
type ledgerChange struct {
	batch   string
	told    []models.LedgerEntry
	entries []models.LedgerEntry
}

func (l *ledgerChange) add(stand string, share *string, on models.Date, stems, parents int) {
	same := func(e models.LedgerEntry) bool {
		return e.StandID == stand && e.TakenOn == on && orEmpty(e.ShareID) == orEmpty(share)
	}
	if i := slices.IndexFunc(l.entries, same); i >= 0 {
		l.entries[i].Stems += stems
		l.entries[i].Parents += parents
		return
	}
	e := models.LedgerEntry{StandID: stand, ShareID: share, BatchID: &l.batch, TakenOn: on, Stems: stems, Parents: parents}
	for i := range l.told {
		if same(l.told[i]) {
			e.Corrects = &l.told[i].ID
		}
	}
	l.entries = append(l.entries, e)
}

func orEmpty(text *string) string {
	if text == nil {
		return ""
	}
	return *text
}

func (l *ledgerChange) made() []models.LedgerEntry {
	return slices.DeleteFunc(l.entries, func(e models.LedgerEntry) bool { return e.Stems == 0 && e.Parents == 0 })
}
