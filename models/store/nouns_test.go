package store_test

import (
	"context"
	"fmt"
	"reflect"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"withybed/models"
	"withybed/models/store"
)

// The nouns of these tests have every field set; their text holds letters that
// a careless database would fold, trim or count wrongly.

var entered = time.Date(2026, 3, 29, 9, 30, 15, 123e6, time.UTC)

func ptr[T any](v T) *T { return &v }

func day(text string) models.Date { return models.MustDate(text) }

func taxon(n int) models.Taxon {
	name := fmt.Sprintf("Cornus sericea %04d", n)
	return models.Taxon{
		ID: fmt.Sprintf("taxon-%04d", n), NameKey: models.NameKey(name), ScientificName: name,
		CommonName: "red-osier dogwood «Ö»", Family: "Cornaceae", Dioecious: true, Protected: true,
		SlowToRoot: true, IdentityMarks: "Buds in pairs.\nTwigs «red»", SoakDays: ptr(10), Version: 3, EnteredAt: entered,
	}
}

func stand(n int, t models.Taxon) models.Stand {
	code := fmt.Sprintf("TB-%04d", n)
	return models.Stand{
		ID: fmt.Sprintf("stand-%04d", n), Code: code, CodeKey: models.NameKey(code), Name: "Wrenlow Bend, ’upper‘ bank",
		TaxonID: t.ID, Place: "Tårn Bend", Locality: "left bank\nfrom the footbridge", LandManager: "Wrenlow Valley Parks",
		Latitude: ptr(46.1234567891), Longitude: ptr(-122.5432109876), CoordinateUncertaintyM: ptr(0.1),
		Sensitivity: models.HighSensitivity, PermitRequired: models.PermitNotNeeded, PermitReason: "agreed",
		ProtectedPlace: "listed fen", GatheringPlaceOf: "the valley people", Version: 2, EnteredAt: entered,
	}
}

func rule(n int, s models.Stand) models.RuleVersion {
	return models.RuleVersion{
		ID: fmt.Sprintf("rule-%s-%04d", s.ID, n), StandID: s.ID,
		HarvestRule: models.HarvestRule{
			StandCap: models.MustDecimal("0.0501"), PerPlantCap: models.MustDecimal("0.1"),
			WindowDays: 350, SurveyValidDays: 500, Basis: "agreed in September",
		},
		InForceFrom: day("1900-01-01"), Why: "first", SetBy: "OP", EnteredAt: entered,
	}
}

func closures(n int, s models.Stand) models.ClosureVersion {
	return models.ClosureVersion{
		ID: fmt.Sprintf("closures-%s-%04d", s.ID, n), StandID: s.ID,
		Closures: []models.Closure{
			{From: "04-15", To: "07-31", Reason: "birds nest", EveryYear: true, Kind: models.NestCheck},
			{From: "2026-11-01", To: "2026-11-30"},
		},
		InForceFrom: day("2026-01-01"), Why: "asked for", SetBy: "OP", EnteredAt: entered,
	}
}

func survey(n int, s models.Stand, on string) models.Survey {
	return models.Survey{
		ID: fmt.Sprintf("survey-%s-%04d", s.ID, n), StandID: s.ID, SurveyedOn: day(on), Method: models.ClumpsFromPlots,
		Plants: ptr(42), Stems: ptr(610), CountedByTwo: true,
		Plots:  &models.Plots{PlotAreaM2: 4.5, StandAreaM2: 400, Counts: []int{12, 7, 0}, Placement: models.Systematic},
		Clumps: &models.Clumps{Total: ptr(37), StemsOnSample: []int{22, 35}},
		Low:    ptr(300), High: ptr(500), StemDefinition: "6 mm at 30 cm", SurveyedBy: "OP",
		Estimate: 1234.5678, StandardError: ptr(87.25), LowerBound: models.MustDecimal("1122.7512"),
		Confidence: models.MustDecimal("0.9"), EnteredAt: entered,
	}
}

func disturbance(n int, s models.Stand, on string) models.Disturbance {
	return models.Disturbance{
		ID: fmt.Sprintf("disturbance-%s-%04d", s.ID, n), StandID: s.ID, HappenedOn: day(on),
		Kind: "flood", ReportedBy: "RQ", EnteredAt: entered,
	}
}

func batch(n int, s models.Stand, on string) models.Batch {
	code := fmt.Sprintf("%s-%d-%d", s.Code, day(on).Year(), n)
	id := fmt.Sprintf("batch-%s-%04d", s.ID, n)
	return models.Batch{
		ID: id, HarvestID: id, Code: code, CodeKey: models.NameKey(code), StandID: s.ID, TaxonID: s.TaxonID,
		Year: day(on).Year(), Number: n, CollectedOn: day(on), StemsCut: 24, Cuttings: 72, ParentPlants: ptr(12),
		CollectedBy: "Åse  Q", IdentifiedBy: "OP", Identification: models.Confirmed, RecordNumber: ptr(fmt.Sprintf("T-%d", n)),
		Purpose: models.Rooting, Kind: models.Hardwood, LengthCM: ptr(20.5), DiameterMM: ptr(8.0), Nodes: ptr(4),
		WoodAgeYears: ptr(1.5), Health: "sound", HoursToWater: ptr(0.25), Note: "north end ✓", AlreadyCut: true,
		Reason: "two crews", RefusedBy: "stand", AwaitsReview: true, HarvestFraction: ptr(0.0213),
		StandFraction: ptr(0.0601), WaitingFrom: day(on), Active: true, Version: 4, EnteredAt: entered,
	}
}

func tray() models.Tray {
	return models.Tray{
		Treatment: &models.Treatment{
			SoakDays: ptr(3.0), Wound: "two strips", Auxin: "IBA", AuxinPPM: ptr(3000.0), AuxinForm: "talc",
		},
		Medium: "perlite", Container: "deep flat", Bench: "B2", Mist: true, StuckBy: "RQ",
		BottomHeat: &models.BottomHeat{Recorded: true, Heated: true, Celsius: 21.5},
	}
}

func sticking(b models.Batch) models.Sticking {
	return models.Sticking{BatchID: b.ID, StuckOn: day("2026-01-18"), Count: 60, Tray: tray(), Label: tray().TreatmentLabel(), Entry: 2, EnteredAt: entered}
}

func move(b models.Batch) models.Move {
	return models.Move{
		ID: "move-" + b.ID, BatchID: b.ID, MovedOn: day("2026-01-17"), To: models.ToUsed, Count: 5,
		Use: "staked on the bank", Cause: models.Dried, Entry: 1, EnteredAt: entered,
	}
}

func check(n int, b models.Batch) models.Check {
	return models.Check{
		ID: fmt.Sprintf("check-%s-%04d", b.ID, n), BatchID: b.ID, CheckedOn: day("2026-02-07"), Rooted: ptr(31), PottingRoots: ptr(18),
		Overlong: ptr(1), Unrooted: ptr(20), Lost: models.Losses{models.RottedBase: 3, models.Mould: 1},
		LostRooted: models.Losses{models.Eaten: 2}, Withdrawn: 3, CheckedBy: "RQ", Method: models.Tug,
		Examined: ptr(10), Note: "first leaves", Entry: 3 + n, EnteredAt: entered,
	}
}

func potting(b models.Batch) models.Potting {
	return models.Potting{
		ID: "potting-" + b.ID, BatchID: b.ID, PottedOn: day("2026-03-14"), Count: 18, Container: "1-gallon pot",
		Medium: "bark", Bench: "Yard 1", PottedBy: "RQ", Entry: 20, EnteredAt: entered,
	}
}

func decision(b models.Batch) models.Decision {
	return models.Decision{
		ID: "decision-" + b.ID, BatchID: b.ID, DecidedOn: day("2026-04-20"), Action: models.Keep,
		UntilDay: day("2026-05-18"), DecidedBy: "OP", Why: "callus", Entry: 21, EnteredAt: entered,
	}
}

func review(b models.Batch) models.Review {
	return models.Review{ID: "review-" + b.ID, BatchID: b.ID, Accepted: true, Reason: "counted again", ReviewedBy: "OP", Entry: 22, EnteredAt: entered}
}

func split(b, sister models.Batch) models.Split {
	return models.Split{
		ID: "split-" + sister.ID, BatchID: b.ID, SisterID: sister.ID, Sister: sister.Code,
		SplitOn: day("2026-01-18"), Count: 12, Source: models.FromTray, Entry: 5, EnteredAt: entered,
	}
}

func ledgerEntry(n int, b models.Batch, stems int) models.LedgerEntry {
	return models.LedgerEntry{
		ID: fmt.Sprintf("ledger-%s-%04d", b.StandID, n), StandID: b.StandID, BatchID: &b.ID, Kind: models.Cut,
		TakenOn: b.CollectedOn, Stems: stems, Parents: 2, EnteredBy: "RQ", Why: "cut", EnteredAt: entered,
	}
}

func flagSpan(n int, b models.Batch, on string) models.FlagSpan {
	return models.FlagSpan{
		ID: fmt.Sprintf("flag-%s-%04d", b.ID, n), BatchID: b.ID, Flag: models.FlagPotUp, RaisedOn: day(on),
		ClearedOn: day("2026-03-20"), Reason: "18 of 51 have potting roots",
	}
}

func reminder(week string) models.Reminder {
	item := models.DueItem{
		Batch: "TB-0001-2026-1", Taxon: "Cornus sericea", Flag: models.FlagCheck, Reason: "14 days since the last look",
		Bench: "B2", Count: 51, Urgent: true, Since: day("2026-02-21"),
	}
	notice := models.StandNotice{Stand: "TB-0001", Name: "Wrenlow Bend", Text: "at 80 %", Crossed: true}
	return models.Reminder{
		ID: "reminder-" + week, Week: day(week), On: day(week).Add(1), MadeAt: entered, CoversFrom: day(week).Add(-7), Scheduled: true,
		Body: models.Notices{
			Review: []models.ReviewNotice{{Batch: "TB-0001-2026-1", Text: "over the stand cap"}},
			PotUp:  []models.DueItem{item}, Due: []models.DueItem{item}, Coming: []models.DueItem{item},
			Stands: []models.StandNotice{notice}, Expiring: []models.StandNotice{notice}, Shares: []models.StandNotice{notice},
			Permits: []models.PermitNotice{{Permit: "WV-1", EndsOn: day("2026-03-31"), Text: "ends", Crossed: true}},
		},
		Text: "Pot up:\n– TB-0001-2026-1",
	}
}

// write and read run in one transaction that must succeed.
func write(t *testing.T, s *store.Store, do ...func(tx *store.Tx) error) {
	t.Helper()
	if err := s.Write(context.Background(), inOrder(do)); err != nil {
		t.Fatal(err)
	}
}

func read(t *testing.T, s *store.Store, do ...func(tx *store.Tx) error) {
	t.Helper()
	if err := s.Read(context.Background(), inOrder(do)); err != nil {
		t.Fatal(err)
	}
}

func inOrder(steps []func(tx *store.Tx) error) func(tx *store.Tx) error {
	return func(tx *store.Tx) error {
		for _, step := range steps {
			if err := step(tx); err != nil {
				return err
			}
		}
		return nil
	}
}

// adding is a step that adds nouns with one of the methods of Tx.
func adding[T any](add func(*store.Tx, T) error, nouns ...T) func(tx *store.Tx) error {
	return func(tx *store.Tx) error {
		for _, noun := range nouns {
			if err := add(tx, noun); err != nil {
				return err
			}
		}
		return nil
	}
}

// seed adds a taxon and stands of it.
func seed(t *testing.T, s *store.Store, stands int) (models.Taxon, []models.Stand) {
	t.Helper()
	kind := taxon(1)
	var all []models.Stand
	for n := range stands {
		all = append(all, stand(n+1, kind))
	}
	write(t, s, adding((*store.Tx).AddTaxon, kind), adding((*store.Tx).AddStand, all...))
	return kind, all
}

var exactly = cmp.Options{
	cmp.Comparer(func(a, b models.Date) bool { return a == b }),
	cmp.Comparer(func(a, b time.Time) bool { return a.Equal(b) && a.Location() == b.Location() }),
}

func wantSame(t *testing.T, what string, want, got any) {
	t.Helper()
	if diff := cmp.Diff(want, got, exactly); diff != "" {
		t.Errorf("%s, wanted (-) and got (+):\n%s", what, diff)
	}
}

// wantFull fails for a noun with a field left at its zero value, but for those
// named: a column forgotten in such a field would not be noticed.
func wantFull(t *testing.T, noun any, but ...string) {
	t.Helper()
	v := reflect.ValueOf(noun)
	for i := range v.NumField() {
		if name := v.Type().Field(i).Name; v.Field(i).IsZero() && !slices.Contains(but, name) {
			t.Errorf("the %T of the tests leaves %s empty", noun, name)
		}
	}
}

func permit(n int, stands ...models.Stand) models.Permit {
	p := models.Permit{
		ID: fmt.Sprintf("permit-%d", n), Number: fmt.Sprintf("WV-%d", n), NumberKey: fmt.Sprintf("wv-%d", n),
		PermitTerms: models.PermitTerms{
			Kind: models.PermitPaper, Issuer: "Wrenlow Valley Parks", LandManager: "Parks", Parcels: "114, 115", Taxa: []string{"Cornus sericea"},
			Quantity: ptr(models.MustDecimal("120.5")), Unit: models.InKG, People: []string{"RQ"}, ValidFrom: day("2026-01-01"),
			ValidTo: day("2026-03-31"), Conditions: "hand tools", Authority: "valley board", Paper: "folder 3",
		},
		Earlier: []models.EarlierTerms{}, EnteredBy: "OP", Version: 1, EnteredAt: entered,
	}
	for _, s := range stands {
		p.StandIDs = append(p.StandIDs, s.ID)
	}
	return p
}

func share(n int, s models.Stand) models.Share {
	return models.Share{
		ID: fmt.Sprintf("share-%s-%d", s.ID, n), StandID: s.ID, Crew: "weavers", Stems: 9, Parents: 3, FromDay: day("2026-01-17"),
		ToDay: day("2026-01-18"), Note: "north bank", SetBy: "OP", EnteredAt: entered,
	}
}
