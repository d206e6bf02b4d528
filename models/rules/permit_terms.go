package rules

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"time"
	"unicode"

	"withybed/models"
)

// Of a permit at most so many are kept.
const (
	longestPaper = 200 // characters of where the paper is
	mostListed   = 100 // taxa, and people
	mostCovered  = 200 // stands
)

// EnterPermit makes the permit of a request, which covers some stands, and warns of
// what to look at again. Its taxa are spelt as they are kept. Identifier and time of
// entry are left to the caller.
func EnterPermit(req models.NewPermit, stands []models.CoveredStand) (models.Permit, []string, error) {
	p := models.Permit{
		Number: models.Clean(req.Number), NumberKey: models.NameKey(req.Number), PermitTerms: cleanTerms(req.PermitTerms),
		Earlier: []models.EarlierTerms{}, EnteredBy: models.Clean(req.By), Version: 1, StandIDs: standIDs(stands),
	}
	var f models.Faults
	checkPermitNumber(&f, p.Number)
	checkTerms(&f, &p.PermitTerms, stands)
	checkText(&f, "by", p.EnteredBy, models.MaxName)
	return p, permitWarnings(&p, stands), f.Err()
}

// EditPermit is a permit after a merge patch. Its terms as they were stay with it,
// with the stands it covered before. The stands are those that it covers after.
// Changed is false where everything is as it was.
func EditPermit(before models.Permit, covered, stands []models.CoveredStand, edit models.PermitEdit, at time.Time) (after models.Permit, changed bool, warnings []string, err error) {
	after = before
	after.PermitTerms, after.StandIDs = cleanTerms(patchedTerms(before.PermitTerms, &edit)), standIDs(stands)
	after.Earlier = append(slices.Clone(before.Earlier), models.EarlierTerms{
		Terms: before.PermitTerms, Stands: codesOf(covered), ChangedBy: models.Clean(edit.By), Why: models.Clean(edit.Why), ChangedAt: at,
	})
	var f models.Faults
	checkTerms(&f, &after.PermitTerms, stands)
	checkDrawn(&f, &before, &after)
	needText(&f, "why", edit.Why, models.MaxNote)
	checkText(&f, "by", edit.By, models.MaxName)
	if err := f.Err(); err != nil {
		return before, false, nil, err
	}
	if reflect.DeepEqual(before.PermitTerms, after.PermitTerms) && slices.Equal(before.StandIDs, after.StandIDs) {
		return before, false, []string{"everything is as it was, so nothing was changed"}, nil
	}
	return after, true, append(uncovered(covered, stands), permitWarnings(&after, stands)...), nil
}

// WithPermit is permits with one in place of what it was.
func WithPermit(permits []models.Permit, p models.Permit) []models.Permit {
	permits = slices.Clone(permits)
	for i := range permits {
		if permits[i].ID == p.ID {
			permits[i] = p
		}
	}
	return permits
}

func patchedTerms(t models.PermitTerms, edit *models.PermitEdit) models.PermitTerms {
	t.Kind = edit.Kind.Or(t.Kind)
	t.Issuer = edit.Issuer.Or(t.Issuer)
	t.LandManager = edit.LandManager.Or(t.LandManager)
	t.Parcels = edit.Parcels.Or(t.Parcels)
	t.Taxa = edit.Taxa.Or(t.Taxa)
	t.Quantity = patched(edit.Quantity, t.Quantity)
	t.Unit = edit.Unit.Or(t.Unit)
	t.People = edit.People.Or(t.People)
	t.ValidFrom = edit.ValidFrom.Or(t.ValidFrom)
	t.ValidTo = edit.ValidTo.Or(t.ValidTo)
	t.Conditions = edit.Conditions.Or(t.Conditions)
	t.Authority = edit.Authority.Or(t.Authority)
	t.Paper = edit.Paper.Or(t.Paper)
	if t.Kind == models.ConsentPaper && !edit.Unit.IsSet() {
		t.Unit = ""
	}
	return t
}

// cleanTerms are terms with their texts put in order, and every name once.
func cleanTerms(t models.PermitTerms) models.PermitTerms {
	for _, text := range []*string{&t.Issuer, &t.LandManager, &t.Parcels, &t.Conditions, &t.Authority, &t.Paper} {
		*text = models.Clean(*text)
	}
	t.Taxa, t.People = eachOnce(t.Taxa), eachOnce(listOf(strings.Join(t.People, ",")))
	if t.Unit == "" && t.Kind != models.ConsentPaper {
		t.Unit = models.InStems
	}
	return t
}

// eachOnce is a list of names without empty ones, each once whatever the case. It is
// never nil: it is kept as a list.
func eachOnce(names []string) []string {
	list := []string{}
	for _, name := range names {
		if name = models.Clean(name); name != "" && !containsName(list, name) {
			list = append(list, name)
		}
	}
	return list
}

func standIDs(stands []models.CoveredStand) []string {
	ids := make([]string, len(stands))
	for i, s := range stands {
		ids[i] = s.ID
	}
	slices.Sort(ids)
	return ids
}

func codesOf(stands []models.CoveredStand) []string {
	codes := make([]string, len(stands))
	for i, s := range stands {
		codes[i] = s.Code
	}
	return codes
}

// checkPermitNumber wants a number that can stand in an address.
func checkPermitNumber(f *models.Faults, number string) {
	needText(f, "number", number, models.MaxTag)
	if first := []rune(number); len(first) > 0 && !unicode.IsLetter(first[0]) && !unicode.IsDigit(first[0]) {
		f.Add("invalid", "number", number, "is %q, and must begin with a letter or a digit, such as WV-2026-12", number)
	}
}

func checkTerms(f *models.Faults, t *models.PermitTerms, stands []models.CoveredStand) {
	if t.Kind == "" {
		f.Add("invalid", "kind", nil, "is missing: it is %s", models.OneOf(models.PermitKinds))
	}
	checkKnown(f, "kind", t.Kind, models.PermitKinds)
	needText(f, "issuer", t.Issuer, models.MaxName)
	checkText(f, "land_manager", t.LandManager, models.MaxName)
	checkText(f, "parcels", t.Parcels, models.MaxNote)
	checkText(f, "conditions", t.Conditions, models.MaxNote)
	checkText(f, "authority", t.Authority, models.MaxName)
	checkText(f, "paper", t.Paper, longestPaper)
	checkNames(f, "taxa", t.Taxa)
	checkNames(f, "people", t.People)
	checkPermitDays(f, t)
	checkQuantity(f, t)
	switch n := len(stands); {
	case n == 0:
		f.Add("invalid", "stands", nil, "is missing: name at least one stand it covers")
	case n > mostCovered:
		f.Add("invalid", "stands", n, "has %d stands, and at most %d are kept", n, mostCovered)
	}
	if t.Kind == models.ConsentPaper {
		checkConsent(f, t, stands)
	}
}

func checkNames(f *models.Faults, field string, names []string) {
	if n := len(names); n > mostListed {
		f.Add("invalid", field, n, "has %d names, and at most %d are kept", n, mostListed)
	}
	for i, name := range names {
		checkText(f, fmt.Sprintf("%s[%d]", field, i), name, models.MaxName)
	}
}

func checkPermitDays(f *models.Faults, t *models.PermitTerms) {
	if t.ValidFrom.IsZero() {
		f.Add("invalid", "valid_from", nil, "is missing: the first day it holds")
	}
	if !t.ValidTo.IsZero() && t.ValidTo.Before(t.ValidFrom) {
		f.Add("out-of-order", "valid_to", t.ValidTo, "is %s, before the first day, %s", t.ValidTo, t.ValidFrom)
	}
}

// checkQuantity looks at the quantity of a permit or leave. Stems and cuttings are
// counted, bundles and kilograms may be parts.
func checkQuantity(f *models.Faults, t *models.PermitTerms) {
	checkKnown(f, "unit", t.Unit, models.PermitUnits)
	if t.Quantity == nil || t.Kind == models.ConsentPaper {
		return
	}
	q := *t.Quantity
	switch counted := t.Unit == models.InStems || t.Unit == models.InCuttings; {
	case q <= 0 || q > models.DecimalOf(models.MaxCount):
		f.Add("invalid", "quantity", q, "is %s, and must be over 0 and up to %d; leave it out where the paper sets no number", q, models.MaxCount)
	case counted && q != models.DecimalOf(q.Floor()):
		f.Add("invalid", "quantity", q, "is %s, and %s are counted in whole numbers", q, t.Unit)
	}
}

// checkConsent looks at what only a consent may be or may not be: the peoples whose
// gathering place a stand is give theirs, with terms and not by number.
func checkConsent(f *models.Faults, t *models.PermitTerms, stands []models.CoveredStand) {
	if t.Quantity != nil {
		f.Add("invalid", "quantity", *t.Quantity, "is %s, and a consent has none: write its terms into conditions", *t.Quantity)
	}
	if t.Unit != "" {
		f.Add("invalid", "unit", t.Unit, "is %q, and a consent counts nothing: leave it out", t.Unit)
	}
	if t.Authority != "" {
		f.Add("invalid", "authority", t.Authority, "is %q, and a consent is no authority over what is protected: enter that as a permit", t.Authority)
	}
	for _, s := range stands {
		if peoples := listOf(s.GatheringPlaceOf); len(peoples) > 0 && !containsName(peoples, t.Issuer) {
			f.Add("permit-misfit", "issuer", t.Issuer, "is %q, and %s is a gathering place of %s: the consent is theirs to give", t.Issuer, s.Code, s.GatheringPlaceOf)
		}
	}
}

// checkDrawn keeps what was drawn on a permit comparable with what is left of it.
func checkDrawn(f *models.Faults, before, after *models.Permit) {
	if before.Drawn == 0 {
		return
	}
	if after.Kind == models.ConsentPaper {
		f.Add("permit-drawn", "kind", after.Kind, "is consent, and batches were cut on it, which draw %s %s: enter the consent under a number of its own", before.Drawn, before.Unit)
		return
	}
	if after.Unit != before.Unit {
		f.Add("permit-drawn", "unit", after.Unit, "is %s, and batches draw %s %s on it: enter a permit that counts %s under a number of its own", after.Unit, before.Drawn, before.Unit, after.Unit)
	}
}

// uncovered warns of the stands that an edit drops: a list is the whole list.
func uncovered(before, after []models.CoveredStand) []string {
	var gone []string
	for _, code := range codesOf(before) {
		if !slices.Contains(codesOf(after), code) {
			gone = append(gone, code)
		}
	}
	if len(gone) == 0 {
		return nil
	}
	return []string{fmt.Sprintf("%s %s covered no longer", strings.Join(gone, ", "), models.Are(len(gone)))}
}

// permitWarnings say where a permit and the stands it covers do not quite go
// together.
func permitWarnings(p *models.Permit, stands []models.CoveredStand) []string {
	var warnings []string
	for _, s := range stands {
		if len(p.Taxa) > 0 && !containsName(p.Taxa, s.Taxon) {
			warnings = append(warnings, fmt.Sprintf("%s is a stand of %s, which %s does not name: nothing can be cut there on it", s.Code, s.Taxon, p.Number))
		}
		if p.LandManager != "" && s.LandManager != "" && models.NameKey(p.LandManager) != models.NameKey(s.LandManager) {
			warnings = append(warnings, fmt.Sprintf("%s is on the land of %s, and %s is for that of %s", s.Code, s.LandManager, p.Number, p.LandManager))
		}
		if p.Kind == models.ConsentPaper && s.GatheringPlaceOf == "" {
			warnings = append(warnings, fmt.Sprintf("%s is not marked as a gathering place: withy stand edit %s --gathering-place-of says whose it is", s.Code, s.Code))
		}
	}
	return warnings
}

// PermitView shows a permit as of a day, with the stands it covers by code.
func PermitView(p *models.Permit, stands []string, today models.Date) models.PermitView {
	view := models.PermitView{
		Number: p.Number, PermitTerms: p.PermitTerms, Stands: stands, Drawn: p.Drawn, Holds: holdsOn(p, today),
		Earlier: slices.Clone(p.Earlier), EnteredBy: p.EnteredBy, EnteredAt: p.EnteredAt, Warnings: []string{}, Version: p.Version,
	}
	if p.Quantity == nil {
		return view
	}
	left := leftOf(p)
	view.Left = &left
	if over := p.Drawn - *p.Quantity; over > 0 {
		view.Warnings = append(view.Warnings, fmt.Sprintf("%s %s are drawn on it, %s more than its %s", p.Drawn, p.Unit, over, *p.Quantity))
	}
	return view
}
