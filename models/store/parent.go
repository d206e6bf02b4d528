package store

import "withybed/models"

// AddParents writes what batches took of tagged plants.
func (tx *Tx) AddParents(tallies []models.ParentTally) error {
	return addAll(tx, "add parents", "parent_tallies", tallies)
}
