package store_test

import (
	"errors"
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

func standRecord(t *testing.T, s *store.Store, codeKey string, from models.Date) (record *models.StandRecord) {
	t.Helper()
	read(t, s, func(tx *store.Tx) (err error) {
		record, err = tx.StandRecord(codeKey, from)
		return err
	})
	return record
}

func TestAStandComesBackWithAllThatBelongsToIt(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		kind, stands := seed(t, s, 2)
		here, there := stands[0], stands[1]
		want := &models.StandRecord{
			Stand: here, Taxon: kind,
			Rules:        []models.RuleVersion{rule(1, here), rule(2, here)},
			Closures:     []models.ClosureVersion{closures(1, here), closures(2, here)},
			Surveys:      []models.Survey{survey(2, here, "2025-09-01"), survey(3, here, "2025-09-01"), survey(1, here, "2026-09-01")},
			Disturbances: []models.Disturbance{disturbance(2, here, "2025-12-01"), disturbance(1, here, "2026-02-01")},
		}
		want.Rules[0].InForceFrom = day("2026-05-01") // entered earlier, in force later
		want.Closures[1].Closures = []models.Closure{}
		wantFull(t, here)
		wantFull(t, want.Rules[0])
		wantFull(t, want.Closures[0])
		wantFull(t, want.Surveys[0])
		wantFull(t, want.Disturbances[0])
		none := want.Closures[1]
		none.Closures = nil
		write(t, s,
			adding((*store.Tx).AddRule, want.Rules[1], want.Rules[0], rule(1, there)),
			adding((*store.Tx).AddClosures, none, want.Closures[0], closures(1, there)),
			adding((*store.Tx).AddSurvey, want.Surveys[2], want.Surveys[1], want.Surveys[0], survey(1, there, "2026-01-01")),
			adding((*store.Tx).AddDisturbance, want.Disturbances[1], want.Disturbances[0], disturbance(1, there, "2026-01-01")))
		for i := range want.Surveys { // counted on plots placed in a system, and no more is told
			want.Surveys[i].Plots, want.Surveys[i].Clumps = &models.Plots{Placement: models.Systematic}, nil
		}
		wantSame(t, "the stand", want, standRecord(t, s, here.CodeKey, models.Date{}))
		read(t, s, func(tx *store.Tx) error {
			alone, err := tx.Stand(here.CodeKey)
			wantSame(t, "the stand alone", here, alone)
			return err
		})
	})
}

func TestASurveyOfAStandIsCountedAsItWas(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 1)
		census, unsaid, chosen := survey(1, stands[0], "2025-01-01"), survey(2, stands[0], "2025-01-02"), survey(3, stands[0], "2025-01-03")
		census.Plots, census.Clumps, census.Method = nil, nil, models.Census
		unsaid.Plots = &models.Plots{Counts: []int{1}}
		chosen.Plots = &models.Plots{Counts: []int{1}, Placement: models.Chosen}
		entered := []models.Survey{census, unsaid, chosen}
		write(t, s, adding((*store.Tx).AddSurvey, entered...))
		for i, got := range standRecord(t, s, stands[0].CodeKey, models.Date{}).Surveys {
			plants, known := got.PlantsCounted()
			wantPlants, wantKnown := entered[i].PlantsCounted()
			if got.Counted() != entered[i].Counted() || plants != wantPlants || known != wantKnown {
				t.Errorf("%s: counted %t, %d plants", got.ID, got.Counted(), plants)
			}
		}
	})
}

func TestAStandWithNothingComesBack(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		kind := taxon(1)
		bare := models.Stand{ID: "s", Code: "TB", CodeKey: "tb", TaxonID: kind.ID, EnteredAt: entered}
		write(t, s, adding((*store.Tx).AddTaxon, kind), adding((*store.Tx).AddStand, bare))
		wantSame(t, "the stand", &models.StandRecord{Stand: bare, Taxon: kind}, standRecord(t, s, "tb", day("2026-01-01")))
	})
}

func TestAMissingStandIsNoRow(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		for name, look := range map[string]func(tx *store.Tx) error{
			"record": func(tx *store.Tx) error { _, err := tx.StandRecord("nowhere", models.Date{}); return err },
			"alone":  func(tx *store.Tx) error { _, err := tx.Stand("nowhere"); return err },
		} {
			if err := s.Write(background, look); !errors.Is(err, store.ErrNoRow) {
				t.Errorf("the %s says %v", name, err)
			}
		}
	})
}

func TestSeveralStandsComeInOrderOfID(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 3)
		codes := func(records []*models.StandRecord) (codes []string) {
			for _, r := range records {
				codes = append(codes, r.Code)
			}
			return codes
		}
		write(t, s, func(tx *store.Tx) error {
			some, err := tx.StandRecords([]string{stands[2].CodeKey, "nowhere", stands[0].CodeKey}, models.Date{})
			wantSame(t, "some of them", []string{"TB-0001", "TB-0003"}, codes(some))
			return err
		}, func(tx *store.Tx) error {
			none, err := tx.StandRecords(nil, models.Date{})
			if len(none) != 0 {
				t.Errorf("no codes find %d stands", len(none))
			}
			return err
		})
	})
}

// A day belongs to some window that ends on from or later if it comes after from
// less the stand's own longest window.
func TestTheLedgerIsReadFromOneWindowBefore(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 2)
		short, long := rule(1, stands[0]), rule(1, stands[1])
		short.WindowDays, long.WindowDays = 10, 20
		shorter := rule(2, stands[0])
		shorter.WindowDays = 5
		write(t, s, adding((*store.Tx).AddRule, short, shorter, long))
		for i, stand := range stands {
			for n, on := range []string{"2026-01-10", "2026-01-11", "2026-01-20", "2026-01-21", "2026-02-05"} {
				b := batch(n+1, stand, on)
				gone := ledgerEntry(20+n, b, -1)
				gone.Parents = -2
				write(t, s, adding((*store.Tx).AddBatch, b),
					adding((*store.Tx).AddLedgerEntry, ledgerEntry(n, b, 5), ledgerEntry(10+n, b, -4)))
				if on == "2026-01-21" && i == 0 { // down to no stems and no parents
					gone.Parents = -4
					write(t, s, adding((*store.Tx).AddLedgerEntry, gone))
				}
			}
		}
		moved := ledgerEntry(30, batch(6, stands[1], "2026-02-06"), 0) // parents alone
		moved.BatchID = nil
		write(t, s, adding((*store.Tx).AddLedgerEntry, moved))
		on := func(text string) models.LedgerDay { return models.LedgerDay{TakenOn: day(text), Stems: 1, Parents: 4} }
		from := day("2026-01-30")
		wantSame(t, "the short window", []models.LedgerDay{on("2026-02-05")}, standRecord(t, s, stands[0].CodeKey, from).Ledger)
		wantLong := []models.LedgerDay{on("2026-01-11"), on("2026-01-20"), on("2026-01-21"), on("2026-02-05"), {TakenOn: moved.TakenOn, Parents: 2}}
		wantSame(t, "the long window", wantLong, standRecord(t, s, stands[1].CodeKey, from).Ledger)
		wantSame(t, "no ledger asked for", []models.LedgerDay(nil), standRecord(t, s, stands[1].CodeKey, models.Date{}).Ledger)
		read(t, s, func(tx *store.Tx) error {
			both, err := tx.StandRecords([]string{stands[0].CodeKey, stands[1].CodeKey}, from)
			if err == nil {
				wantSame(t, "the short window beside the long", []models.LedgerDay{on("2026-02-05")}, both[0].Ledger)
				wantSame(t, "the long window beside the short", wantLong, both[1].Ledger)
			}
			return err
		})
	})
}

func TestStandsAreListedByCode(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		kind, other := taxon(1), taxon(2)
		elsewhere, foreign := stand(2, kind), stand(3, other)
		elsewhere.Place = "Mill Reach"
		foreign.Place = "tÅRN  bend"
		write(t, s, adding((*store.Tx).AddTaxon, kind, other), adding((*store.Tx).AddStand, foreign, elsewhere, stand(1, kind)))
		for _, ask := range []struct {
			filter models.StandFilter
			want   []string
		}{
			{models.StandFilter{}, []string{"TB-0001", "TB-0002", "TB-0003"}},
			{models.StandFilter{TaxonID: kind.ID}, []string{"TB-0001", "TB-0002"}},
			{models.StandFilter{Place: "TåRN BEND"}, []string{"TB-0001", "TB-0003"}},
			{models.StandFilter{Place: "tårn bend", TaxonID: other.ID}, []string{"TB-0003"}},
			{models.StandFilter{Place: "nowhere"}, nil},
		} {
			read(t, s, func(tx *store.Tx) error {
				got := pages(t, 1, func(p models.Page) (models.List[*models.StandRecord], error) {
					return tx.AllStandRecords(ask.filter, p, models.Date{})
				}, func(r *models.StandRecord) string { return r.Code })
				wantSame(t, "the list", ask.want, got)
				return nil
			})
		}
	})
}

func TestEveryStandGoesBeyondOnePage(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, models.MaxPage+3)
		read(t, s, func(tx *store.Tx) error {
			seen := 0
			for record, err := range tx.EveryStandRecord(day("2026-01-01")) {
				if err != nil {
					return err
				}
				if record.Code != stands[seen].Code {
					t.Fatalf("stand %d is %s, want %s", seen, record.Code, stands[seen].Code)
				}
				seen++
			}
			if seen != len(stands) {
				t.Errorf("%d stands of %d", seen, len(stands))
			}
			return nil
		}, func(tx *store.Tx) error {
			for range tx.EveryStandRecord(models.Date{}) {
				break // must not go on
			}
			codes, err := tx.StandCodes()
			if len(codes) != len(stands) || codes[0] != "TB-0001" {
				t.Errorf("%d codes from %v", len(codes), codes[:1])
			}
			return err
		})
	})
}

func TestAnEditOfAStandIsGuarded(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 1)
		edited := stands[0]
		edited.Name, edited.Place, edited.Locality, edited.LandManager = "Ny", "", "", "OP"
		edited.Latitude, edited.Longitude, edited.CoordinateUncertaintyM = nil, ptr(-0.5), nil
		edited.Sensitivity = models.ExtremeSensitivity
		write(t, s, adding((*store.Tx).EditStand, edited))
		if err := s.Write(background, adding((*store.Tx).EditStand, edited)); !errors.Is(err, store.ErrStale) {
			t.Errorf("the second edit of one version says %v", err)
		}
		edited.Version++
		wantSame(t, "the edited stand", edited, standRecord(t, s, edited.CodeKey, models.Date{}).Stand)
	})
}

func TestATakenCodeIsADuplicate(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 1)
		again := stands[0]
		again.ID = "another"
		if err := s.Write(background, adding((*store.Tx).AddStand, again)); !store.IsDuplicate(err, "stands_code_key") {
			t.Errorf("it says %v", err)
		}
	})
}
