package rules

import "withybed/models"

// SoakEnd is cuttings whose soak is soon over, or is over.
type SoakEnd struct {
	LastDay models.Date // on which they may still soak
	Item    models.DueItem
}

// SoakEnds are the soaks of a batch that ask to end on the day of its story: one
// for each day its cuttings were put to soak on.
func SoakEnds(r *models.BatchRecord, s *Story, set models.Settings) []SoakEnd {
	if !stillAsks(r, s) {
		return nil
	}
	a := &asker{&set.Thresholds, r, s}
	limit, _ := a.longestSoak()
	var ends []SoakEnd
	for _, w := range s.Waits {
		if w.In != models.ToSoak || w.Count == 0 {
			continue
		}
		if item, due := itemOn(r, []ask{a.soakAsk(w)}, models.FlagSoak, s.On); due {
			ends = append(ends, SoakEnd{w.Since.Add(limit), item})
		}
	}
	return ends
}
