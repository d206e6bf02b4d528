package rules_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"withybed/models"
	"withybed/models/rules"
)

// covered are stands that a permit covers: two of dogwood on the land of the parks.
func covered(change ...func(*models.CoveredStand)) []models.CoveredStand {
	stands := []models.CoveredStand{
		{ID: "b", Code: "TB-01", CodeKey: "tb-01", LandManager: "Wrenlow Valley Parks", Taxon: "Cornus sericea"},
		{ID: "a", Code: "TB-02", CodeKey: "tb-02", LandManager: "Wrenlow Valley Parks", Taxon: "Cornus sericea"},
	}
	for _, c := range change {
		c(&stands[1])
	}
	return stands
}

func newPermit(change ...func(*models.NewPermit)) models.NewPermit {
	req := models.NewPermit{
		Number: " WV-2026-12 ", Stands: []string{"TB-01", "TB-02"}, By: "OP",
		PermitTerms: models.PermitTerms{
			Kind: models.PermitPaper, Issuer: "Wrenlow  Valley Parks", Taxa: []string{"Cornus sericea", "cornus sericea"},
			Quantity: ptr(models.DecimalOf(200)), People: []string{"RQ, OP", "rq", " "}, ValidFrom: date("2026-11-01"), ValidTo: date("2027-03-31"),
		},
	}
	for _, c := range change {
		c(&req)
	}
	return req
}

func consent(r *models.NewPermit) {
	r.PermitTerms = models.PermitTerms{Kind: models.ConsentPaper, Issuer: "the Sedge River people", ValidFrom: date("2026-11-01"), Conditions: "ask again each autumn"}
}

func TestAPermitIsMade(t *testing.T) {
	got, warnings, err := rules.EnterPermit(newPermit(), covered())
	if err != nil || len(warnings) > 0 {
		t.Fatal(warnings, err)
	}
	if got.Number != "WV-2026-12" || got.NumberKey != "wv-2026-12" || got.Issuer != "Wrenlow Valley Parks" || got.Unit != models.InStems || got.Version != 1 {
		t.Errorf("%+v", got)
	}
	if !slices.Equal(got.People, []string{"RQ", "OP"}) || !slices.Equal(got.Taxa, []string{"Cornus sericea"}) || !slices.Equal(got.StandIDs, []string{"a", "b"}) {
		t.Errorf("people %q, taxa %q, stands %q", got.People, got.Taxa, got.StandIDs)
	}
	got, warnings, err = rules.EnterPermit(newPermit(consent), covered(func(s *models.CoveredStand) { s.GatheringPlaceOf = "the Heron people, The Sedge River people" }))
	if err != nil || got.Unit != "" || got.Quantity != nil {
		t.Errorf("%+v, %v", got, err)
	}
	if len(warnings) != 1 || !strings.Contains(warnings[0], "TB-01 is not marked as a gathering place: withy stand edit TB-01 --gathering-place-of says whose it is") {
		t.Errorf("the warnings are %q", warnings)
	}
}

func TestWhatIsNoPermit(t *testing.T) {
	long := strings.Repeat("x", 2001)
	of := func(q string) func(*models.NewPermit) {
		return func(r *models.NewPermit) { r.Quantity = ptr(models.MustDecimal(q)) }
	}
	counts := func(u models.PermitUnit) func(*models.NewPermit) { return func(r *models.NewPermit) { r.Unit = u } }
	for _, c := range []struct {
		name   string
		change []func(*models.NewPermit)
		stands []models.CoveredStand
		code   string
		says   []string
	}{
		{"nothing", []func(*models.NewPermit){func(r *models.NewPermit) { *r = models.NewPermit{} }}, nil, "invalid",
			[]string{"number is missing", "kind is missing: it is permit, leave or consent", "issuer is missing", "valid_from is missing: the first day it holds", "stands is missing: name at least one stand it covers"}},
		{"a number that is none", []func(*models.NewPermit){func(r *models.NewPermit) { r.Number = "../x" }}, covered(), "invalid",
			[]string{`number is "../x", and must begin with a letter or a digit, such as WV-2026-12`}},
		{"a long number", []func(*models.NewPermit){func(r *models.NewPermit) { r.Number = strings.Repeat("9", 41) }}, covered(), "invalid", []string{"number is 41 characters long"}},
		{"of no kind", []func(*models.NewPermit){func(r *models.NewPermit) { r.Kind = "pass" }}, covered(), "invalid", []string{`kind is "pass", and must be permit, leave or consent`}},
		{"long texts", []func(*models.NewPermit){func(r *models.NewPermit) {
			r.Issuer, r.LandManager, r.Parcels, r.Conditions, r.Authority, r.Paper, r.By = long, long, long, long, long, long, long
			r.People = []string{long}
		}}, covered(), "invalid", []string{"issuer is 2001", "land_manager is", "parcels is", "conditions is", "authority is", "paper is 2001 characters long, and at most 200", "people[0] is", "by is"}},
		{"hidden text", []func(*models.NewPermit){func(r *models.NewPermit) { r.Conditions = "by hand\x00" }}, covered(), "invalid", []string{"conditions holds a control character"}},
		{"ends before it begins", []func(*models.NewPermit){func(r *models.NewPermit) { r.ValidTo = date("2026-10-31") }}, covered(), "out-of-order",
			[]string{"valid_to is 2026-10-31, before the first day, 2026-11-01"}},
		{"of nothing", []func(*models.NewPermit){of("0")}, covered(), "invalid", []string{"quantity is 0, and must be over 0 and up to 10000000"}},
		{"below nothing", []func(*models.NewPermit){of("-5")}, covered(), "invalid", []string{"quantity is -5, and must be over 0"}},
		{"of too much", []func(*models.NewPermit){of("10000001")}, covered(), "invalid", []string{"quantity is 10000001, and must be over 0 and up to 10000000"}},
		{"of half a stem", []func(*models.NewPermit){of("1.5")}, covered(), "invalid", []string{"quantity is 1.5, and stems are counted in whole numbers"}},
		{"of half a cutting", []func(*models.NewPermit){of("1.5"), counts(models.InCuttings)}, covered(), "invalid", []string{"quantity is 1.5, and cuttings are counted in whole numbers"}},
		{"by the armful", []func(*models.NewPermit){counts("armfuls")}, covered(), "invalid", []string{`unit is "armfuls", and must be stems, cuttings, bundles or kg`}},
		{"too many names", []func(*models.NewPermit){func(r *models.NewPermit) {
			r.Taxa, r.People = nil, nil
			for n := range 101 {
				r.Taxa, r.People = append(r.Taxa, "t"+strings.Repeat("x", n%70)+string(rune('a'+n/70))), append(r.People, strings.Repeat("p", n%70)+string(rune('a'+n/70)))
			}
		}}, covered(), "invalid", []string{"taxa has 101 names, and at most 100 are kept", "people has 101 names"}},
		{"too many stands", nil, make([]models.CoveredStand, 201), "invalid", []string{"stands has 201 stands, and at most 200 are kept"}},
		{"a consent by number", []func(*models.NewPermit){consent, of("20")}, covered(), "invalid", []string{"quantity is 20, and a consent has none: write its terms into conditions"}},
		{"a consent that counts", []func(*models.NewPermit){consent, counts(models.InKG)}, covered(), "invalid", []string{`unit is "kg", and a consent counts nothing: leave it out`}},
		{"a consent of nobody", []func(*models.NewPermit){consent, func(r *models.NewPermit) { r.Issuer = " " }}, covered(), "invalid", []string{"issuer is missing"}},
		{"a consent with authority", []func(*models.NewPermit){consent, func(r *models.NewPermit) { r.Authority = "board" }}, covered(), "invalid",
			[]string{`authority is "board", and a consent is no authority over what is protected: enter that as a permit`}},
		{"a consent of others", []func(*models.NewPermit){consent}, covered(func(s *models.CoveredStand) { s.GatheringPlaceOf = "the Heron people" }), "permit-misfit",
			[]string{`issuer is "the Sedge River people", and TB-02 is a gathering place of the Heron people: the consent is theirs to give`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, err := rules.EnterPermit(newPermit(c.change...), c.stands)
			e := models.AsError(err)
			if e == nil || e.Code != c.code || len(e.Fields) != len(c.says) {
				t.Fatalf("it is %v, want %s and %q", err, c.code, c.says)
			}
			for _, says := range c.says {
				if !strings.Contains(e.Error(), says) {
					t.Errorf("%q does not say %q", e.Error(), says)
				}
			}
		})
	}
}

// Parts of bundles and kilograms are no slip.
func TestPartsOfAQuantity(t *testing.T) {
	for _, unit := range []models.PermitUnit{models.InBundles, models.InKG} {
		req := newPermit(func(r *models.NewPermit) { r.Quantity, r.Unit = ptr(models.MustDecimal("2.5")), unit })
		if _, _, err := rules.EnterPermit(req, covered()); err != nil {
			t.Errorf("%s: %v", unit, err)
		}
	}
}

func TestWhatAPermitLeavesToLookAt(t *testing.T) {
	stands := covered(func(s *models.CoveredStand) {
		s.Taxon, s.LandManager = "Salix scouleriana", "Sorrel Flat Ditch Company"
	})
	req := newPermit(func(r *models.NewPermit) { r.LandManager = "wrenlow valley parks" })
	_, warnings, err := rules.EnterPermit(req, stands)
	want := []string{
		"TB-02 is a stand of Salix scouleriana, which WV-2026-12 does not name: nothing can be cut there on it",
		"TB-02 is on the land of Sorrel Flat Ditch Company, and WV-2026-12 is for that of wrenlow valley parks",
	}
	if err != nil || !slices.Equal(warnings, want) {
		t.Errorf("the warnings are %q (%v)", warnings, err)
	}
}

var changedAt = time.Date(2026, 12, 1, 9, 0, 0, 0, time.UTC)

func kept(t *testing.T, draws string) models.Permit {
	t.Helper()
	p, _, err := rules.EnterPermit(newPermit(), covered())
	if err != nil {
		t.Fatal(err)
	}
	p.Drawn = models.MustDecimal(draws)
	return p
}

// An edit changes what it names, and keeps the terms before with who, why and when.
func TestAnEditKeepsTheTermsBefore(t *testing.T) {
	before := kept(t, "24")
	edit := models.PermitEdit{
		Issuer: models.SetTo("valley board"), Quantity: models.SetTo(models.DecimalOf(20)), People: models.SetNull[[]string](),
		ValidTo: models.SetNull[models.Date](), Conditions: models.SetTo(" hand  tools"), Why: " a new  paper", By: "OP",
	}
	after, changed, warnings, err := rules.EditPermit(before, covered(), covered()[:1], edit, changedAt)
	if err != nil || !changed {
		t.Fatal(changed, err)
	}
	if after.Issuer != "valley board" || *after.Quantity != models.DecimalOf(20) || len(after.People) != 0 || !after.ValidTo.IsZero() ||
		after.Conditions != "hand tools" || after.ValidFrom != before.ValidFrom || !slices.Equal(after.StandIDs, []string{"b"}) {
		t.Errorf("%+v", after)
	}
	if !slices.Equal(warnings, []string{"TB-02 is covered no longer"}) {
		t.Errorf("the warnings are %q", warnings)
	}
	e := after.Earlier[0]
	if len(after.Earlier) != 1 || e.Terms.Issuer != "Wrenlow Valley Parks" || *e.Terms.Quantity != models.DecimalOf(200) || !slices.Equal(e.Terms.People, []string{"RQ", "OP"}) ||
		!slices.Equal(e.Stands, []string{"TB-01", "TB-02"}) || e.Why != "a new paper" || e.ChangedBy != "OP" || !e.ChangedAt.Equal(changedAt) {
		t.Errorf("before it was %+v", e)
	}
	again, _, _, err := rules.EditPermit(after, covered()[:1], covered()[:1], models.PermitEdit{Paper: models.SetTo("folder 4"), Why: "moved"}, changedAt.Add(time.Hour))
	if err != nil || len(again.Earlier) != 2 || again.Earlier[1].Terms.Issuer != "valley board" || len(after.Earlier) != 1 {
		t.Errorf("%+v, %v", again.Earlier, err)
	}
	for at, issuer := range map[time.Time]string{changedAt.Add(-time.Second): "Wrenlow Valley Parks", changedAt: "valley board", changedAt.Add(2 * time.Hour): "valley board"} {
		if got := again.TermsAt(at); got.Issuer != issuer {
			t.Errorf("at %s the issuer was %s", at, got.Issuer)
		}
	}

	view := rules.PermitView(&again, []string{"TB-01"}, date("2026-12-01"))
	if *view.Left != 0 || !view.Holds || !slices.Equal(view.Warnings, []string{"24 stems are drawn on it, 4 more than its 20"}) {
		t.Errorf("%+v", view)
	}
	if early := rules.PermitView(&before, []string{"TB-01"}, date("2026-10-31")); early.Holds || *early.Left != models.DecimalOf(176) || len(early.Warnings) != 0 {
		t.Errorf("%+v", early)
	}
}

func TestAnEditThatChangesNothing(t *testing.T) {
	before := kept(t, "0")
	edit := models.PermitEdit{Issuer: models.SetTo("Wrenlow Valley  Parks"), Unit: models.SetNull[models.PermitUnit](), Why: "nothing"}
	after, changed, warnings, err := rules.EditPermit(before, covered(), covered(), edit, changedAt)
	if err != nil || changed || len(after.Earlier) != 0 || !slices.Equal(warnings, []string{"everything is as it was, so nothing was changed"}) {
		t.Errorf("%+v, %v, %q, %v", after, changed, warnings, err)
	}
}

func TestEditsOfAPermitThatCannotBe(t *testing.T) {
	for _, c := range []struct {
		name   string
		draws  string
		edit   models.PermitEdit
		stands []models.CoveredStand
		code   string
		says   []string
	}{
		{"without a why", "0", models.PermitEdit{Paper: models.SetTo("folder 4")}, covered(), "invalid", []string{"why is missing"}},
		{"no issuer", "0", models.PermitEdit{Issuer: models.SetNull[string](), Why: "w"}, covered(), "invalid", []string{"issuer is missing"}},
		{"no first day, no kind", "0", models.PermitEdit{ValidFrom: models.SetNull[models.Date](), Kind: models.SetNull[models.PermitKind](), Why: "w"}, covered(), "invalid", []string{"kind is missing", "valid_from is missing"}},
		{"no stands", "0", models.PermitEdit{Stands: models.SetTo([]string{}), Why: "w"}, nil, "invalid", []string{"stands is missing"}},
		{"days the wrong way round", "0", models.PermitEdit{ValidTo: models.SetTo(date("2026-01-01")), Why: "w"}, covered(), "out-of-order", []string{"valid_to is 2026-01-01"}},
		{"nothing at all", "0", models.PermitEdit{Quantity: models.SetTo(models.Decimal(0)), Why: "w"}, covered(), "invalid", []string{"quantity is 0"}},
		{"another unit, drawn", "24", models.PermitEdit{Unit: models.SetTo(models.InKG), Why: "w"}, covered(), "permit-drawn",
			[]string{"unit is kg, and batches draw 24 stems on it: enter a permit that counts kg under a number of its own"}},
		{"a consent, drawn", "24", models.PermitEdit{Kind: models.SetTo(models.ConsentPaper), Quantity: models.SetNull[models.Decimal](), Why: "w"}, covered(), "permit-drawn",
			[]string{"kind is consent, and batches were cut on it, which draw 24 stems: enter the consent under a number of its own"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			before := kept(t, c.draws)
			after, changed, _, err := rules.EditPermit(before, covered(), c.stands, c.edit, changedAt)
			e := models.AsError(err)
			if e == nil || e.Code != c.code || len(e.Fields) != len(c.says) || changed || len(after.Earlier) != 0 {
				t.Fatalf("it is %v, want %s and %q", err, c.code, c.says)
			}
			for _, says := range c.says {
				if !strings.Contains(e.Error(), says) {
					t.Errorf("%q does not say %q", e.Error(), says)
				}
			}
		})
	}
	before := kept(t, "0")
	edit := models.PermitEdit{Kind: models.SetTo(models.ConsentPaper), Issuer: models.SetTo("the Sedge River people"), Quantity: models.SetNull[models.Decimal](), Why: "it was one"}
	if after, changed, _, err := rules.EditPermit(before, covered(), covered(), edit, changedAt); err != nil || !changed || after.Unit != "" {
		t.Errorf("nothing is drawn, and it becomes no consent: %+v, %v", after, err)
	}
}

// A permit is told in the days of notice before its end, the last of them too, and once
// after it.
func TestPermitNotices(t *testing.T) {
	p := permit(drawn("76"), func(p *models.Permit) { p.StandIDs, p.ValidTo = []string{"2", "1"}, date("2026-05-19") })
	codes := map[string]string{"1": "TB-01", "2": "TB-02"}
	const covers = ". It covers TB-01, TB-02"
	for _, c := range []struct {
		before, on string
		text       string
		crossed    bool
	}{
		{"2026-01-12", "2026-01-18", "", false},
		{"2026-01-12", "2026-01-19", "permit WV-12 of Wrenlow Valley Parks ends on 2026-05-19, in 120 days, with 24 of 100 stems left" + covers, true},
		{"2026-01-19", "2026-01-26", "permit WV-12 of Wrenlow Valley Parks ends on 2026-05-19, in 113 days, with 24 of 100 stems left" + covers, false},
		{"2026-05-12", "2026-05-18", "permit WV-12 of Wrenlow Valley Parks ends on 2026-05-19, in 1 day, with 24 of 100 stems left" + covers, false},
		{"2026-05-12", "2026-05-19", "permit WV-12 of Wrenlow Valley Parks ends on 2026-05-19, the day of this reminder, with 24 of 100 stems left" + covers, false},
		{"2026-05-19", "2026-05-26", "permit WV-12 of Wrenlow Valley Parks ended on 2026-05-19: cut no more on it", true},
		{"2026-05-20", "2026-05-27", "", false},
		{"2025-12-01", "2026-06-01", "permit WV-12 of Wrenlow Valley Parks ended on 2026-05-19: cut no more on it", true},
	} {
		got := rules.PermitNotices([]models.Permit{p}, codes, date(c.before), date(c.on), rules.DefaultSettings())
		if c.text == "" {
			if len(got) != 0 {
				t.Errorf("on %s: %+v", c.on, got)
			}
			continue
		}
		if len(got) != 1 || got[0].Text != c.text || got[0].Crossed != c.crossed || got[0].Permit != "WV-12" || got[0].EndsOn != p.ValidTo {
			t.Errorf("on %s: %+v, want %q", c.on, got, c.text)
		}
	}
	endless := permit(func(p *models.Permit) { p.ValidTo = models.Date{} })
	if got := rules.PermitNotices([]models.Permit{endless}, codes, date("2026-01-12"), date("2026-01-19"), rules.DefaultSettings()); len(got) != 0 {
		t.Errorf("without an end: %+v", got)
	}
	consent := permit(func(p *models.Permit) {
		p.PermitTerms = models.PermitTerms{Kind: models.ConsentPaper, Issuer: "the Heron people", ValidFrom: date("2025-01-01"), ValidTo: date("2026-01-18")}
	})
	got := rules.PermitNotices([]models.Permit{consent}, codes, date("2026-01-12"), date("2026-01-19"), rules.DefaultSettings())
	if len(got) != 1 || got[0].Text != "the consent WV-12 of the Heron people ended on 2026-01-18: ask them again before you cut" {
		t.Errorf("%+v", got)
	}
	many := permit(func(p *models.Permit) {
		p.Kind, p.Quantity, p.ValidTo, p.StandIDs = models.LeavePaper, nil, date("2026-01-20"), []string{"7", "6", "5", "4", "3", "2", "1"}
	})
	for _, id := range []string{"3", "4", "5", "6", "7"} {
		codes[id] = "TB-0" + id
	}
	want := "the leave WV-12 of Wrenlow Valley Parks ends on 2026-01-20, in 1 day. It covers TB-01, TB-02, TB-03, TB-04, TB-05 and 2 stands more"
	if got := rules.PermitNotices([]models.Permit{many}, codes, date("2026-01-12"), date("2026-01-19"), rules.DefaultSettings()); len(got) != 1 || got[0].Text != want {
		t.Errorf("%+v", got)
	}
}
