package rules

import (
	"fmt"
	"sort"
	"strings"
	"unicode"

	"withybed/models"
)

// SheetAsked is what a field sheet is made for.
type SheetAsked struct {
	On    models.Date
	Stems int // 1 to models.MaxSheetStems
	Crew  string
}

// FieldSheet is the page a crew takes to a stand: the number to stop at is what
// was asked for, or what every harvest rule allows on that day if that is less,
// the per-plant rule taken as for a crew that goes to as many plants as it needs. What
// is left of a share of the crew that covers the day is drawn on.
// Records are those of today, so a day to come is answered as if nothing more
// were entered until then. The name of the nursery is left to the caller.
func FieldSheet(stand *models.StandRecord, asked SheetAsked, today models.Date) (models.Sheet, error) {
	if err := checkSheet(asked); err != nil {
		return models.Sheet{}, err
	}
	h := newHistory(stand)
	every := models.MaxCount
	cut := Cut{On: asked.On, Stems: asked.Stems, Parents: &every, Share: h.shareOfCrew(asked.Crew, asked.On)}
	most := h.weigh(cut)
	stop := min(asked.Stems, most.Allowed)
	sheet := models.Sheet{
		Stand: h.Code, LandManager: h.LandManager, Taxon: h.Taxon.ScientificName, CommonName: h.Taxon.CommonName,
		IdentityMarks: marks(h.Taxon.IdentityMarks), On: asked.On, Season: asked.On.Season(), Crew: models.Clean(asked.Crew),
		Asked: asked.Stems, StopAt: stop, Why: h.whyFewer(cut, &most), Share: shareWords(cut.Share, stop), Binding: most.Binding, Closure: h.closure(asked.On).Detail,
		StemDefinition: h.stemDefinition(asked.On), Survey: most.Survey, Tags: []string{}, MadeOn: today,
	}
	placeOnSheet(&h.Stand, &sheet)
	sheet.Leave = h.leave(cut, &most)
	if stop > 0 {
		cut.Stems = stop
		h.spread(&sheet, cut)
	}
	sheet.Cautions = cautionsFor(&sheet)
	return sheet, nil
}

func checkSheet(asked SheetAsked) error {
	var f models.Faults
	if asked.Stems < 1 || asked.Stems > models.MaxSheetStems {
		f.Add("invalid", "stems", asked.Stems, "is %d, and must be from 1 to %d: a crew that cuts more takes two sheets", asked.Stems, models.MaxSheetStems)
	}
	needText(&f, "crew", asked.Crew, models.MaxCrew)
	return f.Err()
}

// spread says how the stems of a sheet are taken from the plants, and how they
// are tallied and tagged.
func (h *history) spread(sheet *models.Sheet, cut Cut) {
	least, plants := h.leastPlants(cut)
	sheet.LeastPlants = least
	sheet.OneIn = oneIn(h.ruleOn(sheet.On).PerPlantCap)
	sheet.ClumpRule = h.clumpRule(sheet.On, sheet.OneIn, least, plants)
	cut.Parents = &plants
	within := h.weigh(cut)
	sheet.Leave = h.leave(cut, &within)
	sheet.StemsPerBox = stemsPerBox(cut.Stems)
	sheet.Tags = bundleTags(sheet.Crew, sheet.On, cut.Stems)
}

// leastPlants is the fewest plants from which the per-plant rule lets the stems of a
// cut be taken, of the most counted for a window that holds its day, which may be by a
// later survey; both are 0 where plants were not counted.
func (h *history) leastPlants(cut Cut) (least, counted int) {
	for _, day := range h.daysAsked(cut.On) {
		if survey, known := h.plantsOn(day); known {
			counted = max(counted, *survey.Plants)
		}
	}
	if counted == 0 {
		return 0, 0
	}
	least = 1 + sort.Search(counted-1, func(i int) bool {
		from := i + 1
		cut.Parents = &from
		rule := h.perPlant(cut)
		return rule.Allowed == nil || *rule.Allowed >= cut.Stems
	})
	return least, counted
}

// oneIn is the plainest form of the per-plant cap: one stem for every ⌈1/cap⌉
// counted on a plant never takes more than the cap. Caps are over 0 and up to 1.
func oneIn(perPlant models.Decimal) int {
	one := models.DecimalOf(1)
	return int((one + perPlant - 1) / perPlant)
}

// clumpRule is the per-plant cap as cutters can keep it while they stand before a
// plant.
func (h *history) clumpRule(on models.Date, oneIn, least, plants int) string {
	noun := "plant"
	if survey, counted := h.plantsOn(on); counted && survey.Method == models.ClumpCount {
		noun = "clump"
	}
	each := fmt.Sprintf("one stem for every %d counted on it; fewer than %d, walk on", oneIn, oneIn)
	if oneIn == 1 {
		each = "no more than the stems counted on it, and rather a few"
	}
	if plants == 0 {
		return fmt.Sprintf("The plants of this stand were not counted: take a few stems from each of many plants, far apart. Count the stems of a plant first, then take %s.", each)
	}
	return fmt.Sprintf("Count the stems of a %s first, then take %s. Cut from at least %s of the %d counted, far apart.",
		noun, each, models.Counted(least, noun), plants)
}

// whyFewer says why a sheet stops before the stems asked for; empty where it does
// not.
func (h *history) whyFewer(cut Cut, most *models.Allowance) string {
	if most.Allowed >= cut.Stems {
		return ""
	}
	if most.Allowed > 0 {
		return fmt.Sprintf("%s %s asked for, and %d %s allowed: %s", models.Counted(cut.Stems, "stem"), models.Were(cut.Stems),
			most.Allowed, models.Are(most.Allowed), most.Binding.Detail)
	}
	one := cut
	one.Stems = 1
	if from := h.possibleFrom(one); from != nil {
		return fmt.Sprintf("%s; a stem would be possible from %s", most.Binding.Detail, from)
	}
	return most.Binding.Detail + "; " + h.instead(one)
}

func (h *history) stemDefinition(on models.Date) string {
	if survey := h.surveyInForce(on); survey != nil && survey.StemDefinition != "" {
		return survey.StemDefinition
	}
	return models.DefaultStemDefinition
}

// placeOnSheet says where the stand is as coarsely as its sensitivity asks. Paper
// is lost, so it never bears coordinates, of an extreme stand nothing but the
// code, and of a sensitive one no way to it.
func placeOnSheet(stand *models.Stand, sheet *models.Sheet) {
	switch stand.Sensitivity {
	case models.LowSensitivity, models.MediumSensitivity:
		sheet.StandName = stand.Name
		sheet.Place = strings.Join(nonEmpty(stand.Place, stand.Locality), ": ")
	case models.HighSensitivity:
		sheet.StandName, sheet.Place = stand.Name, stand.Place
		sheet.PlaceWithheld = "the way to it is not printed: the lead knows it"
	default:
		sheet.PlaceWithheld = "the place is not printed: the lead knows it. Keep it off maps and photographs"
	}
}

func nonEmpty(texts ...string) []string {
	var list []string
	for _, text := range texts {
		if text != "" {
			list = append(list, text)
		}
	}
	return list
}

// marks are the identity marks of a taxon one by one: each line, or each sentence
// where there is one line only.
func marks(text string) []string {
	lines := []string{}
	for line := range strings.Lines(text) {
		lines = append(lines, strings.TrimSpace(line))
	}
	if len(lines) != 1 {
		return lines
	}
	return sentences(lines[0])
}

// sentences breaks a text after a full stop before a capital letter. A stop after
// one or two letters, or after a word with another stop in it, is that of a short
// form.
func sentences(text string) []string {
	var list []string
	words := strings.Fields(text)
	from := 0
	for i, word := range words {
		last := i == len(words)-1
		if !last && !(endsSentence(word) && unicode.IsUpper([]rune(words[i+1])[0])) {
			continue
		}
		list = append(list, strings.Join(words[from:i+1], " "))
		from = i + 1
	}
	return list
}

func endsSentence(word string) bool {
	bare, stopped := strings.CutSuffix(word, ".")
	return stopped && len([]rune(bare)) > 2 && !strings.Contains(bare, ".")
}
