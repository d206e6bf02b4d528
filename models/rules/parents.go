package rules

import (
	"fmt"

	"withybed/models"
)

// onPlants is a window as the per-plant cap sees it: the stems and plants it holds, and
// the limit for so many plants.
type onPlants struct {
	stems, plants, limit int
}

func (p onPlants) left() int { return p.limit - p.stems }

// plantsAfter is what the window that ends on a day holds after a cut. What is set aside
// is left out of it as far as its own plants carry it: it may be given back, and must
// lend its plants to nobody.
func (h *history) plantsAfter(cut Cut, day models.Date, survey *models.Survey) onPlants {
	after := onPlants{stems: h.taken(day) + cut.adds(), plants: h.parentsWith(cut, day)}
	drawn, gone := cut.drawn()
	for _, s := range h.heldIn(day) {
		stems, plants := s.Left, s.LeftParents
		if cut.Share != nil && s.ID == cut.Share.ID {
			stems, plants = stems-drawn, plants-gone
		}
		if stems <= h.plantLimit(day, survey, plants) {
			after.stems, after.plants = after.stems-stems, after.plants-plants
		}
	}
	after.plants = max(0, min(after.plants, *survey.Plants))
	after.limit = h.plantLimit(day, survey, after.plants)
	return after
}

// plantLimit is the most stems of some plants in the window that ends on a day.
func (h *history) plantLimit(day models.Date, survey *models.Survey, plants int) int {
	return h.ruleOn(day).PerPlantCap.FloorMul(survey.LowerBound, plants, *survey.Plants)
}

// parentsOn is the cap on the plants cut from in the window that ends on a day.
func (h *history) parentsOn(cut Cut, day models.Date, survey *models.Survey) models.RuleAllowed {
	before, after := h.plantsAfter(Cut{On: cut.On}, day, survey), h.plantsAfter(cut, day, survey)
	return h.plantsAllow(cut, day, survey, before.left(), after)
}

// allPlantsOn is the cap on all plants that were counted, with everything that is set
// aside.
func (h *history) allPlantsOn(cut Cut, day models.Date, survey *models.Survey) models.RuleAllowed {
	every := *survey.Plants
	after := onPlants{stems: h.taken(day) + cut.adds(), plants: every, limit: h.plantLimit(day, survey, every)}
	return h.plantsAllow(cut, day, survey, after.left()+cut.adds(), after)
}

func (h *history) plantsAllow(cut Cut, day models.Date, survey *models.Survey, before int, after onPlants) models.RuleAllowed {
	rule := h.ruleOn(day)
	return limited(RulePerPlant, max(0, cut.within(before, after.left())), fmt.Sprintf(
		"%s from %d of the %d plants counted on %s (%s × %s ÷ %d × %d)",
		standUse{on: day, taken: after.stems - cut.adds(), limit: after.limit, window: rule.WindowDays}.words(), after.plants, *survey.Plants, survey.SurveyedOn,
		rule.PerPlantCap, survey.LowerBound, *survey.Plants, after.plants))
}

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
	_, drawn := cut.drawn()
	return max(0, all-drawn) + len(tags)
}

// taggedOn is the cap on each plant that is known by its tag: of none may more be
// cut in the window that ends on a day than the per-plant cap of the stems a plant
// has on average.
func (h *history) taggedOn(cut Cut, day models.Date, survey *models.Survey) models.RuleAllowed {
	if len(cut.Tagged) == 0 {
		return noLimit(RulePerPlant, "no plant is known by its tag")
	}
	limit := h.plantLimit(day, survey, 1)
	taken := h.takenOfTags(day)
	allowed, worst, detail := cut.Stems, 0, ""
	for i := range cut.Tagged {
		p := &cut.Tagged[i]
		before := taken[models.NameKey(p.Tag)]
		over := p.Stems - max(0, limit-before)
		if over <= 0 {
			continue
		}
		allowed -= over
		if over > worst {
			worst, detail = over, h.tagWords(p, before, limit, day, survey)
		}
	}
	if worst == 0 {
		return noLimit(RulePerPlant, "no tagged plant is over its cap")
	}
	return limited(RulePerPlant, max(0, allowed), detail)
}

// takenOfTags is what the window that ends on a day holds of each tagged plant.
func (h *history) takenOfTags(day models.Date) map[string]int {
	taken, after := map[string]int{}, day.Add(-h.ruleOn(day).WindowDays)
	for _, p := range h.Parents {
		if p.TakenOn.After(after) && !p.TakenOn.After(day) {
			taken[p.TagKey] += p.Stems
		}
	}
	return taken
}

// tagWords says why no more may be cut from a tagged plant. Where plants are so small
// on average that their cap is less than one stem, it says from which cap on a stem
// could be cut from each.
func (h *history) tagWords(p *models.Parent, before, limit int, day models.Date, survey *models.Survey) string {
	rule, plants := h.ruleOn(day), *survey.Plants
	if limit > 0 {
		return fmt.Sprintf("%s of plant %s, where %s to be cut (%s × %s ÷ %d)", standUse{on: day, taken: before, limit: limit, window: rule.WindowDays}.words(), p.Tag,
			models.Counted(p.Stems, "stem")+" "+models.Are(p.Stems), rule.PerPlantCap, survey.LowerBound, plants)
	}
	text := fmt.Sprintf("no stem of any one plant: the %s counted on %s have %.1f stems each on average by the lower bound, and %s of that is less than one stem",
		models.Counted(plants, "plant"), survey.SurveyedOn, survey.LowerBound.Float()/float64(plants), rule.PerPlantCap)
	if least, is := oneStemCap(survey.LowerBound, plants); is {
		text += fmt.Sprintf("; a per-plant cap of %s would let one be cut from each, if the coordinator and the land manager find that it fits plants of this size", least)
	}
	return text
}

// oneStemCap is the least cap by which a stem may be cut from each of some plants;
// there is none where they have less than one each.
func oneStemCap(bound models.Decimal, plants int) (models.Decimal, bool) {
	one := models.DecimalOf(1)
	if bound < models.DecimalOf(plants) {
		return 0, false
	}
	return (one*models.DecimalOf(plants) + bound - 1) / bound, true
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
