package store_test

import (
	"errors"
	"fmt"
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

func TestATaxonComesBackAsItWas(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		full := taxon(1)
		wantFull(t, full)
		bare := models.Taxon{ID: "bare", NameKey: "salix scouleriana", ScientificName: "Salix scouleriana", EnteredAt: entered}
		write(t, s, adding((*store.Tx).AddTaxon, full, bare))
		for _, want := range []models.Taxon{full, bare} {
			read(t, s, func(tx *store.Tx) error {
				got, err := tx.TaxonByName(want.NameKey)
				wantSame(t, "the taxon", want, got)
				return err
			})
		}
	})
}

func TestAMissingTaxonIsNoRow(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		err := s.Read(background, func(tx *store.Tx) error {
			_, err := tx.TaxonByName("salix")
			return err
		})
		if !errors.Is(err, store.ErrNoRow) {
			t.Errorf("it says %v", err)
		}
	})
}

func TestATakenNameIsADuplicate(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		again := taxon(1)
		again.ID = "another"
		err := s.Write(background, adding((*store.Tx).AddTaxon, taxon(1), again))
		if !store.IsDuplicate(err, "taxa_name_key") {
			t.Errorf("it says %v", err)
		}
	})
}

func TestAnEditOfATaxonIsGuarded(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		edited := taxon(1)
		edited.CommonName, edited.Family, edited.SoakDays, edited.IdentityMarks = "", "Cornaceæ", nil, ""
		edited.Dioecious, edited.Protected, edited.SlowToRoot = false, false, false
		write(t, s, adding((*store.Tx).AddTaxon, taxon(1)), adding((*store.Tx).EditTaxon, edited))
		if err := s.Write(background, adding((*store.Tx).EditTaxon, taxon(1))); !errors.Is(err, store.ErrStale) {
			t.Errorf("the second edit of one version says %v", err)
		}
		read(t, s, func(tx *store.Tx) error {
			got, err := tx.TaxonByName(edited.NameKey)
			edited.Version++
			wantSame(t, "the edited taxon", edited, got)
			return err
		})
	})
}

// Names sort by their letters as they are coded, on both databases alike.
func TestTaxaAreListedByName(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		names := []string{"a b", "a-b", "ab", "salix", "é"}
		for i, name := range names {
			write(t, s, adding((*store.Tx).AddTaxon, models.Taxon{ID: fmt.Sprint(i), NameKey: name, ScientificName: name, EnteredAt: entered}))
		}
		read(t, s, func(tx *store.Tx) error {
			got := pages(t, 2, tx.Taxa, func(x models.Taxon) string { return x.ScientificName })
			wantSame(t, "the list", names, got)
			suggested, err := tx.TaxonNames()
			wantSame(t, "the names", names, suggested)
			return err
		})
	})
}

// pages reads a list to its end, some items at a time, and names its items.
func pages[T any](t *testing.T, limit int, list func(models.Page) (models.List[T], error), name func(T) string) (names []string) {
	t.Helper()
	page := models.Page{Limit: limit}
	for {
		got, err := list(page)
		if err != nil {
			t.Fatal(err)
		}
		if page.After != "" && len(got.Items) == 0 {
			t.Fatalf("the page after %d items is empty", len(names))
		}
		if len(got.Items) > limit || (got.Next != "" && len(got.Items) != limit) {
			t.Fatalf("a page of %d has %d items", limit, len(got.Items))
		}
		for _, item := range got.Items {
			names = append(names, name(item))
		}
		if got.Next == "" {
			return names
		}
		if page.After == got.Next || len(names) > 10*models.MaxPage {
			t.Fatalf("the list does not end after %d items", len(names))
		}
		page.After = got.Next
	}
}
