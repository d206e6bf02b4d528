package store_test

import (
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

func TestSurveysAreListedNewestFirst(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 2)
		here := stands[0]
		write(t, s, adding((*store.Tx).AddSurvey,
			survey(1, here, "2026-01-01"), survey(2, here, "2025-01-01"), survey(3, here, "2026-01-01"),
			survey(4, here, "2025-06-01"), survey(5, stands[1], "2026-01-01")))
		want := []string{survey(3, here, "2026-01-01").ID, survey(1, here, "2026-01-01").ID, survey(4, here, "2026-01-01").ID, survey(2, here, "2025-01-01").ID}
		for limit := 1; limit <= 5; limit++ {
			read(t, s, func(tx *store.Tx) error {
				list := func(p models.Page) (models.List[models.Survey], error) { return tx.Surveys(here.ID, p) }
				wantSame(t, "the list", want, pages(t, limit, list, func(x models.Survey) string { return x.ID }))
				return nil
			})
		}
	})
}

func TestABareSurveyComesBackAsItWas(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 1)
		bare := models.Survey{
			ID: "bare", StandID: stands[0].ID, SurveyedOn: day("2199-12-31"), Method: models.Ocular,
			LowerBound: models.MustDecimal("9000000000.0001"), EnteredAt: entered,
		}
		write(t, s, adding((*store.Tx).AddSurvey, bare))
		read(t, s, func(tx *store.Tx) error {
			got, err := tx.Surveys(stands[0].ID, models.Page{})
			wantSame(t, "the survey", []models.Survey{bare}, got.Items)
			return err
		})
	})
}

func TestDisturbancesComeInOrderOfDay(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 2)
		first, second, third := disturbance(3, stands[0], "2025-01-01"), disturbance(1, stands[0], "2026-01-01"), disturbance(2, stands[0], "2026-01-01")
		write(t, s, adding((*store.Tx).AddDisturbance, third, second, first, disturbance(1, stands[1], "2026-01-01")))
		read(t, s, func(tx *store.Tx) error {
			got, err := tx.Disturbances(stands[0].ID)
			wantSame(t, "the disturbances", []models.Disturbance{first, second, third}, got)
			return err
		})
	})
}
