package rules

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"withybed/models"
)

// protection is the rule that protected taxa and places are cut on an authority
// alone.
func (h *history) protection(cut Cut) models.RuleAllowed {
	what := h.protectedBy()
	if what == "" {
		return noLimit(RuleProtection, "neither "+h.Taxon.ScientificName+" nor the place is marked as protected")
	}
	if p := h.bestPaper(cut); p != nil && p.Authority != "" {
		return noLimit(RuleProtection, fmt.Sprintf("%s, and may be cut on the authority of %s, permit %s", what, p.Authority, p.Number))
	}
	why := "no authority to cut it is on file"
	switch {
	case cut.Permit != nil && cut.Permit.Authority == "":
		why = paperWords(cut.Permit) + " names no authority to cut it"
	case cut.Permit != nil:
		why = h.covers(cut.Permit, cut)
	case cut.Logged:
		why = "the batch names no permit with an authority to cut it"
	}
	return limited(RuleProtection, 0, what+", and "+why)
}

// protectedBy is what protects a stand, in words, or is empty.
func (h *history) protectedBy() string {
	switch {
	case h.Taxon.Protected:
		return h.Taxon.ScientificName + " is protected"
	case h.ProtectedPlace != "":
		return "the place is protected (" + h.ProtectedPlace + ")"
	}
	return ""
}

// papers are the permits and leaves a cut may be made on: the one it names, or, as
// long as it is only asked about, all that cover the stand.
func (h *history) papers(cut Cut) []models.Permit {
	switch {
	case cut.Permit != nil:
		return []models.Permit{*cut.Permit}
	case cut.Logged:
		return nil
	}
	return slices.DeleteFunc(slices.Clone(h.Permits), func(p models.Permit) bool { return p.Kind == models.ConsentPaper })
}

// permit is the rule that a stand that is cut on a permit only is cut on one that
// covers the cut, and on no more than is left of it.
func (h *history) permit(cut Cut) models.RuleAllowed {
	needed := h.PermitRequired == models.PermitNeeded || h.protectedBy() != ""
	if cut.SetAside {
		return noLimit(RulePermit, "asked of every cut, and not of what is set aside")
	}
	if !needed && cut.Permit == nil {
		return noLimit(RulePermit, h.permitWords())
	}
	if best := h.bestPaper(cut); best != nil {
		return h.permitted(best, cut)
	}
	switch papers := h.papers(cut); {
	case len(papers) > 0:
		return h.permitted(&papers[0], cut)
	case cut.Logged:
		return limited(RulePermit, 0, "a permit is required, and the batch names none")
	}
	return limited(RulePermit, 0, "a permit is required, and none that covers the stand is on file")
}

// permitWords says what is stated of the need for a permit.
func (h *history) permitWords() string {
	if h.PermitRequired == models.PermitNotNeeded {
		return "no permit is required (" + inShort(h.PermitReason) + ")"
	}
	return "whether a permit is required is not stated"
}

// permitted is what one permit allows of a cut.
func (h *history) permitted(p *models.Permit, cut Cut) models.RuleAllowed {
	if why := h.covers(p, cut); why != "" {
		return limited(RulePermit, 0, why)
	}
	named := paperWords(p)
	if p.Quantity == nil {
		return noLimit(RulePermit, named+" sets no number")
	}
	left := leftOf(p)
	detail := fmt.Sprintf("%s of %s %s are left on %s", left, *p.Quantity, p.Unit, named)
	if p.Unit == models.InStems {
		return limited(RulePermit, left.Floor(), detail)
	}
	switch {
	case cut.Drawn > left:
		return limited(RulePermit, 0, fmt.Sprintf("%s, and %s would be drawn", detail, cut.Drawn))
	case left == 0 && !cut.Logged:
		return limited(RulePermit, 0, detail)
	}
	return noLimit(RulePermit, detail)
}

// leftOf is what is left of the quantity of a permit.
func leftOf(p *models.Permit) models.Decimal { return max(0, *p.Quantity-p.Drawn) }

// covers says why a permit does not cover a cut, or nothing where it does.
func (h *history) covers(p *models.Permit, cut Cut) string {
	named := paperWords(p)
	switch {
	case p.Kind == models.ConsentPaper:
		return named + " is a consent, and no permit"
	case !slices.Contains(p.StandIDs, h.ID):
		return fmt.Sprintf("%s does not cover %s", named, h.Code)
	case cut.On.Before(p.ValidFrom):
		return fmt.Sprintf("%s holds from %s only", named, p.ValidFrom)
	case !holdsOn(p, cut.On):
		return fmt.Sprintf("%s ended on %s", named, p.ValidTo)
	case len(p.Taxa) > 0 && !containsName(p.Taxa, h.Taxon.ScientificName):
		return fmt.Sprintf("%s does not cover %s", named, h.Taxon.ScientificName)
	case cut.By != "" && len(p.People) > 0 && !namesAll(p.People, cut.By):
		return named + " is for the people it names, and who cut is not among them"
	}
	return ""
}

// holdsOn says that a day is within those of a permit, both ends included.
func holdsOn(p *models.Permit, day models.Date) bool {
	return !day.Before(p.ValidFrom) && (p.ValidTo.IsZero() || !day.After(p.ValidTo))
}

func containsName(names []string, name string) bool {
	return slices.ContainsFunc(names, func(n string) bool { return models.NameKey(n) == models.NameKey(name) })
}

// namesAll says that everyone whom a text names is on a list. The list itself is not
// told to everyone, and neither is who is not on it.
func namesAll(people []string, text string) bool {
	for _, who := range listOf(text) {
		if !containsName(people, who) {
			return false
		}
	}
	return true
}

// listOf are the parts of a text with commas or semicolons between them.
func listOf(text string) []string {
	var parts []string
	for _, part := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ';' }) {
		if part = models.Clean(part); part != "" {
			parts = append(parts, part)
		}
	}
	return parts
}

// paperWords names a permit.
func paperWords(p *models.Permit) string {
	switch p.Kind {
	case models.LeavePaper:
		return fmt.Sprintf("the leave %s of %s", p.Number, p.Issuer)
	case models.ConsentPaper:
		return fmt.Sprintf("the consent %s of %s", p.Number, p.Issuer)
	}
	return fmt.Sprintf("permit %s of %s", p.Number, p.Issuer)
}

// DrawnOn is how much a batch draws on a permit, in its unit: its stems, its
// cuttings, or what was given where it counts bundles or kilograms.
func DrawnOn(p *models.Permit, stems, cuttings int, given *models.Decimal) models.Decimal {
	switch {
	case p.Unit == models.InCuttings:
		return models.DecimalOf(cuttings)
	case p.Unit == models.InStems || p.Unit == "":
		return models.DecimalOf(stems)
	case given != nil:
		return *given
	}
	return 0
}

// namedPermit is the permit that a batch names, among those that cover its stand, and
// how much it draws on it.
func (h *history) namedPermit(f *models.Faults, req *models.NewBatch) (*models.Permit, models.Decimal) {
	number := models.Clean(req.Permit)
	if number == "" {
		if req.PermitQuantity != nil {
			f.Add("invalid", "permit_quantity", req.PermitQuantity.String(), "goes with a permit")
		}
		return nil, 0
	}
	i := slices.IndexFunc(h.Permits, func(p models.Permit) bool { return p.NumberKey == models.NameKey(number) })
	if i < 0 {
		f.Add("permit-misfit", "permit", number, "is %q, and %s", number, h.permitsOnFile())
		return nil, 0
	}
	p := &h.Permits[i]
	weighed := p.Unit == models.InBundles || p.Unit == models.InKG
	switch {
	case p.Kind == models.ConsentPaper:
		f.Add("permit-misfit", "permit", number, "is %q, which is a consent and no permit, and %s", number, h.permitsOnFile())
		return nil, 0
	case weighed && req.PermitQuantity != nil && *req.PermitQuantity > models.DecimalOf(models.MaxCount):
		f.Add("invalid", "permit_quantity", req.PermitQuantity.String(), "is %s, and must be up to %d", req.PermitQuantity, models.MaxCount)
	case weighed && (req.PermitQuantity == nil || *req.PermitQuantity <= 0):
		f.Add("invalid", "permit_quantity", nil, "is missing: permit %s counts %s, so say how many are drawn on it", p.Number, p.Unit)
	case !weighed && req.PermitQuantity != nil:
		f.Add("invalid", "permit_quantity", req.PermitQuantity.String(), "is not needed: permit %s counts %s, which the batch has", p.Number, cmp.Or(p.Unit, models.InStems))
	}
	return p, DrawnOn(p, req.StemsCut, req.Cuttings, req.PermitQuantity)
}

// permitsOnFile says which permits cover a stand.
func (h *history) permitsOnFile() string {
	var numbers []string
	for _, p := range h.Permits {
		if p.Kind != models.ConsentPaper {
			numbers = append(numbers, p.Number)
		}
	}
	if len(numbers) == 0 {
		return "no permit on file covers " + h.Code
	}
	return fmt.Sprintf("those on file that cover %s are %s", h.Code, strings.Join(numbers, ", "))
}
