package rules

import (
	"fmt"

	"withybed/models"
)

// parentsWith is how many plants were cut from in the window that ends on a day,
// with those of a cut. Tagged plants count once, however often they were cut from.
func (h *history) parentsWith(cut Cut, day models.Date) int {
	all, tags := h.parents(day), map[string]bool{}
	after := day.Add(-h.ruleOn(day).WindowDays)
	for _, p := range h.Parents {
		if p.TakenOn.After(after) && !p.TakenOn.After(day) {
			tags[p.TagKey] = true
			all -= p.Batches
		}
	}
	if cut.Parents != nil {
		all += *cut.Parents
	}
	for _, p := range cut.Tagged {
		tags[models.NameKey(p.Tag)] = true
		all--
	}
	if h.heldIn(cut, day) > 0 && cut.Parents != nil {
		all -= min(*cut.Parents, cut.Share.LeftParents)
	}
	return max(0, all) + len(tags)
}

// taggedOn is the cap on each plant that is known by its tag: of none may more be
// cut in the window that ends on a day than the per-plant cap of the stems a plant
// has on average.
func (h *history) taggedOn(cut Cut, day models.Date, survey *models.Survey) models.RuleAllowed {
	if len(cut.Tagged) == 0 {
		return noLimit(RulePerPlant, "no plant is known by its tag")
	}
	rule := h.ruleOn(day)
	after := day.Add(-rule.WindowDays)
	taken := map[string]int{}
	for _, p := range h.Parents {
		if p.TakenOn.After(after) && !p.TakenOn.After(day) {
			taken[p.TagKey] += p.Stems
		}
	}
	limit := rule.PerPlantCap.FloorMul(survey.LowerBound, 1, *survey.Plants)
	allowed, worst, detail := cut.Stems, 0, ""
	for _, p := range cut.Tagged {
		before := taken[models.NameKey(p.Tag)]
		over := p.Stems - max(0, limit-before)
		if over <= 0 {
			continue
		}
		allowed -= over
		if over > worst {
			worst = over
			detail = fmt.Sprintf("%s of plant %s, where %s (%s × %s ÷ %d)", takenWords(before, limit, rule.WindowDays, day), p.Tag,
				models.Counted(p.Stems, "stem")+" "+models.Are(p.Stems)+" to be cut", rule.PerPlantCap, survey.LowerBound, *survey.Plants)
		}
	}
	if worst == 0 {
		return noLimit(RulePerPlant, "no tagged plant is over its cap")
	}
	return limited(RulePerPlant, max(0, allowed), detail)
}

// checkParents looks at the plants of a batch that are known one by one: they name
// every stem, each plant once.
func checkParents(f *models.Faults, req *models.NewBatch) {
	if len(req.Parents) == 0 {
		return
	}
	stems, cuttings, seen := 0, 0, map[string]bool{}
	for i, p := range req.Parents {
		at := fmt.Sprintf("parents[%d].", i)
		needText(f, at+"tag", p.Tag, models.MaxTag)
		checkCount(f, at+"stems", p.Stems, 1)
		checkCount(f, at+"cuttings", p.Cuttings, 0)
		checkKnown(f, at+"sex", p.Sex, models.Sexes)
		if key := models.NameKey(p.Tag); key != "" && seen[key] {
			f.Add("invalid", at+"tag", p.Tag, "is %q a second time: give each plant once", p.Tag)
		}
		seen[models.NameKey(p.Tag)] = true
		stems, cuttings = stems+p.Stems, cuttings+p.Cuttings
	}
	if stems != req.StemsCut {
		f.Add("contradiction", "parents", stems, "name %s, and stems_cut is %d", models.Counted(stems, "stem"), req.StemsCut)
	}
	if cuttings > req.Cuttings {
		f.Add("contradiction", "parents", cuttings, "name %s, and cuttings is %d", models.Counted(cuttings, "cutting"), req.Cuttings)
	}
	if req.ParentPlants != nil && *req.ParentPlants != len(req.Parents) {
		f.Add("contradiction", "parent_plants", *req.ParentPlants, "is %d, and parents names %d", *req.ParentPlants, len(req.Parents))
	}
}

// Take counts a batch that passed into what its stand holds, for the next one.
func Take(stand *models.StandRecord, batch *models.Batch, parents []models.Parent) {
	count := 0
	if batch.ParentPlants != nil {
		count = *batch.ParentPlants
	}
	stand.Ledger = WithStems(stand.Ledger, models.LedgerDay{TakenOn: batch.CollectedOn, Stems: batch.StemsCut, Parents: count})
	for _, p := range parents {
		stand.Parents = append(stand.Parents, models.ParentDay{
			TakenOn: batch.CollectedOn, TagKey: models.NameKey(p.Tag), Tag: p.Tag, Stems: p.Stems, Batches: 1,
		})
	}
	if batch.ShareID == nil {
		return
	}
	for i := range stand.Shares {
		s := &stand.Shares[i]
		if s.ID != *batch.ShareID {
			continue
		}
		drawn := DrawShare(s, batch)
		s.Left, s.LeftParents = s.Left+drawn.Stems, s.LeftParents+drawn.Parents
		stand.Ledger = WithStems(stand.Ledger, models.LedgerDay{TakenOn: drawn.TakenOn, Stems: drawn.Stems, Parents: drawn.Parents})
	}
}

// ParentsOf are the plants of a request as they are kept.
func ParentsOf(req *models.NewBatch) []models.Parent {
	var parents []models.Parent
	for _, p := range req.Parents {
		p.Tag = models.Clean(p.Tag)
		if p.Sex == "" {
			p.Sex = models.NotDetermined
		}
		parents = append(parents, p)
	}
	return parents
}
