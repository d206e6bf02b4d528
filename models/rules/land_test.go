package rules_test

import (
	"fmt"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
)

var landZone = time.FixedZone("west", -8*60*60)

// at is an instant on a day of the west, some hours into it.
func at(day string, hour int) time.Time {
	return date(day).At(hour, landZone)
}

// landOf is a stand with a rule of old and a census of 800 stems, 40 of which may be
// cut, with entries on its ledger that are numbered in their order.
func landOf(entries ...models.LandEntry) *models.LandRecord {
	stand := standOf(counted("2026-01-01", "800"))
	stand.Rules[0].EnteredAt, stand.Surveys[0].EnteredAt = at("2025-01-01", 9), at("2026-01-02", 9)
	r := &models.LandRecord{StandRecord: stand}
	for i, e := range entries {
		e.ID, e.StandID = fmt.Sprintf("e-%02d", i), stand.ID
		r.Entries = append(r.Entries, e)
		stand.Ledger = rules.WithStems(stand.Ledger, models.LedgerDay{TakenOn: e.TakenOn, Stems: e.Stems})
	}
	return r
}

func entryOf(kind models.LedgerKind, on string, stems int, entered time.Time, change ...func(*models.LandEntry)) models.LandEntry {
	e := models.LandEntry{}
	e.Kind, e.TakenOn, e.Stems, e.EnteredAt, e.EnteredBy = kind, date(on), stems, entered, "RQ"
	for _, c := range change {
		c(&e)
	}
	return e
}

func batchNo(n int) func(*models.LandEntry) {
	return func(e *models.LandEntry) {
		e.BatchID, e.Batch = ptr(fmt.Sprint("batch ", n)), fmt.Sprintf("TB-01-2026-%d", n)
	}
}

func againstRule(e *models.LandEntry) { e.RefusedBy, e.AwaitsReview = "12 of 40 stems", true }

func ofShare(e *models.LandEntry) { e.ShareID = ptr("share") }

func givingBack(kind models.LedgerKind) func(*models.LandEntry) {
	return func(e *models.LandEntry) { e.CorrectedKind = kind }
}

func landOn(r *models.LandRecord, from, to, today string) models.LandStand {
	return rules.LandStand(r, date(from), date(to), date(today), landZone)
}

func TestALandStandAddsUp(t *testing.T) {
	r := landOf(
		entryOf(models.Cut, "2025-06-30", 5, at("2025-06-30", 9), batchNo(9)), // before the period
		entryOf(models.Others, "2026-01-05", 9, at("2026-01-06", 9)),
		entryOf(models.Voided, "2026-01-05", -9, at("2026-01-07", 9), givingBack(models.Others)),
		entryOf(models.Others, "2026-01-05", 7, at("2026-01-07", 9)),
		entryOf(models.EarlierCut, "2026-01-06", 4, at("2026-01-07", 9)),
		entryOf(models.Voided, "2026-01-06", -4, at("2026-01-08", 9), givingBack(models.EarlierCut)),
		entryOf(models.EarlierCut, "2026-01-06", 3, at("2026-01-08", 9)),
		entryOf(models.Cut, "2026-01-10", 12, at("2026-01-10", 9), batchNo(1), func(e *models.LandEntry) { e.Permit = "WV-1" }),
		entryOf(models.Corrected, "2026-01-10", -2, at("2026-01-12", 9), batchNo(1)),
		entryOf(models.Cut, "2026-01-11", 3, at("2026-01-11", 9), batchNo(2), againstRule),
		entryOf(models.ShareSet, "2026-01-20", 6, at("2026-01-12", 9), ofShare),
		entryOf(models.ShareDrawn, "2026-01-20", -2, at("2026-01-20", 9), ofShare, batchNo(3)),
		entryOf(models.Cut, "2026-01-20", 2, at("2026-01-20", 10), batchNo(3)),
		entryOf(models.Cut, "2026-07-01", 1, at("2026-07-01", 9), batchNo(4)), // after it
	)
	r.Shares = []models.OpenShare{{Share: models.Share{ID: "share", Crew: "C", FromDay: date("2026-01-20"), ToDay: date("2026-01-25")}, Left: 4}}
	got := landOn(r, "2025-07-01", "2026-06-30", "2026-01-21")
	want := models.LandTotals{Ours: 18, Within: 12, Against: 3, Earlier: 3, Others: 7, SetAside: 4, All: 29}
	if got.Totals != want {
		t.Errorf("totals %+v, want %+v", got.Totals, want)
	}
	kinds := []models.LandKind{
		{Kind: models.Others, Entries: 2, Stems: 16}, {Kind: models.Voided, Entries: 2, Stems: -13}, {Kind: models.EarlierCut, Entries: 2, Stems: 7},
		{Kind: models.Cut, Entries: 3, Stems: 17}, {Kind: models.Corrected, Entries: 1, Stems: -2}, {Kind: models.ShareSet, Entries: 1, Stems: 6}, {Kind: models.ShareDrawn, Entries: 1, Stems: -2},
	}
	if !reflect.DeepEqual(got.Kinds, kinds) {
		t.Errorf("kinds %+v, want %+v", got.Kinds, kinds)
	}
	if len(got.Cuts) != 10 || got.Cuts[6] != (models.LandCut{On: date("2026-01-10"), Stems: 12, Kind: models.Cut, Ours: true, Batch: "TB-01-2026-1", By: "RQ", Permit: "WV-1"}) ||
		got.Cuts[1].Ours || !got.Cuts[4].Ours || got.Cuts[8].RefusedBy == "" || !got.Cuts[8].ToReview {
		t.Errorf("cuts %+v", got.Cuts)
	}
	if got.Taken+got.SetAside != 40-*got.Left || got.SetAside != 4 || len(got.Shares) != 1 || got.Shares[0].Left != 4 || len(got.Beyond) != 0 {
		t.Errorf("taken %d, set aside %d, left %d, %+v", got.Taken, got.SetAside, *got.Left, got.Beyond)
	}
	if len(got.Course.Points) == 0 || got.Course.From != date("2025-07-01") || got.Course.Today != date("2026-01-21") {
		t.Errorf("course %+v", got.Course)
	}
}

// What made a day too much is told: the entry that took it over its limit last.
func TestWhatTookADayOverItsLimit(t *testing.T) {
	cut := func(on string, stems, n int, entered time.Time, change ...func(*models.LandEntry)) models.LandEntry {
		return entryOf(models.Cut, on, stems, entered, append(change, batchNo(n))...)
	}
	survey := func(id, on, bound, entered string) models.Survey {
		return models.Survey{ID: id, SurveyedOn: date(on), Method: models.Census, LowerBound: models.MustDecimal(bound), EnteredAt: at(entered, 9)}
	}
	for _, c := range []struct {
		name   string
		record *models.LandRecord
		change func(*models.LandRecord)
		want   models.LandOver
	}{
		{"a batch against a rule", landOf(cut("2026-01-10", 30, 1, at("2026-01-10", 9)), cut("2026-01-16", 15, 2, at("2026-01-17", 23), againstRule)), nil,
			models.LandOver{On: date("2026-01-16"), Taken: 45, Limit: 40, Over: 5, Since: date("2026-01-17"), By: "batch TB-01-2026-2, cut on 2026-01-16"}},
		{"a cut of others entered later", landOf(entryOf(models.Others, "2026-01-05", 12, at("2026-01-20", 9)), cut("2026-01-10", 30, 1, at("2026-01-10", 9))), nil,
			models.LandOver{On: date("2026-01-10"), Taken: 42, Limit: 40, Over: 2, Since: date("2026-01-20"), By: "the cut of others of 2026-01-05", Within: true}},
		{"a correction that raised a batch", landOf(cut("2026-01-10", 38, 1, at("2026-01-10", 9)), entryOf(models.Corrected, "2026-01-10", 4, at("2026-02-01", 9), batchNo(1))), nil,
			models.LandOver{On: date("2026-01-10"), Taken: 42, Limit: 40, Over: 2, Since: date("2026-02-01"), By: "the correction of batch TB-01-2026-1", Within: true}},
		{"a count entered later", landOf(cut("2026-01-10", 30, 1, at("2026-01-10", 9))), func(r *models.LandRecord) {
			r.StandRecord.Surveys = append(r.StandRecord.Surveys, survey("later", "2026-01-08", "400", "2026-02-03"))
		}, models.LandOver{On: date("2026-01-10"), Taken: 30, Limit: 20, Over: 10, Since: date("2026-02-03"), By: "the count of 2026-01-08", Within: true}},
		{"a count that was corrected", landOf(cut("2026-01-10", 30, 1, at("2026-01-10", 9))), func(r *models.LandRecord) {
			r.ReplacedSurveys = []models.ReplacedSurvey{{Survey: r.StandRecord.Surveys[0], ReplacedAt: at("2026-02-03", 9)}}
			r.StandRecord.Surveys = []models.Survey{survey("corrected", "2026-01-01", "400", "2026-02-03")}
		}, models.LandOver{On: date("2026-01-10"), Taken: 30, Limit: 20, Over: 10, Since: date("2026-02-03"), By: "the correction of the count of 2026-01-01", Within: true}},
		{"a rule set later", landOf(cut("2026-01-10", 30, 1, at("2026-01-10", 9))), func(r *models.LandRecord) {
			v := ruleFrom("2026-01-05", "0.02")
			v.ID, v.EnteredAt = "lower", at("2026-02-04", 9)
			r.Rules = append(r.Rules, v)
		}, models.LandOver{On: date("2026-01-10"), Taken: 30, Limit: 16, Over: 14, Since: date("2026-02-04"), By: "the harvest rule in force from 2026-01-05", Within: true}},
		{"a flood that left an ocular count", landOf(cut("2026-01-10", 30, 1, at("2026-01-10", 9))), func(r *models.LandRecord) {
			o := models.Survey{ID: "ocular", SurveyedOn: date("2025-12-01"), Method: models.Ocular, LowerBound: models.MustDecimal("5000"), EnteredAt: at("2025-12-01", 9)}
			n := survey("new", "2026-01-09", "100", "2026-01-09")
			n.Method = models.Ocular
			r.StandRecord.Surveys = []models.Survey{o, r.StandRecord.Surveys[0], n}
			r.StandRecord.Disturbances = []models.Disturbance{{ID: "flood", HappenedOn: date("2026-01-05"), Kind: "flood", EnteredAt: at("2026-02-05", 9)}}
		}, models.LandOver{On: date("2026-01-10"), Taken: 30, Limit: 2, Over: 28, Since: date("2026-01-10"), By: "batch TB-01-2026-1, cut on 2026-01-10", Within: true}},
		{"over, mended, and over again", landOf(
			cut("2026-01-10", 45, 1, at("2026-01-10", 9), againstRule), entryOf(models.Corrected, "2026-01-10", -10, at("2026-01-11", 9), batchNo(1), againstRule),
			entryOf(models.Others, "2026-01-03", 6, at("2026-01-12", 9))), nil,
			models.LandOver{On: date("2026-01-10"), Taken: 41, Limit: 40, Over: 1, Since: date("2026-01-12"), By: "the cut of others of 2026-01-03", Within: true}},
		{"at one instant, in the order of entry", landOf(cut("2026-01-10", 30, 1, at("2026-01-10", 9)), entryOf(models.Others, "2026-01-10", 12, at("2026-01-10", 9))), nil,
			models.LandOver{On: date("2026-01-10"), Taken: 42, Limit: 40, Over: 2, Since: date("2026-01-10"), By: "the cut of others of 2026-01-10", Within: true}},
		{"what is set aside", landOf(cut("2026-01-10", 30, 1, at("2026-01-10", 9)), entryOf(models.ShareSet, "2026-01-20", 12, at("2026-01-11", 9), ofShare)), nil,
			models.LandOver{On: date("2026-01-20"), Taken: 42, Limit: 40, Over: 2, Since: date("2026-01-11"), By: "what is set aside for 2026-01-20", Within: true}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if c.change != nil {
				c.change(c.record)
			}
			got := landOn(c.record, "2025-07-01", "2026-06-30", "2026-03-01").Beyond
			if len(got) != 1 || got[0] != c.want {
				t.Errorf("%+v, want %+v", got, c.want)
			}
		})
	}
}

// No limit holds while the ground is cleared; before and after it one does.
func TestDaysOfSalvageAreNotOverALimit(t *testing.T) {
	r := landOf(
		entryOf(models.Cut, "2026-01-10", 45, at("2026-01-10", 9), batchNo(1)),
		entryOf(models.Cut, "2026-01-12", 200, at("2026-01-12", 9), batchNo(2)),
		entryOf(models.Cut, "2026-01-14", 1, at("2026-01-14", 9), batchNo(3)),
	)
	r.Salvages = []models.SalvagePeriod{{StartsOn: date("2026-01-11"), EndsOn: date("2026-01-13")}}
	var days []string
	for _, over := range landOn(r, "2025-07-01", "2026-06-30", "2026-03-01").Beyond {
		days = append(days, over.On.String())
	}
	if !reflect.DeepEqual(days, []string{"2026-01-10", "2026-01-14"}) {
		t.Errorf("over its limit on %q", days)
	}
}

// Totals are what the entries of the period sum to, however they are dealt out, and a
// day that is over is so by some entry.
func TestALandStandAddsUpWhateverIsEntered(t *testing.T) {
	kinds := rapid.SampledFrom([]models.LedgerKind{models.Cut, models.Others, models.EarlierCut, models.Corrected, models.Voided, models.ShareSet, models.ShareReturned})
	rapid.Check(t, func(t *rapid.T) {
		var entries []models.LandEntry
		for i := range rapid.IntRange(0, 15).Draw(t, "entries") {
			on := date("2026-01-01").Add(rapid.IntRange(0, 60).Draw(t, "on"))
			entered := on.Add(rapid.IntRange(0, 20).Draw(t, "entered")).At(9, landZone)
			e := entryOf(kinds.Draw(t, "kind"), on.String(), rapid.IntRange(-20, 30).Draw(t, "stems"), entered)
			switch {
			case e.Kind == models.ShareSet || e.Kind == models.ShareReturned:
				ofShare(&e)
			case e.Kind == models.Cut || rapid.Bool().Draw(t, "of a batch"):
				batchNo(i)(&e)
				if rapid.Bool().Draw(t, "against a rule") {
					againstRule(&e)
				}
			}
			entries = append(entries, e)
		}
		from, to := date("2026-01-01").Add(rapid.IntRange(0, 30).Draw(t, "from")), date("2026-02-01").Add(rapid.IntRange(0, 30).Draw(t, "to"))
		got := landOn(landOf(entries...), from.String(), to.String(), "2026-03-01")
		all, kinds, cuts := 0, 0, 0
		for _, e := range entries {
			if !e.TakenOn.Before(from) && !e.TakenOn.After(to) {
				all += e.Stems
			}
		}
		for _, k := range got.Kinds {
			kinds += k.Stems
		}
		for _, c := range got.Cuts {
			cuts += c.Stems
		}
		s := got.Totals
		if s.All != all || kinds != all || s.Ours+s.Others+s.SetAside != all || s.Within+s.Against+s.Earlier != s.Ours || cuts != s.Ours+s.Others {
			t.Errorf("the entries sum to %d, and it says %+v, kinds %d, cuts %d", all, s, kinds, cuts)
		}
		for _, over := range got.Beyond {
			if over.By == "" || over.Since.IsZero() || over.Over != over.Taken-over.Limit {
				t.Errorf("%+v", over)
			}
		}
	})
}

func TestLandPermits(t *testing.T) {
	paper := func(number string, kind models.PermitKind, from, to string, quantity, drawn int) models.Permit {
		p := models.Permit{Number: number, Drawn: models.DecimalOf(drawn), StandIDs: []string{"stand"}}
		p.Kind, p.Issuer, p.ValidFrom, p.Unit, p.Conditions, p.People = kind, "the board", date(from), models.InStems, "hand tools only", []string{"Rowan Quill"}
		if to != "" {
			p.ValidTo = date(to)
		}
		if quantity > 0 {
			q := models.DecimalOf(quantity)
			p.Quantity = &q
		}
		return p
	}
	r := landOf()
	r.Permits = []models.Permit{
		paper("A", models.PermitPaper, "2025-11-01", "2026-03-31", 100, 24), paper("B", models.LeavePaper, "2020-01-01", "", 0, 0),
		paper("C", models.ConsentPaper, "2025-11-01", "", 0, 0), paper("D", models.PermitPaper, "2024-11-01", "2025-06-30", 10, 0), paper("E", models.PermitPaper, "2027-01-01", "", 10, 12),
	}
	got := landOn(r, "2025-07-01", "2026-06-30", "2026-03-01").Permits
	if len(got) != 2 || got[0].Number != "A" || *got[0].Left != models.DecimalOf(76) || got[1].Number != "B" || got[1].Left != nil || !got[1].ValidTo.IsZero() {
		t.Errorf("%+v", got)
	}
	if later := landOn(r, "2025-07-01", "2026-06-30", "2027-02-01").Permits; len(later) != 3 || *later[2].Left != 0 {
		t.Errorf("later: %+v", later)
	}
}
