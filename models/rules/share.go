package rules

import (
	"fmt"
	"slices"

	"withybed/models"
)

// shareGrace is for how many days after its last day a crew share is held still, so
// that a crew out of signal can log what it cut.
const shareGrace = 7

// longestShare is how many days a crew share may cover: half a year.
const longestShare = 184

// ShareOver says that what is left of a crew share is released: its last day is more
// than seven days past.
func ShareOver(s *models.Share, today models.Date) bool { return today.After(HeldUntil(s)) }

// HeldUntil is the last day on which a batch can be logged on a crew share.
func HeldUntil(s *models.Share) models.Date { return s.ToDay.Add(shareGrace) }

// OverUpTo is the latest last day of the crew shares that are over on a day.
func OverUpTo(today models.Date) models.Date { return today.Add(-shareGrace - 1) }

// EnterShare makes the crew share of a request, if the stand can bear it on every one
// of its days: every rule is asked as about a cut, but for the permit, which is asked
// of each cut. Identifier, stand and time of entry are left to the caller.
func EnterShare(stand *models.StandRecord, req models.NewShare, today models.Date) (models.Share, []string, error) {
	h := newHistory(stand)
	if err := h.checkShare(&req, today); err != nil {
		return models.Share{}, nil, err
	}
	share := models.Share{
		StandID: stand.ID, Crew: models.Clean(req.Crew), Stems: req.Stems, FromDay: req.From, ToDay: req.To,
		Note: models.Clean(req.Note), SetBy: models.Clean(req.By),
	}
	if req.Parents != nil {
		share.Parents = *req.Parents
	}
	if cut := h.unborne(&share, share.FromDay); cut != nil {
		refusal := h.judgeCut(*cut)
		refusal.Detail = fmt.Sprintf("nothing is set aside for %s: %s", share.Crew, refusal.Detail)
		return models.Share{}, nil, refusal
	}
	return share, h.shareWarnings(&share), nil
}

func (h *history) checkShare(req *models.NewShare, today models.Date) error {
	var f models.Faults
	needText(&f, "crew", req.Crew, models.MaxCrew)
	checkCount(&f, "stems", req.Stems, 1)
	if req.Parents != nil {
		checkCount(&f, "parents", *req.Parents, 1)
	}
	checkText(&f, "note", req.Note, models.MaxNote)
	checkText(&f, "by", req.By, models.MaxName)
	if req.From.IsZero() {
		f.Add("invalid", "from", nil, "is missing")
	}
	if req.To.IsZero() {
		f.Add("invalid", "to", nil, "is missing")
	}
	if err := f.Err(); err != nil {
		return err
	}
	h.checkShareDays(&f, req, today)
	return f.Err()
}

func (h *history) checkShareDays(f *models.Faults, req *models.NewShare, today models.Date) {
	switch {
	case req.To.Before(req.From):
		f.Add("out-of-order", "to", req.To, "is %s, before the first day, %s", req.To, req.From)
	case req.To.Before(today):
		f.Add("invalid", "to", req.To, "is %s, and today is %s: what was cut already is logged as a batch", req.To, today)
	case req.To.Sub(req.From) >= longestShare:
		f.Add("invalid", "to", req.To, "is %s, %s after the first day, and a share covers at most %d", req.To,
			models.Counted(req.To.Sub(req.From), "day"), longestShare)
	case !h.countedBy(req.From):
		f.Add("before-first-survey", "from", req.From, "cannot be: %s", h.notCounted(req.From))
	}
	if survey, counted := h.plantsOn(req.From); counted && req.Parents == nil {
		f.Add("parents-missing", "parents", nil, "is missing: the survey of %s counted plants, so say how many the crew is to cut from", survey.SurveyedOn)
	}
}

// unborne is the cut of all stems of a share on the first of its days, from a day on,
// on which the stand cannot bear it, or nil.
func (h *history) unborne(s *models.Share, from models.Date) *Cut {
	cut := Cut{On: from, Stems: s.Stems, SetAside: true}
	if s.Parents > 0 {
		cut.Parents = &s.Parents
	}
	for _, day := range append([]models.Date{from}, h.changeDays(from, s.ToDay)...) {
		cut.On = day
		if h.weigh(cut).Allowed < cut.Stems {
			return &cut
		}
	}
	return nil
}

func (h *history) shareWarnings(s *models.Share) []string {
	var warnings []string
	if s.Parents > s.Stems {
		warnings = append(warnings, fmt.Sprintf("%s are more than the %s to be cut from them", models.Counted(s.Parents, "plant"), models.Counted(s.Stems, "stem")))
	}
	if survey, counted := h.plantsOn(s.FromDay); counted && s.Parents > *survey.Plants {
		warnings = append(warnings, fmt.Sprintf("%s are more than the %d counted on %s", models.Counted(s.Parents, "plant"), *survey.Plants, survey.SurveyedOn))
	}
	for i := range h.Shares {
		other := &h.Shares[i]
		if models.NameKey(other.Crew) == models.NameKey(s.Crew) && !other.FromDay.After(s.ToDay) && !other.ToDay.Before(s.FromDay) {
			warnings = append(warnings, fmt.Sprintf("%s has a share here from %s to %s already, with %d left: batches have to name the share by its identifier, %s",
				other.Crew, other.FromDay, other.ToDay, other.Left, other.ID))
		}
	}
	return warnings
}

// LeaveFor is what is on file about leave to cut what is set aside: a share gives
// none.
func LeaveFor(stand *models.StandRecord, s *models.Share) string {
	h := newHistory(stand)
	cut := Cut{On: s.FromDay, Stems: s.Stems}
	return h.papersOn(cut) + h.consentOn(cut)
}

// SetAside is the entry of a ledger by which the stems of a crew share are set aside.
func SetAside(s *models.Share) models.LedgerEntry {
	return models.LedgerEntry{
		StandID: s.StandID, ShareID: &s.ID, Kind: models.ShareSet, TakenOn: s.FromDay, Stems: s.Stems, Parents: s.Parents,
		EnteredBy: s.SetBy, Why: fmt.Sprintf("set aside for %s to %s", s.Crew, s.ToDay),
	}
}

// Misfits says of every crew share of a stand whose last day is not past why the
// stand cannot bear what is left of it any more, by the share's identifier. Those that
// fit are not in it.
func Misfits(stand *models.StandRecord, today models.Date) map[string]string {
	misfits := map[string]string{}
	for i := range stand.Shares {
		s := &stand.Shares[i]
		if s.Left == 0 || s.ToDay.Before(today) {
			continue
		}
		left := s.Share
		left.Stems, left.Parents = s.Left, s.LeftParents
		h := newHistory(withoutShare(stand, i))
		if cut := h.unborne(&left, models.Later(s.FromDay, today)); cut != nil {
			misfits[s.ID] = misfitWords(s, cut.On, h.weigh(*cut).Binding)
		}
	}
	return misfits
}

func misfitWords(s *models.OpenShare, on models.Date, stopped *models.Binding) string {
	text := fmt.Sprintf("the share of %s (%s left, %s to %s) no longer fits on %s: %s",
		s.Crew, models.Counted(s.Left, "stem"), s.FromDay, s.ToDay, on, stopped.Detail)
	if stopped.Code == RuleRest {
		text += "; a rest does not stop what was set aside before it, so call the crew if it is not to cut"
	}
	return text
}

// NewMisfits are what Misfits says of shares that fitted before, or did not for
// another reason, in the order of the shares.
func NewMisfits(stand *models.StandRecord, before map[string]string, today models.Date) []string {
	now := Misfits(stand, today)
	var texts []string
	for i := range stand.Shares {
		if text := now[stand.Shares[i].ID]; text != "" && text != before[stand.Shares[i].ID] {
			texts = append(texts, text)
		}
	}
	return texts
}

// ShareNotices are the words about the crew shares of a stand whose last day is past on
// a day and of which something is left. One is crossed where it ended on the day before,
// or since, which is the last one the reminder before spoke of.
func ShareNotices(stand *models.StandRecord, before, on models.Date) []models.StandNotice {
	var notices []models.StandNotice
	for i := range stand.Shares {
		s := &stand.Shares[i]
		if s.Left == 0 || !on.After(s.ToDay) {
			continue
		}
		notices = append(notices, models.StandNotice{
			Stand: stand.Code, Name: stand.Name, Crossed: !s.ToDay.Before(before),
			Text: fmt.Sprintf("%d of %s set aside for %s to %s %s neither logged nor returned: held to %s, then released",
				s.Left, models.Counted(s.Stems, "stem"), s.Crew, s.ToDay, models.Are(s.Left), HeldUntil(&s.Share)),
		})
	}
	return notices
}

// withoutShare is a stand as it would be if nothing were set aside on one of its
// shares.
func withoutShare(stand *models.StandRecord, at int) *models.StandRecord {
	without, s := *stand, &stand.Shares[at]
	without.Shares = slices.Delete(slices.Clone(stand.Shares), at, at+1)
	without.Ledger = WithStems(stand.Ledger, models.LedgerDay{TakenOn: s.FromDay, Stems: -s.Left, Parents: -s.LeftParents})
	return &without
}

// ReleaseShares gives back to a stand what is left of the crew shares that are over,
// and answers these with the day on which they ended, and the entries its ledger is to
// have for it, without identifiers and time of entry. One that was used up has no entry.
func ReleaseShares(stand *models.StandRecord, today models.Date) (over []models.Share, entries []models.LedgerEntry) {
	var open []models.OpenShare
	for _, s := range stand.Shares {
		if !ShareOver(&s.Share, today) {
			open = append(open, s)
			continue
		}
		ended := s.Share
		ended.EndedOn = HeldUntil(&ended).Add(1)
		over = append(over, ended)
		if s.Left == 0 && s.LeftParents == 0 {
			continue
		}
		entry := GiveBack(&s, models.ShareReleased, "released: the crew share of "+s.Crew+" is over")
		entries = append(entries, entry)
		stand.Ledger = WithStems(stand.Ledger, models.LedgerDay{TakenOn: entry.TakenOn, Stems: entry.Stems, Parents: entry.Parents})
	}
	stand.Shares = open
	return over, entries
}

// GiveBack is the entry of a ledger by which all that is left of a crew share is set
// aside no more.
func GiveBack(s *models.OpenShare, kind models.LedgerKind, why string) models.LedgerEntry {
	return models.LedgerEntry{
		StandID: s.StandID, ShareID: &s.ID, Kind: kind, TakenOn: s.FromDay,
		Stems: -s.Left, Parents: -s.LeftParents, Why: why,
	}
}

// ReturnShare is the entry of a ledger by which all that is left of a crew share is
// returned. One that is used up cannot be.
func ReturnShare(s *models.OpenShare, req models.NewShareReturn) (models.LedgerEntry, error) {
	var f models.Faults
	needText(&f, "by", req.By, models.MaxName)
	checkText(&f, "why", req.Why, models.MaxNote)
	if err := f.Err(); err != nil {
		return models.LedgerEntry{}, err
	}
	if s.Left == 0 {
		return models.LedgerEntry{}, models.Errorf(models.Conflict, "share-ended",
			"nothing is left of the share of %s: batches used it up", s.Crew)
	}
	why := "returned: the crew share of " + s.Crew
	if req.Why != "" {
		why += "; " + inShort(models.Clean(req.Why))
	}
	entry := GiveBack(s, models.ShareReturned, why)
	entry.EnteredBy = models.Clean(req.By)
	return entry, nil
}

// FindShare is the crew share that a text names among those of a stand on which can
// be drawn: by its identifier, or by its crew where that has one share alone. On a day
// it is the crew's share that covers the day; without a day any.
func FindShare(stand *models.StandRecord, text string, on models.Date) (*models.OpenShare, error) {
	var ofCrew []*models.OpenShare
	for i := range stand.Shares {
		s := &stand.Shares[i]
		if s.ID == text {
			return s, nil
		}
		if models.NameKey(s.Crew) == models.NameKey(text) {
			ofCrew = append(ofCrew, s)
		}
	}
	if len(ofCrew) > 1 && !on.IsZero() {
		ofCrew = slices.DeleteFunc(ofCrew, func(s *models.OpenShare) bool { return !s.Covers(on) })
	}
	switch len(ofCrew) {
	case 0:
		return nil, nil
	case 1:
		return ofCrew[0], nil
	}
	return nil, models.InvalidField("share-misfit", "share", text, "is %q, and %s has %d shares at %s: name one by its identifier, as withy share list %s shows it",
		text, ofCrew[0].Crew, len(ofCrew), stand.Code, stand.Code)
}

// namedShare is the crew share that a batch is taken from, among those of its stand
// on which can be drawn.
func (h *history) namedShare(f *models.Faults, req *models.NewBatch) *models.OpenShare {
	return shareCovering(f, h.StandRecord, models.Clean(req.Share), "collected_on", req.CollectedOn)
}

// AskedShare is the crew share that a question about a day names, found as for a batch
// cut on that day.
func AskedShare(stand *models.StandRecord, text string, on models.Date) (*models.OpenShare, error) {
	var f models.Faults
	s := shareCovering(&f, stand, models.Clean(text), "on", on)
	if err := models.AsError(f.Err()); err != nil {
		err.Detail = "that cannot be answered"
		return nil, err
	}
	return s, nil
}

// shareCovering is the crew share that a text names, which has to cover the day of a
// field; nil without a text.
func shareCovering(f *models.Faults, stand *models.StandRecord, text, field string, on models.Date) *models.OpenShare {
	if text == "" {
		return nil
	}
	s, err := FindShare(stand, text, on)
	switch {
	case err != nil:
		f.Join(err)
	case s == nil:
		f.Add("share-misfit", "share", text, "is %q, and nothing is set aside under it at %s now: it was returned or released, or is of another stand", text, stand.Code)
	case !s.Covers(on):
		f.Add("share-misfit", field, on, "is %s, and the share of %s is for %s to %s", on, s.Crew, s.FromDay, s.ToDay)
	}
	return s
}

// shareOfCrew is the share of a crew that covers a day, the one with the most left, or
// nil where nothing is left for it.
func (h *history) shareOfCrew(crew string, on models.Date) *models.OpenShare {
	var most *models.OpenShare
	for i := range h.Shares {
		s := &h.Shares[i]
		if models.NameKey(s.Crew) == models.NameKey(crew) && s.Covers(on) && s.Left > 0 && (most == nil || s.Left > most.Left) {
			most = s
		}
	}
	return most
}

// shareWords says which crew share stems are drawn on and what is left of it, and what
// to do with those beyond it, which would go to review; empty without a share.
func shareWords(s *models.OpenShare, stems int) string {
	if s == nil {
		return ""
	}
	text := fmt.Sprintf("of the share of %s, %s left, to %s", s.Crew, models.Counted(s.Left, "stem"), s.ToDay)
	if over := stems - s.Left; over > 0 {
		text += fmt.Sprintf(" (log what goes beyond it, %s, in a batch without the share)", models.Counted(over, "stem"))
	}
	return text
}

// drawn is how many of the stems of a cut its share holds for it, and how many of the
// share's plants go with them: these are counted already.
func (c *Cut) drawn() (stems, parents int) {
	if c.Share == nil || !c.Share.Covers(c.On) {
		return 0, 0
	}
	return drawOn(c.Share, c.Stems, c.Parents)
}

// drawOn is how much a cut takes of a share: as many stems and plants as are left at
// most, and all of its plants with the last stem.
func drawOn(s *models.OpenShare, stems int, plants *int) (drawn, parents int) {
	if stems >= s.Left {
		return s.Left, s.LeftParents
	}
	if plants != nil {
		parents = min(*plants, s.LeftParents)
	}
	return stems, parents
}

// beyondShare says by how much a cut goes beyond the crew share it is taken from, or
// is empty.
func beyondShare(cut Cut) string {
	if cut.Share == nil || cut.Stems <= cut.Share.Left {
		return ""
	}
	return fmt.Sprintf("%s %s cut on the share of %s, which had %d left: %d more than were set aside",
		models.Counted(cut.Stems, "stem"), models.Were(cut.Stems), cut.Share.Crew, cut.Share.Left, cut.Stems-cut.Share.Left)
}

// sayShare adds to a refusal what its crew share has left.
func sayShare(refusal *models.Error, cut Cut) *models.Error {
	if cut.Share != nil {
		refusal.Detail += fmt.Sprintf("; the share of %s has %s left", cut.Share.Crew, models.Counted(cut.Share.Left, "stem"))
	}
	return refusal
}

// DrawShare is the entry of a ledger by which a batch takes the place of what was
// set aside for it.
func DrawShare(s *models.OpenShare, batch *models.Batch) models.LedgerEntry {
	stems, parents := drawOn(s, batch.StemsCut, batch.ParentPlants)
	return models.LedgerEntry{
		StandID: s.StandID, ShareID: &s.ID, BatchID: &batch.ID, Kind: models.ShareDrawn, TakenOn: s.FromDay,
		Stems: -stems, Parents: -parents, EnteredBy: batch.CollectedBy, Why: "drawn on the crew share of " + s.Crew,
	}
}
