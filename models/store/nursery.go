package store

import (
	"encoding/json"
	"fmt"
	"time"

	"withybed/models"
)

// nurseryID is the key of the one row: a database holds one nursery.
const nurseryID = "nursery"

type nurseryRow struct {
	ID       string
	Settings models.Settings `gorm:"serializer:json"`
	Version  int
	MadeAt   time.Time
}

// Nursery is the nursery, ErrNoRow before it is made.
func (tx *Tx) Nursery() (models.Nursery, error) {
	row, err := take[nurseryRow]("read the nursery", tx.db.Table("nursery").Where("id = ?", nurseryID))
	if err != nil {
		return models.Nursery{}, err
	}
	return models.Nursery{Settings: row.Settings, MadeAt: row.MadeAt, Version: row.Version}, nil
}

// MakeNursery makes the nursery. Where there is one it is a Duplicate of
// nursery_pkey, after which Write runs again.
func (tx *Tx) MakeNursery(n models.Nursery) error {
	row := nurseryRow{ID: nurseryID, Settings: n.Settings, Version: n.Version, MadeAt: n.MadeAt}
	return tx.add("make the nursery", "nursery", &row)
}

// EditNursery writes the settings of the nursery, whose Version is the one that
// was read, and counts it up. It is ErrStale if the nursery was edited meanwhile.
func (tx *Tx) EditNursery(n models.Nursery) error {
	settings, err := json.Marshal(n.Settings)
	if err != nil {
		return fmt.Errorf("edit the nursery: %w", err)
	}
	return tx.edit("edit the nursery",
		"UPDATE nursery SET settings = ?, version = version + 1 WHERE id = ? AND version = ?",
		string(settings), nurseryID, n.Version)
}
