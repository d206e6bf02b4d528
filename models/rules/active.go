package rules

import "withybed/models"

// Active says whether something of a batch can still fall due, on any day.
func Active(r *models.BatchRecord) (bool, error) {
	story, err := Replay(r, endOfTime)
	if err != nil {
		return false, err
	}
	return stillAsks(r, story), nil
}
