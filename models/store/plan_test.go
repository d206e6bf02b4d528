package store_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// A nursery keeps its history for ever, so what is asked every day must not go
// through all of it.
func TestNothingAskedEveryDayGoesThroughTheWholeHistory(t *testing.T) {
	active, toReview := models.BatchFilter{Active: true}, models.BatchFilter{AwaitsReview: true}
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		stands := seedMany(t, s)
		last := models.Page{After: store.CursorOf("batches", "2026-02-01", "batch")}
		for name, ask := range map[string]func(tx *store.Tx) (int, error){
			"active":            func(tx *store.Tx) (int, error) { return size(tx.BatchRecords(active, models.Page{})) },
			"active, next page": func(tx *store.Tx) (int, error) { return size(tx.BatchRecords(active, last)) },
			"all active":        func(tx *store.Tx) (int, error) { return length(tx.EveryBatchRecord(active)) },
			"to review":         func(tx *store.Tx) (int, error) { return size(tx.BatchRecords(toReview, models.Page{})) },
			"all to review":     func(tx *store.Tx) (int, error) { return length(tx.EveryBatchRecord(toReview)) },
			"of a taxon": func(tx *store.Tx) (int, error) {
				return size(tx.BatchRecords(models.BatchFilter{TaxonID: stands[0].TaxonID}, models.Page{}))
			},
			"of a stand": func(tx *store.Tx) (int, error) {
				return size(tx.BatchRecords(models.BatchFilter{StandID: stands[0].ID}, last))
			},
			"of a bench": func(tx *store.Tx) (int, error) { return size(tx.BatchRecords(models.BatchFilter{Bench: "b2"}, last)) },
			"past":       func(tx *store.Tx) (int, error) { return length(tx.BatchRecordsOn(day("2026-01-20"))) },
			"same day": func(tx *store.Tx) (int, error) {
				return length(tx.BatchesOn([]string{stands[0].ID, stands[1].ID}, []models.Date{day("2026-01-20"), day("2026-01-21")}))
			},
			"numbers": func(tx *store.Tx) (int, error) {
				last, err := tx.LastBatchNumbers([]string{stands[0].ID, stands[1].ID}, []int{2025, 2026})
				return len(last), err
			},
			"near codes":     func(tx *store.Tx) (int, error) { return length(tx.NearBatchCodes("TB-0001-2026-4")) },
			"standing flags": func(tx *store.Tx) (int, error) { return length(tx.StandingFlags()) },
			"rooting models": func(tx *store.Tx) (int, error) { return length(tx.RootingModels(day("2026-03-01"))) },
			"rooting models of a taxon": func(tx *store.Tx) (int, error) {
				return length(tx.RootingModelsOf(stands[0].TaxonID, day("2026-03-01")))
			},
			"allowance": func(tx *store.Tx) (int, error) {
				_, err := tx.StandRecord(stands[0].CodeKey, day("2026-01-01"))
				return 1, err
			},
			"permits ending": func(tx *store.Tx) (int, error) { return length(tx.PermitsEnding(day("2026-03-01"), day("2026-03-31"))) },
			"permits of a stand": func(tx *store.Tx) (int, error) {
				return size(tx.Permits(models.PermitFilter{StandID: stands[0].ID}, models.Page{}))
			},
			"shares of a stand":    func(tx *store.Tx) (int, error) { return size(tx.SharesOf(stands[0].ID, models.Page{})) },
			"held shares":          func(tx *store.Tx) (int, error) { return size(tx.HeldShares("", day("2026-01-10"), models.Page{})) },
			"shares that are over": func(tx *store.Tx) (int, error) { return length(tx.StandsOfShares(day("2026-02-01"))) },
			"ledger":               func(tx *store.Tx) (int, error) { return size(tx.LedgerLines(stands[0].ID, models.Page{})) },
		} {
			t.Run(name, func(t *testing.T) { wantNoScan(t, s, ask) })
		}
	})
}

// partial indexes may be gone through: each holds only what is asked for.
var partial = map[string]bool{"batches_active": true, "batches_to_review": true, "flag_spans_standing": true, "outbox_waiting": true, "rooting_models_standing": true, "crew_shares_held": true}

// wantNoScan runs a question and asks the database how it goes about each of its
// statements.
func wantNoScan(t *testing.T, s *store.Store, ask func(tx *store.Tx) (int, error)) {
	t.Helper()
	var all []string
	err := s.Read(store.Watch(background, func(statement string) { all = append(all, statement) }), func(tx *store.Tx) error {
		_, err := ask(tx)
		return err
	})
	if err != nil || len(all) == 0 {
		t.Fatalf("%d statements ran: %v", len(all), err)
	}
	for _, statement := range all {
		scans := scansOfSQLite
		if s.Dialect() == store.Postgres {
			scans = scansOfPostgres
		}
		for _, scan := range scans(t, s, statement) {
			t.Errorf("%s\n  by %s", statement, scan)
		}
	}
}

// scansOfSQLite are the steps of a plan that go through a table or an index, such
// as "SCAN batches USING INDEX batches_by_day", and sorts of a whole list.
func scansOfSQLite(t *testing.T, s *store.Store, statement string) (scans []string) {
	t.Helper()
	var steps []struct{ Detail string }
	read(t, s, func(tx *store.Tx) error { return tx.DB().Raw("EXPLAIN QUERY PLAN " + statement).Scan(&steps).Error })
	for _, step := range steps {
		words := strings.Fields(step.Detail)
		if len(words) > 1 && words[0] == "SCAN" && !partial[words[len(words)-1]] {
			scans = append(scans, step.Detail)
		}
	}
	return scans
}

// planNode is a step of PostgreSQL's plan.
type planNode struct {
	Kind     string `json:"Node Type"`
	Relation string `json:"Relation Name"`
	Index    string `json:"Index Name"`
	Cond     string `json:"Index Cond"`
	Plans    []planNode
}

// looking is how PostgreSQL plans for tables that are long: with few rows it would
// rather go through them.
const looking = "SET LOCAL enable_seqscan = off; SET LOCAL enable_hashjoin = off; SET LOCAL enable_mergejoin = off"

// scansOfPostgres are the steps that go through a table or an index.
func scansOfPostgres(t *testing.T, s *store.Store, statement string) (scans []string) {
	t.Helper()
	var text string
	read(t, s, func(tx *store.Tx) error { return tx.DB().Exec(looking).Error }, func(tx *store.Tx) error { return tx.DB().Raw("EXPLAIN (FORMAT JSON) " + statement).Scan(&text).Error })
	var plans []struct{ Plan planNode }
	if err := json.Unmarshal([]byte(text), &plans); err != nil {
		t.Fatal(err)
	}
	var walk func(node planNode)
	walk = func(node planNode) {
		if strings.HasSuffix(node.Kind, "Scan") && node.Kind != "Bitmap Heap Scan" && node.Cond == "" && !partial[node.Index] {
			scans = append(scans, fmt.Sprintf("%s of %s %s", node.Kind, node.Relation, node.Index))
		}
		for _, below := range node.Plans {
			walk(below)
		}
	}
	walk(plans[0].Plan)
	return scans
}
