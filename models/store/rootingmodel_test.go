package store_test

import (
	"fmt"
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

func rootingModel(n int, taxonID, fittedOn string) models.RootingModel {
	return models.RootingModel{
		ID: fmt.Sprintf("model-%04d", n), TaxonID: taxonID, Kind: models.Hardwood, Treatment: fmt.Sprintf("treatment %04d", n), Heated: "yes",
		Family: "weibull", Mu: 3.125, Sigma: 0.5, Batches: 7, Basis: "Cornus sericea, hardwood", FittedOn: day(fittedOn), EndedOn: day("2026-04-01"), MadeAt: noon,
	}
}

func TestModelsStandBetweenTheirDays(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 1)
		taxon := stands[0].TaxonID
		wantFull(t, rootingModel(1, taxon, "2026-03-01"))
		first, second := rootingModel(1, taxon, "2026-03-01"), rootingModel(2, taxon, "2026-03-10")
		first.EndedOn, second.EndedOn = models.Date{}, models.Date{}
		write(t, s, adding((*store.Tx).AddRootingModels, []models.RootingModel{first, second}, nil),
			func(tx *store.Tx) error { return tx.EndRootingModels([]string{first.ID}, day("2026-03-20")) },
			func(tx *store.Tx) error { return tx.EndRootingModels([]string{first.ID}, day("2026-03-25")) }) // it has ended
		first.EndedOn = day("2026-03-20")
		for on, want := range map[string][]models.RootingModel{
			"2026-02-28": {}, "2026-03-01": {first}, "2026-03-19": {first, second}, "2026-03-20": {second}, "2027-01-01": {second},
		} {
			read(t, s, func(tx *store.Tx) error {
				got, err := tx.RootingModels(day(on))
				wantSame(t, "the models of "+on, want, got)
				if err != nil {
					return err
				}
				got, err = tx.RootingModelsOf(taxon, day(on))
				wantSame(t, "those of the taxon", want, got)
				if others, err := tx.RootingModelsOf("another", day(on)); err != nil || len(others) > 0 {
					t.Errorf("of another taxon: %v, %v", others, err)
				}
				return err
			})
		}
	})
}

func TestManyModelsAreAdded(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		const many = 450
		_, stands := seed(t, s, 1)
		var fitted []models.RootingModel
		var ids []string
		for n := range many {
			m := rootingModel(n, stands[0].TaxonID, "2026-03-01")
			m.EndedOn = models.Date{}
			fitted, ids = append(fitted, m), append(ids, m.ID)
		}
		write(t, s, adding((*store.Tx).AddRootingModels, fitted),
			func(tx *store.Tx) error { return tx.EndRootingModels(ids[:many-1], day("2026-03-28")) })
		read(t, s, func(tx *store.Tx) error {
			got, err := tx.RootingModels(day("2026-04-01"))
			wantSame(t, "the model that stands", fitted[many-1:], got)
			return err
		})
	})
}
