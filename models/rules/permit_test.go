package rules_test

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
)

// permit is one of 100 stems for the stand of standOf, in the winter of 2025/26.
func permit(change ...func(*models.Permit)) models.Permit {
	p := models.Permit{
		ID: "permit", Number: "WV-12", NumberKey: "wv-12", StandIDs: []string{"stand"},
		PermitTerms: models.PermitTerms{
			Kind: models.PermitPaper, Issuer: "Wrenlow Valley Parks", Quantity: ptr(models.DecimalOf(100)), Unit: models.InStems,
			ValidFrom: date("2025-11-01"), ValidTo: date("2026-03-31"),
		},
	}
	for _, c := range change {
		c(&p)
	}
	return p
}

func onFile(permits ...models.Permit) func(*models.StandRecord) {
	return func(r *models.StandRecord) { r.Permits = append(r.Permits, permits...) }
}

func permitNeeded(r *models.StandRecord) { r.PermitRequired = models.PermitNeeded }

func drawn(text string) func(*models.Permit) {
	return func(p *models.Permit) { p.Drawn = models.MustDecimal(text) }
}

func counting(unit models.PermitUnit) func(*models.Permit) {
	return func(p *models.Permit) { p.Unit = unit }
}

func authority(p *models.Permit) { p.Authority = "valley conservation board" }

func on(number string) func(*models.NewBatch) {
	return func(r *models.NewBatch) { r.Permit = number }
}

func weighing(quantity string) func(*models.NewBatch) {
	return func(r *models.NewBatch) { r.PermitQuantity = ptr(models.MustDecimal(quantity)) }
}

// A batch of 24 stems and 72 cuttings on 17 January 2026 by RQ is refused with the
// sentence, or passes where there is none.
func TestABatchIsHeldAgainstItsPermit(t *testing.T) {
	leave := func(p *models.Permit) { p.Kind = models.LeavePaper }
	people := func(p *models.Permit) { p.People = []string{"rq", "OP"} }
	for _, c := range []struct {
		name   string
		stand  []func(*models.StandRecord)
		batch  []func(*models.NewBatch)
		code   string
		detail string
	}{
		{"no need stated", nil, nil, "", ""},
		{"none named", []func(*models.StandRecord){permitNeeded, onFile(permit())}, nil, "no-permit", "a permit is required, and the batch names none"},
		{"named", []func(*models.StandRecord){permitNeeded, onFile(permit())}, []func(*models.NewBatch){on(" wv-12")}, "", ""},
		{"named without need", []func(*models.StandRecord){onFile(permit())}, []func(*models.NewBatch){on("WV-12")}, "", ""},
		{"just enough", []func(*models.StandRecord){onFile(permit(drawn("76")))}, []func(*models.NewBatch){on("WV-12")}, "", ""},
		{"too little", []func(*models.StandRecord){onFile(permit(drawn("77")))}, []func(*models.NewBatch){on("WV-12")}, "no-permit", "23 of 100 stems are left on permit WV-12 of Wrenlow Valley Parks"},
		{"overdrawn", []func(*models.StandRecord){onFile(permit(drawn("120")))}, []func(*models.NewBatch){on("WV-12")}, "no-permit", "0 of 100 stems are left on permit WV-12 of Wrenlow Valley Parks"},
		{"no number set", []func(*models.StandRecord){onFile(permit(drawn("5000"), func(p *models.Permit) { p.Quantity = nil }))}, []func(*models.NewBatch){on("WV-12")}, "", ""},
		{"cuttings, enough", []func(*models.StandRecord){onFile(permit(drawn("28"), counting(models.InCuttings)))}, []func(*models.NewBatch){on("WV-12")}, "", ""},
		{"cuttings, too few", []func(*models.StandRecord){onFile(permit(drawn("29"), counting(models.InCuttings)))}, []func(*models.NewBatch){on("WV-12")}, "no-permit", "71 of 100 cuttings are left on permit WV-12 of Wrenlow Valley Parks, and 72 would be drawn"},
		{"kilograms, enough", []func(*models.StandRecord){onFile(permit(drawn("97.5"), counting(models.InKG)))}, []func(*models.NewBatch){on("WV-12"), weighing("2.5")}, "", ""},
		{"kilograms, too few", []func(*models.StandRecord){onFile(permit(drawn("97.5"), counting(models.InKG)))}, []func(*models.NewBatch){on("WV-12"), weighing("2.5001")}, "no-permit", "2.5 of 100 kg are left on permit WV-12 of Wrenlow Valley Parks, and 2.5001 would be drawn"},
		{"on its first day", []func(*models.StandRecord){onFile(permit(func(p *models.Permit) { p.ValidFrom = date("2026-01-17") }))}, []func(*models.NewBatch){on("WV-12")}, "", ""},
		{"before its first day", []func(*models.StandRecord){onFile(permit(func(p *models.Permit) { p.ValidFrom = date("2026-01-18") }))}, []func(*models.NewBatch){on("WV-12")}, "no-permit", "permit WV-12 of Wrenlow Valley Parks holds from 2026-01-18 only"},
		{"on its last day", []func(*models.StandRecord){onFile(permit(func(p *models.Permit) { p.ValidTo = date("2026-01-17") }))}, []func(*models.NewBatch){on("WV-12")}, "", ""},
		{"after its last day", []func(*models.StandRecord){onFile(permit(leave, func(p *models.Permit) { p.ValidTo = date("2026-01-16") }))}, []func(*models.NewBatch){on("WV-12")}, "no-permit", "the leave WV-12 of Wrenlow Valley Parks ended on 2026-01-16"},
		{"without an end", []func(*models.StandRecord){onFile(permit(func(p *models.Permit) { p.ValidTo = models.Date{} }))}, []func(*models.NewBatch){on("WV-12")}, "", ""},
		{"of another taxon", []func(*models.StandRecord){onFile(permit(func(p *models.Permit) { p.Taxa = []string{"Salix scouleriana"} }))}, []func(*models.NewBatch){on("WV-12")}, "no-permit", "permit WV-12 of Wrenlow Valley Parks does not cover Cornus sericea"},
		{"of its taxon", []func(*models.StandRecord){onFile(permit(func(p *models.Permit) { p.Taxa = []string{"Salix scouleriana", "CORNUS  sericea"} }))}, []func(*models.NewBatch){on("WV-12")}, "", ""},
		{"by one it names", []func(*models.StandRecord){onFile(permit(people))}, []func(*models.NewBatch){on("WV-12")}, "", ""},
		{"by two it names", []func(*models.StandRecord){onFile(permit(people))}, []func(*models.NewBatch){on("WV-12"), func(r *models.NewBatch) { r.CollectedBy = "RQ, op" }}, "", ""},
		{"by one of two it names", []func(*models.StandRecord){onFile(permit(people))}, []func(*models.NewBatch){on("WV-12"), func(r *models.NewBatch) { r.CollectedBy = "RQ; Tam Yarrow" }}, "no-permit", "permit WV-12 of Wrenlow Valley Parks is for the people it names, and who cut is not among them"},
		{"protected, none named", []func(*models.StandRecord){protected, onFile(permit(authority))}, nil, "protected", "Cornus sericea is protected, and the batch names no permit with an authority to cut it"},
		{"protected, without authority", []func(*models.StandRecord){protected, onFile(permit())}, []func(*models.NewBatch){on("WV-12")}, "protected", "Cornus sericea is protected, and permit WV-12 of Wrenlow Valley Parks names no authority to cut it"},
		{"protected, with authority that ended", []func(*models.StandRecord){protected, onFile(permit(authority, func(p *models.Permit) { p.ValidTo = date("2026-01-16") }))}, []func(*models.NewBatch){on("WV-12")}, "protected", "Cornus sericea is protected, and permit WV-12 of Wrenlow Valley Parks ended on 2026-01-16"},
		{"protected, with authority", []func(*models.StandRecord){protected, onFile(permit(authority))}, []func(*models.NewBatch){on("WV-12")}, "", ""},
		{"protected, with too little", []func(*models.StandRecord){protected, onFile(permit(authority, drawn("90")))}, []func(*models.NewBatch){on("WV-12")}, "no-permit", "10 of 100 stems are left on permit WV-12 of Wrenlow Valley Parks"},
		{"a protected place", []func(*models.StandRecord){func(r *models.StandRecord) { r.ProtectedPlace = "valley reserve" }, onFile(permit())}, []func(*models.NewBatch){on("WV-12")}, "protected", "the place is protected (valley reserve), and permit WV-12 of Wrenlow Valley Parks names no authority to cut it"},
		{"a protected place, with authority", []func(*models.StandRecord){func(r *models.StandRecord) { r.ProtectedPlace = "valley reserve" }, onFile(permit(authority))}, []func(*models.NewBatch){on("WV-12")}, "", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			stand := standOf(append([]func(*models.StandRecord){counted("2026-01-01", "800")}, c.stand...)...)
			batch, _, err := rules.EnterBatch(stand, newBatch(c.batch...), batchDay)
			refusal := models.AsError(err)
			switch {
			case c.code == "" && err != nil:
				t.Fatal(err)
			case c.code != "" && (refusal == nil || refusal.Kind != models.Refused || refusal.Code != c.code || refusal.Binding.Detail != c.detail):
				t.Fatalf("the refusal is %+v, want %s: %s", refusal, c.code, c.detail)
			case c.code != "" && !strings.Contains(refusal.Detail, c.detail):
				t.Errorf("it says %q", refusal.Detail)
			}
			if named := len(c.batch) > 0; named != (batch.PermitID != nil) {
				t.Errorf("the batch names %v", batch.PermitID)
			}
		})
	}
}

// Stems that are cut already are recorded against the permit too, to be reviewed.
func TestStemsCutWithoutAPermitAreReviewed(t *testing.T) {
	stand := standOf(counted("2026-01-01", "800"), permitNeeded, onFile(permit(drawn("90"))))
	for _, c := range []struct {
		change []func(*models.NewBatch)
		says   string
		draws  string
	}{
		{[]func(*models.NewBatch){alreadyCut}, "a permit is required, and the batch names none", "0"},
		{[]func(*models.NewBatch){alreadyCut, on("WV-12")}, "10 of 100 stems are left on permit WV-12", "24"},
	} {
		batch, warnings, err := rules.EnterBatch(stand, newBatch(c.change...), batchDay)
		if err != nil {
			t.Fatal(err)
		}
		if !batch.AwaitsReview || batch.OverLimit || !strings.Contains(batch.RefusedBy, c.says) || batch.PermitQuantity != models.MustDecimal(c.draws) {
			t.Errorf("%+v", batch)
		}
		if len(warnings) != 1 || !strings.Contains(warnings[0], "to be reviewed") {
			t.Errorf("the warnings are %q", warnings)
		}
	}
}

func TestThePermitABatchNames(t *testing.T) {
	consent := permit(func(p *models.Permit) {
		p.Number, p.NumberKey, p.PermitTerms = "SR-4", "sr-4", models.PermitTerms{Kind: models.ConsentPaper, Issuer: "the Sedge River people"}
	})
	for _, c := range []struct {
		name   string
		stand  []func(*models.StandRecord)
		change []func(*models.NewBatch)
		says   string
	}{
		{"none on file", nil, []func(*models.NewBatch){on("WV-13")}, `permit is "WV-13", and no permit on file covers TB-01`},
		{"a slip", []func(*models.StandRecord){onFile(permit(), consent)}, []func(*models.NewBatch){on("WV-13")}, `permit is "WV-13", and those on file that cover TB-01 are WV-12`},
		{"a consent", []func(*models.StandRecord){onFile(consent)}, []func(*models.NewBatch){on("sr-4")}, `permit is "sr-4", which is a consent and no permit, and no permit on file covers TB-01`},
		{"a quantity alone", []func(*models.StandRecord){onFile(permit())}, []func(*models.NewBatch){weighing("2")}, "permit_quantity goes with a permit"},
		{"a quantity of stems", []func(*models.StandRecord){onFile(permit())}, []func(*models.NewBatch){on("WV-12"), weighing("2")}, "permit_quantity is not needed: permit WV-12 counts stems, which the batch has"},
		{"no weight", []func(*models.StandRecord){onFile(permit(counting(models.InKG)))}, []func(*models.NewBatch){on("WV-12")}, "permit_quantity is missing: permit WV-12 counts kg, so say how many are drawn on it"},
		{"no weight at all", []func(*models.StandRecord){onFile(permit(counting(models.InBundles)))}, []func(*models.NewBatch){on("WV-12"), weighing("0")}, "permit_quantity is missing: permit WV-12 counts bundles"},
		{"below nothing", []func(*models.StandRecord){onFile(permit(counting(models.InKG)))}, []func(*models.NewBatch){on("WV-12"), weighing("-2")}, "permit_quantity is missing"},
		{"too much to be true", []func(*models.StandRecord){onFile(permit(counting(models.InKG)))}, []func(*models.NewBatch){on("WV-12"), weighing("10000000.1")}, "permit_quantity is 10000000.1, and must be up to 10000000"},
	} {
		stand := standOf(append([]func(*models.StandRecord){counted("2026-01-01", "800")}, c.stand...)...)
		for _, already := range []bool{false, true} {
			req := newBatch(c.change...)
			if already {
				alreadyCut(&req)
			}
			_, _, err := rules.EnterBatch(stand, req, batchDay)
			if e := models.AsError(err); e == nil || e.Kind != models.Invalid || !strings.Contains(e.Error(), c.says) {
				t.Errorf("%s, already cut %v: %v", c.name, already, err)
			}
		}
	}
}

// What is asked about before a cut names no permit: any that covers the stand is looked
// at, and the one with the most room counts.
func TestThePermitOfAnAllowance(t *testing.T) {
	later := permit(func(p *models.Permit) { p.Number, p.Quantity = "WV-14", ptr(models.DecimalOf(30)) })
	ended := permit(func(p *models.Permit) { p.ValidTo = date("2026-01-16") })
	for _, c := range []struct {
		name    string
		change  []func(*models.StandRecord)
		allowed *int
		detail  string
	}{
		{"not stated", nil, nil, "whether a permit is required is not stated"},
		{"not stated, with one on file", []func(*models.StandRecord){onFile(permit(drawn("99")))}, nil, "whether a permit is required is not stated"},
		{"none required", []func(*models.StandRecord){func(r *models.StandRecord) {
			r.PermitRequired, r.PermitReason = models.PermitNotNeeded, "our own hedge"
		}}, nil, "no permit is required (our own hedge)"},
		{"required, none on file", []func(*models.StandRecord){permitNeeded}, ptr(0), "a permit is required, and none that covers the stand is on file"},
		{"required, one on file", []func(*models.StandRecord){permitNeeded, onFile(permit(drawn("90")))}, ptr(10), "10 of 100 stems are left on permit WV-12 of Wrenlow Valley Parks"},
		{"the roomier of two", []func(*models.StandRecord){permitNeeded, onFile(permit(drawn("90")), later)}, ptr(30), "30 of 30 stems are left on permit WV-14 of Wrenlow Valley Parks"},
		{"the one that holds", []func(*models.StandRecord){permitNeeded, onFile(ended, later)}, ptr(30), "30 of 30 stems are left on permit WV-14 of Wrenlow Valley Parks"},
		{"one that ended", []func(*models.StandRecord){permitNeeded, onFile(ended)}, ptr(0), "permit WV-12 of Wrenlow Valley Parks ended on 2026-01-16"},
		{"bundles", []func(*models.StandRecord){permitNeeded, onFile(permit(drawn("99.5"), counting(models.InBundles)))}, nil, "0.5 of 100 bundles are left on permit WV-12 of Wrenlow Valley Parks"},
		{"no bundle left", []func(*models.StandRecord){permitNeeded, onFile(permit(drawn("100"), counting(models.InBundles)))}, ptr(0), "0 of 100 bundles are left on permit WV-12 of Wrenlow Valley Parks"},
		{"protected", []func(*models.StandRecord){protected, onFile(permit(authority, drawn("90")))}, ptr(10), "10 of 100 stems are left on permit WV-12 of Wrenlow Valley Parks"},
	} {
		stand := standOf(append([]func(*models.StandRecord){counted("2026-01-01", "800")}, c.change...)...)
		got := ruleOf(rules.Allowance(stand, rules.Cut{On: date("2026-01-17"), Stems: 1}), rules.RulePermit)
		if got.Detail != c.detail || (got.Allowed == nil) != (c.allowed == nil) || got.Allowed != nil && *got.Allowed != *c.allowed {
			t.Errorf("%s: %+v, want %q", c.name, got, c.detail)
		}
	}
}

func ruleOf(a models.Allowance, code string) models.RuleAllowed {
	for _, rule := range a.Rules {
		if rule.Code == code {
			return rule
		}
	}
	return models.RuleAllowed{}
}

// What is on file about leave to cut is told in a sentence that never is a bare yes.
func TestWhatIsOnFileAboutLeave(t *testing.T) {
	consent := func(issuer, terms string) models.Permit {
		return permit(func(p *models.Permit) {
			p.Number = "SR-4"
			p.PermitTerms = models.PermitTerms{Kind: models.ConsentPaper, Issuer: issuer, Conditions: terms, ValidFrom: date("2026-01-01")}
		})
	}
	place := func(whose string) func(*models.StandRecord) {
		return func(r *models.StandRecord) { r.GatheringPlaceOf = whose }
	}
	for _, c := range []struct {
		name   string
		change []func(*models.StandRecord)
		want   string
	}{
		{"nothing", nil, "Leave to cut is not on file: ask the land manager (Wrenlow Valley Parks)."},
		{"a permit", []func(*models.StandRecord){onFile(permit(drawn("76"), func(p *models.Permit) { p.People, p.Conditions = []string{"RQ", "OP"}, "hand tools only." }))},
			"On file is permit WV-12 of Wrenlow Valley Parks, with 24 of 100 stems left, to 2026-03-31, for RQ, OP. Its conditions: hand tools only."},
		{"a leave without a number or an end", []func(*models.StandRecord){onFile(permit(func(p *models.Permit) { p.Kind, p.Quantity, p.ValidTo = models.LeavePaper, nil, models.Date{} }))},
			"On file is the leave WV-12 of Wrenlow Valley Parks."},
		{"one used up, and another", []func(*models.StandRecord){onFile(permit(drawn("100")), permit(func(p *models.Permit) { p.Number = "WV-14" }))},
			"On file is permit WV-14 of Wrenlow Valley Parks, with 100 of 100 stems left, to 2026-03-31."},
		{"required", []func(*models.StandRecord){permitNeeded}, "A permit is required, and none on file covers this cut: ask the land manager (Wrenlow Valley Parks)."},
		{"required, and it ended", []func(*models.StandRecord){permitNeeded, onFile(permit(func(p *models.Permit) { p.ValidTo = date("2026-01-16") }))},
			"A permit is required, and none on file covers this cut: ask the land manager (Wrenlow Valley Parks)."},
		{"protected", []func(*models.StandRecord){protected}, "A permit with an authority is required, and is not on file: ask the land manager (Wrenlow Valley Parks)."},
		{"none required", []func(*models.StandRecord){func(r *models.StandRecord) {
			r.PermitRequired, r.PermitReason = models.PermitNotNeeded, "our own hedge"
		}}, "No permit is required (our own hedge): what the land manager (Wrenlow Valley Parks) says and local rules still decide."},
		{"a gathering place", []func(*models.StandRecord){place("the Sedge River people")},
			"Leave to cut is not on file: ask the land manager (Wrenlow Valley Parks). It is a gathering place of the Sedge River people, and their consent is not on file: ask them first."},
		{"their consent", []func(*models.StandRecord){place("the Sedge River people"), onFile(consent("The Sedge River people", "ask again each autumn"))},
			"Leave to cut is not on file: ask the land manager (Wrenlow Valley Parks). The consent of The Sedge River people is on file (SR-4), on these terms: ask again each autumn."},
		{"the consent of one of two", []func(*models.StandRecord){place("the Sedge River people, the Heron people"), onFile(consent("the Sedge River people", ""))},
			"Leave to cut is not on file: ask the land manager (Wrenlow Valley Parks). The consent of the Sedge River people is on file (SR-4). It is a gathering place of the Heron people, and their consent is not on file: ask them first."},
		{"a consent that ended", []func(*models.StandRecord){place("the Sedge River people"), onFile(permit(func(p *models.Permit) {
			p.PermitTerms = models.PermitTerms{Kind: models.ConsentPaper, Issuer: "the Sedge River people", ValidFrom: date("2025-01-01"), ValidTo: date("2026-01-16")}
		}))}, "Leave to cut is not on file: ask the land manager (Wrenlow Valley Parks). It is a gathering place of the Sedge River people, and their consent is not on file: ask them first."},
	} {
		stand := standOf(append([]func(*models.StandRecord){counted("2026-01-01", "800")}, c.change...)...)
		got := rules.Allowance(stand, rules.Cut{On: date("2026-01-17"), Stems: 1}).Leave
		if !strings.HasPrefix(got, "1 stem is ") || !strings.HasSuffix(got, ". "+c.want) {
			t.Errorf("%s:\n%s\nwant at its end\n%s", c.name, got, c.want)
		}
	}
}

// However batches come, from whichever stand, of those that pass without review never
// more is drawn than the permit allows; and one that would fit is never refused for it.
func TestAPermitIsNeverOverdrawn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		unit := rapid.SampledFrom(models.PermitUnits).Draw(t, "unit")
		quantity := models.Decimal(rapid.IntRange(1, 60*10_000).Draw(t, "quantity"))
		if unit == models.InStems || unit == models.InCuttings {
			quantity = models.DecimalOf(quantity.Floor() + 1)
		}
		p := permit(counting(unit), func(p *models.Permit) { p.Quantity = &quantity })
		var stands []*models.StandRecord
		for n := range 3 {
			stand := standOf(counted("2025-11-01", "100000"), permitNeeded)
			stand.ID, stand.Code = fmt.Sprintf("stand-%d", n), fmt.Sprintf("TB-0%d", n)
			p.StandIDs = append(p.StandIDs, stand.ID)
			stands = append(stands, stand)
		}
		for _, stand := range stands {
			stand.Permits = []models.Permit{p}
		}
		total := models.Decimal(0)
		for range rapid.IntRange(1, 30).Draw(t, "batches") {
			stand := rapid.SampledFrom(stands).Draw(t, "stand")
			req := newBatch(on("WV-12"), func(r *models.NewBatch) {
				r.CollectedOn = date("2025-12-01").Add(rapid.IntRange(0, 60).Draw(t, "on"))
				r.StemsCut = rapid.IntRange(1, 20).Draw(t, "stems")
				r.Cuttings = rapid.IntRange(0, 30).Draw(t, "cuttings")
			})
			draws := models.DecimalOf(req.StemsCut)
			switch unit {
			case models.InCuttings:
				draws = models.DecimalOf(req.Cuttings)
			case models.InBundles, models.InKG:
				draws = models.Decimal(rapid.IntRange(1, 20*10_000).Draw(t, "quantity drawn"))
				req.PermitQuantity = &draws
			}
			batch, _, err := rules.EnterBatch(stand, req, batchDay)
			if fits := total+draws <= quantity; fits != (err == nil) {
				t.Fatalf("%s of %s %s drawn, %s asked for: %v", total, quantity, unit, draws, err)
			}
			if err != nil {
				if e := models.AsError(err); e == nil || e.Code != "no-permit" {
					t.Fatal(err)
				}
				continue
			}
			if batch.PermitQuantity != draws || *batch.PermitID != "permit" {
				t.Fatalf("the batch draws %s", batch.PermitQuantity)
			}
			total += draws
			for _, stand := range stands {
				stand.Permits[0].Drawn += batch.PermitQuantity
			}
			rules.Take(stand, &batch, nil)
		}
		if total > quantity {
			t.Fatalf("%s of %s %s are drawn", total, quantity, unit)
		}
	})
}

// Where several permits cover a stand, the rule and the sentence on leave speak of the
// same one: the one that bears the most of what is asked about.
func TestOnePermitIsSpokenOf(t *testing.T) {
	second := func(change ...func(*models.Permit)) models.Permit {
		return permit(append([]func(*models.Permit){func(p *models.Permit) { p.ID, p.Number, p.NumberKey = "second", "WV-13", "wv-13" }}, change...)...)
	}
	for name, c := range map[string]struct {
		first, second models.Permit
		change        func(*models.StandRecord)
		says          string
		allowed       int
	}{
		"one in bundles":       {permit(drawn("90")), second(counting(models.InBundles)), permitNeeded, "WV-13", 40},
		"bundles used up":      {permit(drawn("90")), second(counting(models.InBundles), drawn("100")), permitNeeded, "WV-12", 10},
		"more stems left":      {permit(drawn("90")), second(drawn("80")), permitNeeded, "WV-13", 20},
		"none left":            {permit(drawn("100")), second(drawn("100")), permitNeeded, "WV-12", 0},
		"one without a number": {permit(), second(func(p *models.Permit) { p.Quantity = nil }), permitNeeded, "WV-13", 40},
		"one that ended":       {permit(func(p *models.Permit) { p.ValidTo = date("2026-01-16") }), second(drawn("80")), permitNeeded, "WV-13", 20},
		"one with authority":   {permit(), second(authority, drawn("80")), protected, "WV-13", 20},
	} {
		stand := standOf(counted("2026-01-01", "800"), c.change, onFile(c.first, c.second))
		got := rules.Allowance(stand, rules.Cut{On: date("2026-01-17"), Stems: 11})
		rule := got.Rules[1]
		if rule.Code != rules.RulePermit || !strings.Contains(rule.Detail, c.says) || !strings.Contains(got.Leave, "On file is permit "+c.says) || got.Allowed != c.allowed {
			t.Errorf("%s: %d are allowed, the rule says %q, and leave %q", name, got.Allowed, rule.Detail, got.Leave)
		}
		if board := rules.BoardRow(stand, date("2026-01-17")); board.PermitNo != c.says {
			t.Errorf("%s: the board names %s", name, board.PermitNo)
		}
	}
}
