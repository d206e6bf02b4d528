package store

import "withybed/models"

// AddCorrection writes that a record was corrected, replaced or voided.
func (tx *Tx) AddCorrection(c models.Correction) error {
	if c.Before == nil {
		c.Before = map[string]any{}
	}
	if c.After == nil {
		c.After = map[string]any{}
	}
	return tx.add("add a correction of "+c.SubjectID, "corrections", &c)
}
