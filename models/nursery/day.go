package nursery

import (
	"context"
	"fmt"
	"maps"
	"slices"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// LogBatch logs a cutting batch, and sticks it at once where the request says so.
// What a harvest rule refuses is not stored.
func (n *Nursery) LogBatch(ctx context.Context, o Once, req models.NewBatch) (models.BatchView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.BatchView, error) {
		day := newDay(n, tx, now)
		if err := day.read([]models.NewBatch{req}); err != nil {
			return models.BatchView{}, err
		}
		if err := day.enter(req); err != nil {
			return models.BatchView{}, err
		}
		views, err := day.write()
		if err != nil {
			return models.BatchView{}, err
		}
		return views[0], nil
	})
}

// LogDay logs a day sheet of batches: all of them, or none and every problem of
// every row.
func (n *Nursery) LogDay(ctx context.Context, o Once, sheet []byte) (models.DayView, error) {
	return once(ctx, n, o, sheet, func(tx *store.Tx, now moment) (models.DayView, error) {
		none := models.DayView{}
		rows, err := models.ParseDay(sheet)
		if err != nil {
			return none, err
		}
		requests := make([]models.NewBatch, len(rows))
		for i, row := range rows {
			requests[i] = row.Batch
		}
		day := newDay(n, tx, now)
		if err := day.read(requests); err != nil {
			return none, err
		}
		var problems rules.DayProblems
		for _, row := range rows {
			problems.Unreadable(row)
			if err := day.enter(row.Batch); err != nil && !problems.Add(row, err) {
				return none, err
			}
			if day.lacks(row.Batch.Stand) {
				problems.Add(row, rules.CheckForm(row.Batch, now.today))
			}
		}
		if err := problems.Err(); err != nil {
			return none, err
		}
		views, err := day.write()
		return models.DayView{Batches: views}, err
	})
}

// day is batches being logged together: the stands they come from, read and held
// once, and what has been decided so far, which each next batch is judged with.
type day struct {
	n        *Nursery
	tx       *store.Tx
	now      moment
	stands   map[string]*models.StandRecord // by code key
	exceeded map[string]string              // what rules.Exceeded said before batches that were cut already, by code key
	same     map[standDay][]models.Batch    // stored batches of a stand and day
	beside   map[standDay][]models.Batch    // and those made here
	numbers  map[store.StandYear]int        // last number
	missing  map[string]error               // stands that are not there, by code
	codes    []string                       // of stands, to suggest one from; read once one is missing
	made     []madeBatch
	rests    []models.Rest                // that batches over a limit begin
	misfits  map[string]map[string]string // what rules.Misfits says, by code key
	misfit   []models.StandNotice         // crew shares that no longer fit by these batches
}

type standDay struct {
	stand string
	on    models.Date
}

type madeBatch struct {
	record   *models.BatchRecord
	entries  []models.LedgerEntry
	warnings []string
}

func newDay(n *Nursery, tx *store.Tx, now moment) *day {
	return &day{
		n: n, tx: tx, now: now,
		stands: map[string]*models.StandRecord{}, exceeded: map[string]string{}, missing: map[string]error{},
		same: map[standDay][]models.Batch{}, beside: map[standDay][]models.Batch{}, misfits: map[string]map[string]string{},
	}
}

// read holds the stands and reads all that the batches are judged by.
func (d *day) read(requests []models.NewBatch) error {
	var codes []string
	first := d.now.today
	for i := range requests {
		codes = append(codes, models.NameKey(requests[i].Stand))
		if on := requests[i].CollectedOn; !on.IsZero() && on.Before(first) {
			first = on
		}
	}
	against := slices.ContainsFunc(requests, func(r models.NewBatch) bool { return r.AlreadyCut })
	if since := rules.ExceededSince(d.now.today); against && since.Before(first) {
		first = since
	}
	slices.Sort(codes)
	records, err := d.tx.StandRecords(slices.Compact(codes), first)
	if err != nil {
		return err
	}
	d.now.release(records...)
	for _, record := range records {
		d.stands[record.CodeKey] = record
		d.misfits[record.CodeKey] = rules.Misfits(record, d.now.today)
		if against {
			d.exceeded[record.CodeKey] = rules.Exceeded(record, d.now.today)
		}
	}
	return d.readDays(requests)
}

// readDays reads the batches that were logged before of the same stands on the
// same days, and how far their stands have numbered.
func (d *day) readDays(requests []models.NewBatch) error {
	stands, days, years := map[string]bool{}, map[models.Date]bool{}, map[int]bool{}
	for i := range requests {
		on := requests[i].CollectedOn
		if stand := d.stands[models.NameKey(requests[i].Stand)]; stand != nil && !on.IsZero() {
			stands[stand.ID], days[on], years[on.Year()] = true, true, true
		}
	}
	if len(stands) == 0 {
		return nil
	}
	ids := slices.Sorted(maps.Keys(stands))
	same, err := d.tx.BatchesOn(ids, slices.SortedFunc(maps.Keys(days), models.Date.Compare))
	if err != nil {
		return err
	}
	for _, batch := range same {
		on := standDay{batch.StandID, batch.CollectedOn}
		d.same[on] = append(d.same[on], batch)
	}
	d.numbers, err = d.tx.LastBatchNumbers(ids, slices.Sorted(maps.Keys(years)))
	return err
}

// enter decides about one batch. What it makes counts for the next.
func (d *day) enter(req models.NewBatch) error {
	stand := d.stands[models.NameKey(req.Stand)]
	if stand == nil {
		return d.noStand(req.Stand)
	}
	unlisted, err := d.now.settle(req.PersonFields())
	if err != nil {
		return err
	}
	batch, warnings, err := rules.EnterBatch(stand, req, d.now.today)
	refusal := models.AsError(err)
	if err != nil && (refusal == nil || refusal.Kind != models.Refused) {
		return err
	}
	on := standDay{stand.ID, batch.CollectedOn}
	if err := rules.CheckTag(&batch, d.same[on], d.beside[on]); err != nil {
		return err
	}
	warnings = append(warnings, rules.SameCut(&batch, slices.Concat(d.same[on], d.beside[on]))...)
	d.name(&batch, stand)
	record := &models.BatchRecord{Batch: batch, Stand: stand.Code, Taxon: stand.Taxon, Parents: rules.ParentsOf(&req)}
	warnings = append(warnings, rules.ParentWarnings(&stand.Taxon, record.Parents, &d.now.Thresholds)...)
	if survey := surveyOf(stand, batch.SurveyID); survey != nil {
		record.Survey = survey.Brief()
	}
	nameDrawn(record, stand)
	if !req.StuckOn.IsZero() {
		more, err := d.stick(record, req)
		if err != nil {
			return err
		}
		warnings = append(warnings, more...)
	}
	if refusal != nil {
		return refusal
	}
	if record.Active, err = rules.Active(record); err != nil {
		return err
	}
	d.keep(stand, record, append(warnings, unlisted...))
	return nil
}

// nameDrawn names the permit and the crew whose share a batch draws on.
func nameDrawn(record *models.BatchRecord, stand *models.StandRecord) {
	for i := range stand.Permits {
		if p := &stand.Permits[i]; record.PermitID != nil && p.ID == *record.PermitID {
			record.Permit, record.PermitUnit = p.Number, p.Unit
		}
	}
	for i := range stand.Shares {
		if s := &stand.Shares[i]; record.ShareID != nil && s.ID == *record.ShareID {
			record.Crew = s.Crew
		}
	}
}

// lacks says that there is no stand of a code.
func (d *day) lacks(code string) bool { return d.stands[models.NameKey(code)] == nil }

// noStand is the error for a stand that is not there. A sheet may name one in
// every row, so near codes are looked for once for each.
func (d *day) noStand(code string) (err error) {
	if missing, known := d.missing[code]; known {
		return missing
	}
	if d.codes == nil {
		if d.codes, err = d.tx.StandCodes(); err != nil {
			return err
		}
	}
	d.missing[code] = unknownStand(code, d.codes)
	return d.missing[code]
}

// name gives a batch its identifier and code.
func (d *day) name(batch *models.Batch, stand *models.StandRecord) {
	year := store.StandYear{StandID: stand.ID, Year: batch.Year}
	batch.ID, batch.EnteredAt = d.n.newID(), d.now.at
	batch.HarvestID = batch.ID
	batch.Number = d.numbers[year] + 1
	batch.Code = batchCode(stand.Code, batch.Year, batch.Number)
	batch.CodeKey = models.NameKey(batch.Code)
}

func batchCode(stand string, year, number int) string {
	return fmt.Sprintf("%s-%d-%d", stand, year, number)
}

func (d *day) stick(record *models.BatchRecord, req models.NewBatch) ([]string, error) {
	count := req.Cuttings
	if req.Count != nil {
		count = *req.Count
	}
	sticking, warnings, err := rules.Stick(record, models.NewSticking{StuckOn: req.StuckOn, Count: count, Tray: req.Tray}, d.now.today)
	if err != nil {
		return nil, err
	}
	sticking.BatchID, sticking.Entry, sticking.EnteredAt = record.ID, record.Version, d.now.at
	record.Sticking = &sticking
	return warnings, nil
}

// keep notes a batch that passed, so that the next of the day is judged with it.
func (d *day) keep(stand *models.StandRecord, record *models.BatchRecord, warnings []string) {
	batch := &record.Batch
	d.made = append(d.made, madeBatch{record: record, warnings: warnings, entries: d.entries(stand, batch)})
	if batch.OverLimit {
		rest := rules.RestAfter(batch)
		rest.ID, rest.SetAt, rest.EnteredAt = d.n.newID(), d.now.at, d.now.at
		stand.Rests = append(stand.Rests, rest)
		d.rests = append(d.rests, rest)
	}
	d.draw(batch)
	rules.Take(stand, batch, record.Parents)
	on := standDay{stand.ID, batch.CollectedOn}
	d.beside[on] = append(d.beside[on], *batch)
	d.numbers[store.StandYear{StandID: stand.ID, Year: batch.Year}] = batch.Number
	d.seeShares(stand)
}

// seeShares notes the crew shares that no longer fit by the last batch.
func (d *day) seeShares(stand *models.StandRecord) {
	if notice, some := misfitNotice(stand, d.misfits[stand.CodeKey], d.now.today); some {
		last := &d.made[len(d.made)-1]
		last.warnings = append(last.warnings, notice.Text)
		d.misfit = append(d.misfit, notice)
		d.misfits[stand.CodeKey] = rules.Misfits(stand, d.now.today)
	}
}

// entries are the lines of the ledger of a batch: its cut, and what it draws on a
// crew share.
func (d *day) entries(stand *models.StandRecord, batch *models.Batch) []models.LedgerEntry {
	parents := 0
	if batch.ParentPlants != nil {
		parents = *batch.ParentPlants
	}
	entries := []models.LedgerEntry{{
		ID: d.n.newID(), StandID: stand.ID, BatchID: &batch.ID, Kind: models.Cut, TakenOn: batch.CollectedOn,
		Stems: batch.StemsCut, Parents: parents, EnteredBy: batch.CollectedBy, EnteredAt: d.now.at,
	}}
	for i := range stand.Shares {
		if s := &stand.Shares[i]; batch.ShareID != nil && s.ID == *batch.ShareID && s.Left > 0 {
			drawn := rules.DrawShare(s, batch)
			drawn.ID, drawn.EnteredAt = d.n.newID(), d.now.at
			entries = append(entries, drawn)
		}
	}
	return entries
}

// draw notes what a batch takes of its permit, at every stand the permit covers.
func (d *day) draw(batch *models.Batch) {
	if batch.PermitID == nil {
		return
	}
	for _, stand := range d.stands {
		for i := range stand.Permits {
			if p := &stand.Permits[i]; p.ID == *batch.PermitID {
				p.Drawn += batch.PermitQuantity
			}
		}
	}
}

// write stores every batch of the day, and shows them.
func (d *day) write() ([]models.BatchView, error) {
	var codes []string
	var views []models.BatchView
	var records []*models.BatchRecord
	var entries []models.LedgerEntry
	for _, made := range d.made {
		view, err := batchView(made.record, d.now, made.warnings)
		if err != nil {
			return nil, err
		}
		views, records, entries = append(views, view), append(records, made.record), append(entries, made.entries...)
		codes = append(codes, made.record.Code)
	}
	d.now.change.made(codes...)
	if err := d.n.postReviews(d.tx, d.now, records, d.newlyExceeded()); err != nil {
		return nil, err
	}
	if len(d.misfit) > 0 {
		if err := d.n.post(d.tx, d.now, misfitOccasion(d.now, d.misfit, records[0].ID)); err != nil {
			return nil, err
		}
	}
	if err := d.tx.AddBatches(records); err != nil {
		return nil, err
	}
	if err := d.tx.AddParents(d.parents()); err != nil {
		return nil, err
	}
	if err := d.tx.AddRests(d.rests); err != nil {
		return nil, err
	}
	return views, d.tx.AddLedgerEntries(entries)
}

// parents are the plants the batches of the day were cut from, where these are known
// one by one.
func (d *day) parents() (all []models.ParentTally) {
	for _, made := range d.made {
		for _, p := range made.record.Parents {
			all = append(all, models.ParentTally{
				ID: d.n.newID(), BatchID: made.record.ID, StandID: made.record.StandID, TakenOn: made.record.CollectedOn,
				TagKey: models.NameKey(p.Tag), Parent: p, EnteredAt: d.now.at,
			})
		}
	}
	return all
}

// newlyExceeded are the stands that the batches of the day took over their limit.
func (d *day) newlyExceeded() []models.StandNotice {
	var list []models.StandNotice
	for _, key := range slices.Sorted(maps.Keys(d.exceeded)) {
		if notice, over := exceededNotice(d.stands[key], d.exceeded[key], d.now.today); over {
			list = append(list, notice)
		}
	}
	return list
}

func surveyOf(stand *models.StandRecord, id *string) *models.Survey {
	if id == nil {
		return nil
	}
	for i := range stand.Surveys {
		if stand.Surveys[i].ID == *id {
			return &stand.Surveys[i]
		}
	}
	return nil
}
