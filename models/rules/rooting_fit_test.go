package rules_test

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/rules"
)

// steady are batches that root alike, watched long after the last has rooted.
func steady(n int) rules.Pool {
	var p rules.Pool
	for i := range n {
		p.Batches = append(p.Batches, lot(fmt.Sprintf("b%02d", i), 40, 14, 3+i%2, 1, 21, 8, 2, 28, 7-i%2, 1, 35, 3, 1, 42, 1+i%3%2, 0, 70, 0, 0, 98, 0, 0))
	}
	return p
}

func fitOf(t *testing.T, p rules.Pool) models.FitGroup {
	t.Helper()
	g, err := rules.FitOf(context.Background(), p)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func TestFitsAreRanked(t *testing.T) {
	g := fitOf(t, steady(12))
	if g.Batches != 12 || len(g.Fits) != 3 || g.Selected == "" {
		t.Fatalf("%+v", g)
	}
	best := 0.0
	for _, f := range g.Fits {
		if f.Status != "converged" || f.CLIC == nil || f.Parameters == nil || f.Parameters.LossMu == nil {
			t.Fatalf("%s: %s %s", f.Family, f.Status, f.Reason)
		}
		if !(*f.T10 < *f.T50 && *f.T50 < *f.T90) {
			t.Errorf("%s: days %v %v %v", f.Family, *f.T10, *f.T50, *f.T90)
		}
		if best == 0 || *f.CLIC < best {
			best = *f.CLIC
		}
	}
	for _, f := range g.Fits {
		if f.Family == g.Selected && *f.CLIC != best {
			t.Errorf("selected %s with %v, the best is %v", f.Family, *f.CLIC, best)
		}
	}
}

func TestErrorsByBatchTakeTenBatches(t *testing.T) {
	for n, want := range map[int]bool{9: false, 10: true} {
		for _, f := range fitOf(t, steady(n)).Fits {
			if (f.Errors.Clustered != nil) != want || f.Errors.Naive == nil {
				t.Errorf("%d batches, %s: errors %+v", n, f.Family, f.Errors)
			}
		}
	}
}

func TestFitOfTooLittleSaysWhy(t *testing.T) {
	g := fitOf(t, rules.Pool{Batches: []rules.Watched{lot("a", 20, 14, 5, 0), lot("unseen", 20)}})
	if g.Selected != "" || g.WithoutChecks != 1 {
		t.Errorf("%+v", g)
	}
	for _, f := range g.Fits {
		if f.Status != "declined" || f.Reason == "" || f.Parameters != nil || f.CLIC != nil {
			t.Errorf("%+v", f)
		}
	}
	text, err := json.Marshal(g)
	if err != nil || !strings.Contains(string(text), `"parameters":null`) {
		t.Errorf("%s, %v", text, err)
	}
}
