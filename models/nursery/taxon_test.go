package nursery_test

import (
	"testing"
	"time"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

func TestBeforeTheNurseryIsMade(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		h := newHouse(t, s)
		_, err := h.Taxa(h.ctx, models.Page{})
		h.refused(err, models.Unavailable, "not-made", "run withy serve")
		_, err = h.AddTaxon(h.ctx, unkeyed, models.NewTaxon{ScientificName: "Cornus sericea"})
		h.refused(err, models.Unavailable, "not-made")
		for _, zone := range []string{"America/Nowhere", "Local"} {
			_, err = h.Make(h.ctx, nursery.Seed{TimeZone: zone})
			h.refused(err, models.Invalid, "invalid", zone)
		}
		_, err = h.Ready(h.ctx)
		h.refused(err, models.Unavailable, "not-made")
		first := must1of(h)(h.Make(h.ctx, nursery.Seed{Name: " Wrenlow  Valley "}))
		if ready, err := h.Ready(h.ctx); err != nil || ready.TimeZone != "UTC" || ready.Today != models.DateIn(h.at, time.UTC) {
			t.Errorf("%+v %v", ready, err)
		}
		second := must1of(h)(h.Make(h.ctx, nursery.Seed{Name: "Another", TimeZone: "Europe/Oslo"}))
		h.sameJSON("made twice", first, second)
		if first.Name != "Wrenlow Valley" || first.TimeZone != "UTC" || first.Version != 1 || !first.MadeAt.Equal(h.at) {
			t.Errorf("%+v", first)
		}
	})
}

func must1of(h *house) func(models.Nursery, error) models.Nursery {
	return func(n models.Nursery, err error) models.Nursery { return must(h, n, err) }
}

func TestTheStoryOfTaxa(t *testing.T) {
	each(t, func(h *house) {
		h.dogwood()
		_, err := h.AddTaxon(h.ctx, unkeyed, models.NewTaxon{ScientificName: " cornus  SERICEA"})
		h.refused(err, models.Conflict, "taken", "is there already")
		_, err = h.AddTaxon(h.ctx, unkeyed, models.NewTaxon{ScientificName: "Populus trichocarpa", SoakDays: ptr(61)})
		h.refused(err, models.Invalid, "invalid", "soak_days")
		cottonwood, err := h.AddTaxon(h.ctx, unkeyed, models.NewTaxon{ScientificName: "Populus trichocarpa", Dioecious: true})
		must(h, cottonwood, err)

		found, err := h.Taxon(h.ctx, "CORNUS sericea ")
		if must(h, found, err).CommonName != "red-osier dogwood" || found.Version != 1 || !found.EnteredAt.Equal(h.at) {
			h.t.Errorf("%+v", found)
		}
		_, err = h.Taxon(h.ctx, "Cornus sericae")
		if e := h.refused(err, models.NotFound, "no-such-taxon"); len(e.Suggestions) != 1 || e.Suggestions[0] != "Cornus sericea" {
			h.t.Errorf("near are %q", e.Suggestions)
		}

		edited, err := h.EditTaxon(h.ctx, "Cornus sericea", 1, models.TaxonEdit{SlowToRoot: models.SetTo(true), SoakDays: models.SetTo(8), CommonName: models.SetNull[string]()})
		if must(h, edited, err).Version != 2 || !edited.SlowToRoot || *edited.SoakDays != 8 || edited.CommonName != "" || edited.Family != "Cornaceae" {
			h.t.Errorf("%+v", edited)
		}
		_, err = h.EditTaxon(h.ctx, "Cornus sericea", 1, models.TaxonEdit{Protected: models.SetTo(true)})
		h.refused(err, models.Stale, "stale", "at version 2, not 1")
		_, err = h.EditTaxon(h.ctx, "Cornus alba", 1, models.TaxonEdit{})
		h.refused(err, models.NotFound, "no-such-taxon")

		list, err := h.Taxa(h.ctx, models.Page{Limit: 1})
		if must(h, list, err).Items[0].ScientificName != "Cornus sericea" || list.Next == "" {
			h.t.Errorf("%+v", list)
		}
		rest, err := h.Taxa(h.ctx, models.Page{Limit: 1, After: list.Next})
		if must(h, rest, err).Items[0].ScientificName != "Populus trichocarpa" || rest.Next != "" {
			h.t.Errorf("%+v", rest)
		}
	})
}

// A taxon that is put under protection closes its stands.
func TestProtectionStopsCuts(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		h.log(cutOf("TB-01", "2026-02-01", 4))
		edited, err := h.EditTaxon(h.ctx, "Cornus sericea", 1, models.TaxonEdit{Protected: models.SetTo(true)})
		must(h, edited, err)
		_, err = h.LogBatch(h.ctx, unkeyed, cutOf("TB-01", "2026-02-02", 4))
		if e := h.refused(err, models.Refused, "protected"); *e.Allowed != 0 || e.Binding.Code != "protection" {
			h.t.Errorf("%+v", e)
		}
	})
}
