package store_test

import (
	"fmt"
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

func rest(n int, s models.Stand) models.Rest {
	return models.Rest{
		ID: fmt.Sprintf("rest-%s-%04d", s.ID, n), StandID: s.ID, StartsOn: day("2026-02-01").Add(n), EndsOn: day("2026-10-31"),
		Why: "browsed «hard»\nin winter", SetBy: "OP", SetAt: entered.Add(-3600e9), EnteredAt: entered,
	}
}

func salvage(n int, s models.Stand) models.SalvagePeriod {
	return models.SalvagePeriod{
		ID: fmt.Sprintf("salvage-%s-%04d", s.ID, n), StandID: s.ID, StartsOn: day("2026-02-01").Add(n), EndsOn: day("2026-03-15"),
		Authority: "Wrenlow Valley Roads", Why: "a new bridge", SetBy: "OP", EnteredAt: entered,
	}
}

func nestCheck(n int, s models.Stand, on string) models.NestLook {
	return models.NestLook{
		ID: fmt.Sprintf("nests-%04d", n), StandID: &s.ID, CheckedOn: day(on), NestsFound: true, CheckedBy: "RQ", Note: "a wren", EnteredAt: entered,
	}
}

func placeCheck(n int, place, on string) models.NestLook {
	return models.NestLook{
		ID: fmt.Sprintf("nests-%04d", n), Place: place, PlaceKey: models.NameKey(place), CheckedOn: day(on), CheckedBy: "TS", EnteredAt: entered,
	}
}

func placeClosures(n int, place string) models.PlaceClosureVersion {
	return models.PlaceClosureVersion{
		ID: fmt.Sprintf("place-%04d", n), Place: place, PlaceKey: models.NameKey(place),
		Closures:    []models.Closure{{From: "04-15", To: "07-31", Reason: "birds nest", EveryYear: true, Kind: models.NestCheck}},
		InForceFrom: day("2026-01-01").Add(n), Why: "asked for", SetBy: "parks", EnteredAt: entered,
	}
}

func cleaning(n int, s models.Stand, on string) models.ToolCleaning {
	return models.ToolCleaning{
		ID: fmt.Sprintf("cleaning-%s-%04d", s.ID, n), StandID: s.ID, CleanedOn: day(on), CleanedBy: "RQ", How: "brushed, then alcohol ✓", EnteredAt: entered,
	}
}

// replaced is a correction that takes a record out of what stands.
func replaced(id string, s models.Stand, subject models.Subject, by string) models.Correction {
	c := models.Correction{
		ID: "correction of " + id, StandID: s.ID, Subject: subject, SubjectID: id, Before: map[string]any{}, After: map[string]any{},
		Why: "it grew well", CorrectedBy: "OP", EnteredAt: entered.Add(60e9),
	}
	c.Void = by == ""
	if by != "" {
		c.ReplacedBy = &by
	}
	return c
}

// What is kept of a stand comes back with it, without what was replaced or voided; what
// was known before that is still there.
func TestWhatIsKeptOfAStandComesBackWithIt(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 2)
		here, there := stands[0], stands[1]
		begun := batch(1, here, "2026-01-17")
		rests := []models.Rest{rest(1, here), rest(2, here), rest(3, here)}
		rests[1].BatchID, rests[2].EndsOn = &begun.ID, models.Date{}
		salvages := []models.SalvagePeriod{salvage(1, here), salvage(2, here)}
		looks := []models.NestLook{placeCheck(1, here.Place, "2026-03-02"), nestCheck(2, here, "2026-03-02"), nestCheck(3, here, "2026-03-01")}
		closed := []models.PlaceClosureVersion{placeClosures(1, here.Place), placeClosures(2, here.Place)}
		closed[1].Closures = nil
		wantFull(t, rests[1])
		wantFull(t, salvages[0])
		wantFull(t, looks[1], "Place", "PlaceKey")
		wantFull(t, closed[0])
		write(t, s, adding((*store.Tx).AddBatch, begun), adding((*store.Tx).AddRests, rests, []models.Rest{rest(1, there)}),
			adding((*store.Tx).AddSalvage, salvages[1], salvages[0], salvage(1, there)),
			adding((*store.Tx).AddNestCheck, looks[0], looks[1], looks[2], nestCheck(4, there, "2026-03-01"), placeCheck(5, "Elsewhere", "2026-03-01")),
			adding((*store.Tx).AddPlaceClosures, closed[1], closed[0], placeClosures(3, "Elsewhere")))

		closed[1].Closures = []models.Closure{}
		before := standRecord(t, s, here.CodeKey, day("2026-01-17"))
		wantSame(t, "the rests", rests, before.Rests)
		wantSame(t, "the salvages", salvages, before.Salvages)
		wantSame(t, "the looks for nests", []models.NestLook{looks[2], looks[0], looks[1]}, before.NestChecks)
		wantSame(t, "the closures of the place", closed, before.PlaceClosures)

		write(t, s, adding((*store.Tx).AddCorrection, replaced(rests[0].ID, here, models.OfRest, rests[1].ID),
			replaced(salvages[1].ID, here, models.OfSalvage, ""), replaced(looks[1].ID, here, models.OfNestCheck, "")))
		after := standRecord(t, s, here.CodeKey, day("2026-01-17"))
		wantSame(t, "the rests that stand", rests[1:], after.Rests)
		wantSame(t, "the salvages that stand", salvages[:1], after.Salvages)
		wantSame(t, "the looks that stand", []models.NestLook{looks[2], looks[0]}, after.NestChecks)
		read(t, s, func(tx *store.Tx) error {
			known, err := tx.AsKnown(entered.Add(30e9)).StandRecord(here.CodeKey, day("2026-01-17"))
			wantSame(t, "the rests that were known", rests, known.Rests)
			wantSame(t, "the looks that were known", 3, len(known.NestChecks))
			return err
		})
	})
}

// What ended before the day asked about is left behind: no look for nests that is good no
// more, and no rest or salvage that is over.
func TestWhatIsOverIsNotReadWithAStand(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 1)
		here := stands[0]
		salvages := []models.SalvagePeriod{salvage(1, here), salvage(2, here)}
		rests := []models.Rest{rest(1, here), rest(2, here), rest(3, here)}
		salvages[0].EndsOn, salvages[1].EndsOn = day("2026-06-09"), day("2026-06-10")
		rests[0].EndsOn, rests[1].EndsOn, rests[2].EndsOn = day("2026-06-09"), day("2026-06-10"), models.Date{}
		write(t, s, adding((*store.Tx).AddRests, rests), adding((*store.Tx).AddSalvage, salvages...), adding((*store.Tx).AddNestCheck,
			nestCheck(1, here, "2026-06-02"), nestCheck(2, here, "2026-06-03"), placeCheck(3, here.Place, "2026-06-02"), placeCheck(4, here.Place, "2026-06-03")))
		for from, want := range map[models.Date][3]int{day("2026-06-10"): {2, 1, 2}, day("2026-06-09"): {3, 2, 4}, {}: {3, 2, 0}} {
			got := standRecord(t, s, here.CodeKey, from)
			if len(got.Rests) != want[0] || len(got.Salvages) != want[1] || len(got.NestChecks) != want[2] {
				t.Errorf("for %s and later %d rests, %d salvages and %d looks are read, want %v", from, len(got.Rests), len(got.Salvages), len(got.NestChecks), want)
			}
		}
	})
}

// A rest that does not say when it was first set was set when it was entered.
func TestARestWasSetWhenItWasEntered(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 1)
		plain := rest(1, stands[0])
		plain.SetAt = models.Rest{}.SetAt
		write(t, s, adding((*store.Tx).AddRests, []models.Rest{plain}))
		if got := standRecord(t, s, stands[0].CodeKey, models.Date{}).Rests[0]; !got.SetAt.Equal(entered) {
			t.Errorf("it was set at %v", got.SetAt)
		}
	})
}

// Lists of what is kept come the latest entered first, page by page, with what was
// replaced or voided.
func TestWhatIsKeptIsListedLatestFirst(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 2)
		here, there := stands[0], stands[1]
		for n := range 4 {
			write(t, s, adding((*store.Tx).AddRests, []models.Rest{rest(n, here)}), adding((*store.Tx).AddSalvage, salvage(n, here)),
				adding((*store.Tx).AddNestCheck, nestCheck(2*n, here, "2026-03-01"), placeCheck(2*n+1, here.Place, "2026-03-02")),
				adding((*store.Tx).AddToolCleaning, cleaning(n, here, "2026-03-01")))
		}
		wantFull(t, cleaning(0, here, "2026-03-01"))
		write(t, s, adding((*store.Tx).AddRests, []models.Rest{rest(1, there)}), adding((*store.Tx).AddSalvage, salvage(1, there)),
			adding((*store.Tx).AddNestCheck, nestCheck(90, there, "2026-03-01"), placeCheck(91, "Elsewhere", "2026-03-01")),
			adding((*store.Tx).AddToolCleaning, cleaning(1, there, "2026-03-01")),
			adding((*store.Tx).AddCorrection, replaced(rest(2, here).ID, here, models.OfRest, rest(3, here).ID)))
		read(t, s, func(tx *store.Tx) error {
			rests := func(p models.Page) (models.List[models.Rest], error) { return tx.Rests(here.ID, p) }
			wantSame(t, "the rests", []string{rest(3, here).ID, rest(2, here).ID, rest(1, here).ID, rest(0, here).ID}, pages(t, 1, rests, func(r models.Rest) string { return r.ID }))
			salvages := func(p models.Page) (models.List[models.SalvagePeriod], error) { return tx.Salvages(here.ID, p) }
			wantSame(t, "the salvages", []string{salvage(3, here).ID, salvage(2, here).ID, salvage(1, here).ID, salvage(0, here).ID}, pages(t, 2, salvages, func(r models.SalvagePeriod) string { return r.ID }))
			looks := func(p models.Page) (models.List[models.NestLook], error) {
				return tx.NestChecks(here.ID, models.NameKey(here.Place), p)
			}
			wantSame(t, "the looks", []string{"nests-0007", "nests-0006", "nests-0005", "nests-0004", "nests-0003", "nests-0002", "nests-0001", "nests-0000"}, pages(t, 2, looks, func(l models.NestLook) string { return l.ID }))
			cleanings := func(p models.Page) (models.List[models.ToolCleaning], error) { return tx.ToolCleanings(here.ID, p) }
			wantSame(t, "the cleanings", []string{cleaning(3, here, "2026-03-01").ID, cleaning(2, here, "2026-03-01").ID, cleaning(1, here, "2026-03-01").ID, cleaning(0, here, "2026-03-01").ID}, pages(t, 3, cleanings, func(c models.ToolCleaning) string { return c.ID }))
			whole, err := tx.ToolCleanings(here.ID, models.Page{})
			wantSame(t, "a cleaning", cleaning(3, here, "2026-03-01"), whole.Items[0])
			return err
		}, func(tx *store.Tx) error {
			nowhere, err := tx.NestChecks(there.ID, "", models.Page{})
			wantSame(t, "the looks at a stand without a place", []string{"nests-0090"}, []string{nowhere.Items[0].ID})
			return err
		})
	})
}

// The latest cleaning is that of the latest day up to the one asked about, of one day
// the later entered.
func TestTheLatestCleaningOfEachStand(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 3)
		a, b, none := stands[0], stands[1], stands[2]
		write(t, s, adding((*store.Tx).AddToolCleaning, cleaning(1, a, "2026-03-05"), cleaning(2, a, "2026-03-01"), cleaning(3, a, "2026-03-01"),
			cleaning(4, a, "2026-03-09"), cleaning(6, b, "2026-03-06")))
		ids := []string{a.ID, b.ID, none.ID}
		for upTo, want := range map[string]map[string]models.ToolCleaning{
			"2026-02-28": {},
			"2026-03-01": {a.ID: cleaning(3, a, "2026-03-01")},
			"2026-03-08": {a.ID: cleaning(1, a, "2026-03-05"), b.ID: cleaning(6, b, "2026-03-06")},
			"2026-03-09": {a.ID: cleaning(4, a, "2026-03-09"), b.ID: cleaning(6, b, "2026-03-06")},
		} {
			read(t, s, func(tx *store.Tx) error {
				got, err := tx.LastToolCleaning(ids, day(upTo))
				wantSame(t, "up to "+upTo, want, got)
				return err
			})
		}
		read(t, s, func(tx *store.Tx) error {
			got, err := tx.LastToolCleaning(nil, day("2026-03-09"))
			wantSame(t, "of no stand", map[string]models.ToolCleaning{}, got)
			return err
		})
	})
}

// A place is found by its stands, however they spell it, and they are held in order of
// id.
func TestThePlaceOfStands(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		kind := taxon(1)
		var here []models.Stand
		for n, place := range []string{"Tårn  Bend", "TÅRN BEND", "tårn bend", "Elsewhere", ""} {
			at := stand(n+1, kind)
			at.Place = place
			here = append(here, at)
		}
		write(t, s, adding((*store.Tx).AddTaxon, kind), adding((*store.Tx).AddStand, here[2], here[1], here[0], here[3], here[4]))
		write(t, s, func(tx *store.Tx) error {
			found, err := tx.StandsAt("tårn Bend")
			wantSame(t, "the stands there", here[:3], found)
			if err == nil && s.Dialect() == store.Postgres {
				err = wantHeld(t, s, map[string]bool{wanting("stands", here[0].ID): true, wanting("stands", here[2].ID): true, wanting("stands", here[3].ID): false})
			}
			return err
		})
		read(t, s, func(tx *store.Tx) error {
			nowhere, err := tx.StandsAt("Nowhere")
			wantSame(t, "the stands nowhere", 0, len(nowhere))
			return err
		}, func(tx *store.Tx) error {
			names, err := tx.Places()
			wantSame(t, "the places", 4, len(names))
			return err
		})
		list := []models.PlaceClosureVersion{placeClosures(1, "Tårn Bend"), placeClosures(2, "Tårn Bend")}
		write(t, s, adding((*store.Tx).AddPlaceClosures, list[1], list[0], placeClosures(3, "Elsewhere")), adding((*store.Tx).AddNestCheck, placeCheck(1, "Elsewhere", "2026-03-01")))
		read(t, s, func(tx *store.Tx) error {
			got, err := tx.PlaceClosures(models.NameKey("TÅRN bend"))
			wantSame(t, "its closures", list, got)
			return err
		}, func(tx *store.Tx) error {
			moved, err := tx.StandRecord(here[0].CodeKey, models.Date{})
			if err != nil {
				return err
			}
			moved.Place = "elsewhere"
			err = tx.ReadPlace(moved, day("2026-03-01"))
			if len(moved.PlaceClosures) != 1 || moved.PlaceClosures[0].ID != "place-0003" || len(moved.NestChecks) != 1 {
				t.Errorf("of the other place: %+v, %+v", moved.PlaceClosures, moved.NestChecks)
			}
			return err
		})
	})
}

// What is asked of stands every day is looked up, and takes one statement for many
// stands as for one.
func TestKeptRecordsAreLookedUp(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 20)
		ids := make([]string, len(stands))
		for i, at := range stands {
			ids[i] = at.ID
			write(t, s, adding((*store.Tx).AddToolCleaning, cleaning(1, at, "2026-03-01")), adding((*store.Tx).AddRests, []models.Rest{rest(1, at)}),
				adding((*store.Tx).AddSalvage, salvage(1, at)), adding((*store.Tx).AddNestCheck, nestCheck(i, at, "2026-03-01")))
		}
		last := func(tx *store.Tx, n int) (int, error) {
			found, err := tx.LastToolCleaning(ids[:n], day("2026-04-01"))
			return len(found), err
		}
		if few, many := statements(t, s, last, 1), statements(t, s, last, len(ids)); few != 1 || many != 1 {
			t.Errorf("%d statements for one stand, %d for many", few, many)
		}
		for name, ask := range map[string]func(tx *store.Tx) (int, error){
			"latest cleanings": func(tx *store.Tx) (int, error) { return last(tx, 2) },
			"rests":            func(tx *store.Tx) (int, error) { return size(tx.Rests(ids[0], models.Page{})) },
			"salvages":         func(tx *store.Tx) (int, error) { return size(tx.Salvages(ids[0], models.Page{})) },
			"cleanings":        func(tx *store.Tx) (int, error) { return size(tx.ToolCleanings(ids[0], models.Page{})) },
			"place closures":   func(tx *store.Tx) (int, error) { return length(tx.PlaceClosures("tårn bend")) },
		} {
			t.Run(name, func(t *testing.T) { wantNoScan(t, s, ask) })
		}
	})
}
