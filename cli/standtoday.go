package cli

import (
	"strings"

	"withybed/models"
)

// remarkOf is what stands beside a stand in a list: closed or at rest today, over its
// limit.
func remarkOf(v *models.StandView) string {
	var remarks []string
	if v.ClosedToday {
		remarks = append(remarks, "closed")
	}
	if v.AtRest {
		remarks = append(remarks, "at rest")
	}
	if v.Exceeded != "" {
		remarks = append(remarks, "exceeded")
	}
	return strings.Join(remarks, ", ")
}

// standToday says what else holds at a stand today: closures of its whole place, rests
// and a salvage, and the latest look for nests and cleaning of tools.
func (s *session) standToday(v *models.StandView) {
	for _, closure := range v.PlaceClosures {
		s.say("The whole place is c%s", strings.TrimPrefix(closureWords(closure), "C"))
	}
	if v.ClosedToday {
		s.say("Closed today: %s.", v.ClosedWhy)
	}
	for _, rest := range v.Rests {
		s.say("It %s.", restWords(&rest))
	}
	if v.Salvage != nil {
		s.say("Salvage to %s, free of caps, on the authority of %s: %s.", v.Salvage.EndsOn, v.Salvage.Authority, strings.TrimRight(v.Salvage.Why, "."))
	}
	if look := v.NestCheck; look != nil {
		s.say("Last look for nests%s: %s on %s%s.", overPlace(look), foundWords(look.NestsFound), look.CheckedOn, by(look.CheckedBy))
	}
	if c := v.ToolCleaning; c != nil {
		s.say("Tools and boots last cleaned: on %s%s (%s).", c.CleanedOn, by(c.CleanedBy), strings.TrimRight(c.How, "."))
	}
	if v.CountAgain != "" && v.Survey != nil {
		s.warn("%s: %s", v.Code, v.CountAgain)
	}
}

func overPlace(look *models.NestLook) string {
	if look.Place == "" {
		return ""
	}
	return " over the whole place"
}
