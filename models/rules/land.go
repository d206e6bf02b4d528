package rules

import (
	"slices"
	"time"

	"withybed/models"
)

// LandSince is the day from which the ledgers of stands are read for a page about a
// period: one window before it, the longest of any.
func LandSince(stands []*models.StandRecord, from models.Date) models.Date {
	longest := 0
	for _, s := range stands {
		longest = max(longest, newHistory(s).longestWindow())
	}
	return from.Add(1 - longest)
}

// LandStand is a stand on the page of a land manager: what its ledger holds in a period,
// to the stem, and what is left and what holds on the day it is made. Instants are told
// as days of a place.
func LandStand(r *models.LandRecord, from, to, today models.Date, place *time.Location) models.LandStand {
	h := newHistory(r.StandRecord)
	stand := models.LandStand{
		Stand: r.Code, Name: r.Name, Taxon: r.Taxon.ScientificName, CommonName: r.Taxon.CommonName, Place: r.Place,
		StandUse: h.use(today), Kinds: []models.LandKind{}, Cuts: []models.LandCut{}, Beyond: []models.LandOver{},
		Shares: []models.LandShare{}, Permits: landPermits(r, from, to, today), NestLook: h.lastLook(today), Cleaning: r.Cleaning,
		Course: Course(r.StandRecord, from, to, today),
	}
	for i := range r.Shares {
		s := &r.Shares[i]
		stand.Shares = append(stand.Shares, models.LandShare{Crew: s.Crew, From: s.FromDay, To: s.ToDay, Left: s.Left})
	}
	for i := range r.Entries {
		if e := &r.Entries[i]; !e.TakenOn.Before(from) && !e.TakenOn.After(to) {
			tellEntry(&stand, e)
		}
	}
	for _, day := range h.ledger.daysIn(from.Add(-1), to) {
		if use := h.useOn(day); use.over() > 0 && h.salvageOn(day) == nil { // no limit holds on days of salvage
			stand.Beyond = append(stand.Beyond, tookOver(r, use, place))
		}
	}
	return stand
}

// LandTotals adds up what was taken of stands.
func LandTotals(stands []models.LandStand) models.LandTotals {
	totals := models.LandTotals{}
	for i := range stands {
		totals.Add(stands[i].Totals)
	}
	return totals
}

// tellEntry counts an entry of the period, and shows it unless it only sets aside.
func tellEntry(stand *models.LandStand, e *models.LandEntry) {
	at := slices.IndexFunc(stand.Kinds, func(k models.LandKind) bool { return k.Kind == e.Kind })
	if at < 0 {
		at = len(stand.Kinds)
		stand.Kinds = append(stand.Kinds, models.LandKind{Kind: e.Kind})
	}
	stand.Kinds[at].Entries++
	stand.Kinds[at].Stems += e.Stems
	totals := totalsOf(e)
	stand.Totals.Add(totals)
	if e.ShareID != nil {
		return
	}
	cut := models.LandCut{
		On: e.TakenOn, Stems: e.Stems, Kind: e.Kind, Ours: totals.Others == 0, Batch: e.Batch, By: e.EnteredBy,
		Permit: e.Permit, RefusedBy: e.RefusedBy, ToReview: e.AwaitsReview, Note: e.Why,
	}
	stand.Cuts = append(stand.Cuts, cut)
}

// totalsOf says what the stems of an entry count as. What a correction or a void gives
// back counts as what it corrects.
func totalsOf(e *models.LandEntry) models.LandTotals {
	t := models.LandTotals{All: e.Stems}
	switch {
	case e.ShareID != nil:
		t.SetAside = e.Stems
	case e.BatchID != nil && e.RefusedBy != "":
		t.Ours, t.Against = e.Stems, e.Stems
	case e.BatchID != nil:
		t.Ours, t.Within = e.Stems, e.Stems
	case e.Kind == models.EarlierCut || e.CorrectedKind == models.EarlierCut:
		t.Ours, t.Earlier = e.Stems, e.Stems
	default:
		t.Others = e.Stems
	}
	return t
}

// landPermits are the permits and leaves that hold in a period or on a day. A consent is
// between the nursery and the people who gave it, and stands on no page that leaves the
// house.
func landPermits(r *models.LandRecord, from, to, today models.Date) []models.LandPermit {
	permits := []models.LandPermit{}
	first, last := from, models.Later(to, today)
	if today.Before(first) {
		first = today
	}
	for i := range r.Permits {
		p := &r.Permits[i]
		if p.Kind == models.ConsentPaper || p.ValidFrom.After(last) || !p.ValidTo.IsZero() && p.ValidTo.Before(first) {
			continue
		}
		shown := models.LandPermit{Number: p.Number, Kind: p.Kind, Issuer: p.Issuer, ValidFrom: p.ValidFrom, ValidTo: p.ValidTo, Quantity: p.Quantity, Unit: p.Unit}
		if p.Quantity != nil {
			left := leftOf(p)
			shown.Left = &left
		}
		permits = append(permits, shown)
	}
	return permits
}
