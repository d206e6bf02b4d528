package rules

import (
	"fmt"
	"slices"
	"strings"

	"withybed/models"
)

// standUse is how far the limit of a stand is used up on a day.
type standUse struct {
	on     models.Date
	taken  int // stems in the window that ends on the day
	aside  int // of these, stems that are set aside for crews
	limit  int // stems the stand cap allows in it
	window int // days
}

func (h *history) useOn(day models.Date) standUse {
	return standUse{on: day, taken: h.taken(day), aside: h.asideIn(day), limit: h.limit(day), window: h.ruleOn(day).WindowDays}
}

// over is how many stems were taken over the limit.
func (u standUse) over() int { return max(0, u.taken-u.limit) }

// exceeded says by how much the limit is passed, or is empty.
func (u standUse) exceeded() string {
	if u.over() == 0 {
		return ""
	}
	return fmt.Sprintf("%s %s taken%s in the %s to %s, %d over the limit of %d as it is known now",
		models.Counted(u.taken, "stem"), models.Were(u.taken), u.asideWords(), models.Counted(u.window, "day"), u.on, u.over(), u.limit)
}

// words are what the window holds of what it may hold.
func (u standUse) words() string {
	return fmt.Sprintf("%d of %s %s taken%s in the %s to %s",
		u.taken, models.Counted(u.limit, "stem"), models.Are(u.taken), u.asideWords(), models.Counted(u.window, "day"), u.on)
}

// asideWords say how much of what is taken is not cut yet.
func (u standUse) asideWords() string {
	if u.aside == 0 {
		return ""
	}
	return fmt.Sprintf(", %d of them set aside for crews,", u.aside)
}

// The marks a stand passes on the way to its limit.
const (
	belowNotice = iota
	atNotice
	atLimit
	overLimit
)

func (u standUse) mark(share models.Decimal) int {
	switch {
	case u.taken == 0 || models.DecimalOf(u.taken) < share*models.Decimal(u.limit):
		return belowNotice
	case u.taken < u.limit:
		return atNotice
	case u.taken == u.limit:
		return atLimit
	}
	return overLimit
}

func (u standUse) text(mark int) string {
	text := u.words()
	switch mark {
	case atNotice:
		return text + fmt.Sprintf(", %d %%: within the count %d %s left", 100*u.taken/u.limit, u.limit-u.taken, models.Are(u.limit-u.taken))
	case atLimit:
		return text + ", 100 %: none is left"
	}
	return text + fmt.Sprintf(": %d over the limit, cut no more", u.taken-u.limit)
}

// LoadNotices is the word about a stand whose stems are taken to the notice share
// of its limit (80 % by default), to the limit, or over it, on a day; none below
// that. It is crossed where such a mark was passed since the day before, which
// is the last one the reminder before spoke of.
func LoadNotices(stand *models.StandRecord, before, on models.Date, set models.Settings) []models.StandNotice {
	h, share := newHistory(stand), set.Thresholds.NoticeShare
	now := h.useOn(on)
	mark := now.mark(share)
	if mark == belowNotice {
		return nil
	}
	return []models.StandNotice{{
		Stand: stand.Code, Name: stand.Name, Text: now.text(mark), Crossed: mark > h.useOn(before).mark(share),
	}}
}

// The marks a survey passes on the way to its end.
const (
	surveyGood = iota
	surveyExpiring
	surveyOver
)

// SurveyNotices is the word about a stand whose latest survey is no longer good
// on a day, or expires within the days of notice; none where it is good for
// longer, or the stand was never counted. It is crossed where that came about
// since the day before, which is the last one the reminder before spoke of.
func SurveyNotices(stand *models.StandRecord, before, on models.Date, set models.Settings) []models.StandNotice {
	h, notice := newHistory(stand), set.Thresholds.SurveyExpiryNotice
	mark := h.surveyMark(on, notice)
	if mark == surveyGood {
		return nil
	}
	return []models.StandNotice{{
		Stand: stand.Code, Name: stand.Name, Text: h.surveyText(on, mark), Crossed: mark > h.surveyMark(before, notice),
	}}
}

func (h *history) surveyMark(on models.Date, notice int) int {
	survey := h.latestSurvey(on)
	switch {
	case survey == nil:
		return surveyGood
	case !h.good(survey, on):
		return surveyOver
	case h.lastDayOf(survey, on).Sub(on) <= notice:
		return surveyExpiring
	}
	return surveyGood
}

// lastDayOf is the last day a survey is good on by the rule of a day.
func (h *history) lastDayOf(survey *models.Survey, on models.Date) models.Date {
	return survey.SurveyedOn.Add(h.ruleOn(on).SurveyValidDays)
}

func (h *history) surveyText(on models.Date, mark int) string {
	survey := h.latestSurvey(on)
	last := h.lastDayOf(survey, on)
	if mark == surveyExpiring {
		return fmt.Sprintf("the survey of %s is good to %s, %s more: count the stand before cutting after that",
			survey.SurveyedOn, last, models.Counted(last.Sub(on), "day"))
	}
	if event := h.disturbedBetween(survey.SurveyedOn, on); event != nil {
		return fmt.Sprintf("the survey of %s has been no good since %s (%s): nothing may be cut before a new count",
			survey.SurveyedOn, event.HappenedOn, event.Kind)
	}
	return fmt.Sprintf("the survey of %s was good to %s: nothing may be cut before a new count", survey.SurveyedOn, last)
}

// The marks a permit passes on the way to its end.
const (
	permitLong = iota
	permitEnding
	permitOver
)

// PermitNotices are words about permits that end on a day or within the days of notice
// after it, and about those that ended since the day before, which is the last one the
// reminder before spoke of. Codes are of the stands they cover, by identifier. It is
// crossed where it came about since that day.
func PermitNotices(permits []models.Permit, codes map[string]string, before, on models.Date, set models.Settings) []models.PermitNotice {
	var notices []models.PermitNotice
	for i := range permits {
		p, notice := &permits[i], set.Thresholds.PermitExpiryNotice
		mark, was := permitMark(p, on, notice), permitMark(p, before, notice)
		if mark == permitLong || mark == permitOver && was == permitOver {
			continue
		}
		notices = append(notices, models.PermitNotice{
			Permit: p.Number, EndsOn: p.ValidTo, Text: permitText(p, codes, on), Crossed: mark > was,
		})
	}
	return notices
}

func permitMark(p *models.Permit, on models.Date, notice int) int {
	switch {
	case p.ValidTo.IsZero() || p.ValidTo.Sub(on) > notice:
		return permitLong
	case p.ValidTo.Before(on):
		return permitOver
	}
	return permitEnding
}

func permitText(p *models.Permit, codes map[string]string, on models.Date) string {
	text := paperWords(p)
	switch days := p.ValidTo.Sub(on); {
	case days < 0 && p.Kind == models.ConsentPaper:
		return text + fmt.Sprintf(" ended on %s: ask them again before you cut", p.ValidTo)
	case days < 0:
		return text + fmt.Sprintf(" ended on %s: cut no more on it", p.ValidTo)
	case days == 0:
		text += fmt.Sprintf(" ends on %s, the day of this reminder", p.ValidTo)
	default:
		text += fmt.Sprintf(" ends on %s, in %s", p.ValidTo, models.Counted(days, "day"))
	}
	if p.Quantity != nil {
		text += fmt.Sprintf(", with %s of %s %s left", leftOf(p), *p.Quantity, p.Unit)
	}
	return text + ". It covers " + someCodes(p.StandIDs, codes)
}

const mostCodes = 5

// someCodes are the first few codes of stands, by code, and the number of the others.
func someCodes(ids []string, codes map[string]string) string {
	var list []string
	for _, id := range ids {
		list = append(list, codes[id])
	}
	slices.Sort(list)
	if len(list) <= mostCodes {
		return strings.Join(list, ", ")
	}
	return fmt.Sprintf("%s and %s more", strings.Join(list[:mostCodes], ", "), models.Counted(len(list)-mostCodes, "stand"))
}
