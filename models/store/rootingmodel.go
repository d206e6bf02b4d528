package store

import (
	"slices"

	"gorm.io/gorm"

	"withybed/models"
)

// RootingModels are the models that stood on a day, by pool: fitted by then, and
// not ended by then.
func (tx *Tx) RootingModels(on models.Date) ([]models.RootingModel, error) {
	return tx.rootingModels(tx.db.Table("rooting_models"), on)
}

// RootingModelsOf are those of one taxon.
func (tx *Tx) RootingModelsOf(taxonID string, on models.Date) ([]models.RootingModel, error) {
	return tx.rootingModels(tx.db.Table("rooting_models").Where("taxon_id = ?", taxonID), on)
}

func (tx *Tx) rootingModels(query *gorm.DB, on models.Date) ([]models.RootingModel, error) {
	// Both kinds are looked up; with OR the whole history would be gone through.
	return find[models.RootingModel]("read the models of rooting", query.
		Where(`fitted_on <= ? AND id IN (SELECT id FROM rooting_models WHERE ended_on IS NULL
			UNION ALL SELECT id FROM rooting_models WHERE ended_on > ?)`, on, on).
		Order("taxon_id, kind, treatment, heated, fitted_on"))
}

// AddRootingModels writes new models.
func (tx *Tx) AddRootingModels(fitted []models.RootingModel) error {
	return addAll(tx, "add models of rooting", "rooting_models", fitted)
}

// EndRootingModels ends models that stand, on a day.
func (tx *Tx) EndRootingModels(ids []string, on models.Date) error {
	for some := range slices.Chunk(ids, batchOfRows) {
		err := tx.db.Exec("UPDATE rooting_models SET ended_on = ? WHERE id IN (?) AND ended_on IS NULL", on, some).Error
		if err != nil {
			return explain("end models of rooting", err)
		}
	}
	return nil
}
