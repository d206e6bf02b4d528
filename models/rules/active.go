package rules

import "withybed/models"

// Active says whether something of a batch can still fall due: it is not closed,
// and cuttings wait to be stuck or stand alive in the tray.
func Active(r *models.BatchRecord) (bool, error) {
	story, err := Replay(r, endOfTime)
	if err != nil {
		return false, err
	}
	return story.EndedOn.IsZero() && story.Tally.Waiting()+story.Tally.Live() > 0, nil
}
