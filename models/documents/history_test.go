package documents

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"withybed/models"
)

func dayOf(text string) models.Date { return models.MustDate(text) }

func countOf(n int) *int { return &n }

// fullRecord is a batch to which nearly everything happened, its lists out of
// order.
func fullRecord() *models.BatchRecord {
	entered := time.Date(2026, 1, 18, 3, 0, 0, 0, time.UTC)
	return &models.BatchRecord{
		Batch: models.Batch{
			Code: "MB-03-2026-7", CollectedOn: dayOf("2026-01-17"), WaitingFrom: dayOf("2026-01-17"), StemsCut: 24, Cuttings: 72,
			CollectedBy: "RQ", AlreadyCut: true, RefusedBy: "30 of 42 stems are taken", Reason: "two crews cut on one morning", EnteredAt: entered,
		},
		Moves: []models.Move{
			{MovedOn: dayOf("2026-01-18"), To: models.ToLost, Count: 3, Cause: models.KnockedOut, Entry: 4},
			{MovedOn: dayOf("2026-01-18"), To: models.ToUsed, Count: 5, Use: "staked on the bank", Entry: 3},
			{MovedOn: dayOf("2026-01-17"), To: models.ToSoak, Count: 40, Entry: 2},
			{MovedOn: dayOf("2026-01-18"), To: models.ToColdStore, Count: 4, Entry: 5},
		},
		Splits: []models.Split{
			{SplitOn: dayOf("2026-01-18"), Count: 10, Sister: "MB-03-2026-8", Treatment: "wound: two strips", Source: models.FromWaiting, Entry: 6},
			{SplitOn: dayOf("2026-04-01"), Count: 11, Sister: "MB-03-2026-9", Source: models.FromTray, Entry: 13},
		},
		Sticking: &models.Sticking{StuckOn: dayOf("2026-01-19"), Count: 50, Entry: 7, Tray: models.Tray{
			Medium: "perlite", Container: "deep flat", Bench: "B2", StuckBy: "RQ", Mist: true,
			BottomHeat: &models.BottomHeat{Recorded: true, Heated: true, Celsius: 21.5}}},
		Checks: []models.Check{
			{CheckedOn: dayOf("2026-03-01"), Entry: 10, Lost: models.Losses{}, LostRooted: models.Losses{models.Eaten: 1, models.Mould: 2}, Withdrawn: 2, Note: "slugs"},
			{CheckedOn: dayOf("2026-02-07"), Rooted: countOf(31), PottingRoots: countOf(18), Overlong: countOf(1),
				Lost: models.Losses{models.RottedBase: 3}, CheckedBy: "RQ", Method: models.Tug, Entry: 8},
			{CheckedOn: dayOf("2026-02-14"), Examined: countOf(10), Rooted: countOf(7), Method: models.ClearJar, CheckedBy: "OP", Entry: 9},
		},
		Pottings: []models.Potting{{PottedOn: dayOf("2026-03-14"), Count: 31, Container: "1-gallon pot", Bench: "Yard 1", PottedBy: "RQ", Entry: 11}},
		Decisions: []models.Decision{
			{DecidedOn: dayOf("2026-03-20"), Action: models.Keep, UntilDay: dayOf("2026-03-31"), DecidedBy: "OP", Why: "callus on most", Entry: 12},
			{DecidedOn: dayOf("2026-04-01"), Action: models.Restick, DecidedBy: "OP", Entry: 13},
			{DecidedOn: dayOf("2026-04-02"), Action: models.CloseBatch, Entry: 15},
		},
		Reviews: []models.Review{
			{EnteredAt: time.Date(2026, 4, 2, 4, 0, 0, 0, time.UTC), Accepted: true, Reason: "counted again", ReviewedBy: "OP", Entry: 14},
		},
	}
}

func TestHistory(t *testing.T) {
	place := time.FixedZone("seven behind", -7*3600)
	want := []string{
		"2026-01-17 RQ cut 24 stems and made 72 cuttings; recorded against a rule: 30 of 42 stems are taken; reason: two crews cut on one morning",
		"2026-01-17 40 put to soak",
		"2026-01-18 5 used unrooted: staked on the bank",
		"2026-01-18 3 lost before sticking: knocked out",
		"2026-01-18 4 put into the cold store",
		"2026-01-18 10 split off as MB-03-2026-8; treatment: wound: two strips",
		"2026-01-19 RQ stuck 50: perlite, deep flat, B2, bottom heat 21.5 °C, under mist; treatment: none",
		"2026-02-07 RQ looked (tug): 31 rooted, 18 of them with potting roots, 1 of these too long, 16 unrooted; lost since: 3 rotted base",
		"2026-02-14 OP looked at 10 of the tray (clear jar): 7 rooted",
		"2026-03-01 looked: roots not examined, 14 unrooted; rooted ones lost since: 2 mould, 1 eaten; 2 taken out unrooted; note: slugs",
		"2026-03-14 RQ potted 31: 1-gallon pot, Yard 1; 11 live ones left in the tray",
		"2026-03-20 OP decided to keep it to 2026-03-31: callus on most",
		"2026-04-01 11 unrooted lifted from the tray to be stuck again as MB-03-2026-9",
		"2026-04-01 OP decided to stick the unrooted ones again",
		"2026-04-01 OP accepted the cut as it stands: counted again",
		"2026-04-02 closed the batch",
	}
	var got []string
	for _, l := range History(fullRecord(), place) {
		got = append(got, l.On.String()+" "+l.Text)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// The cut is told with the permit and the share it draws on.
func TestTheHistoryOfACutOnAPermit(t *testing.T) {
	for _, c := range []struct {
		crew, permit string
		unit         models.PermitUnit
		want         string
	}{
		{"", "WV-12", models.InStems, "RQ cut 24 stems and made 72 cuttings, on permit WV-12"},
		{"", "WV-12", models.InKG, "RQ cut 24 stems and made 72 cuttings, on permit WV-12 (2.5 kg)"},
		{"weavers", "", "", "RQ cut 24 stems and made 72 cuttings, from the share of weavers"},
		{"weavers", "WV-12", models.InBundles, "RQ cut 24 stems and made 72 cuttings, from the share of weavers, on permit WV-12 (2.5 bundles)"},
	} {
		r := &models.BatchRecord{
			Batch:  models.Batch{CollectedOn: dayOf("2026-01-17"), StemsCut: 24, Cuttings: 72, CollectedBy: "RQ", PermitQuantity: models.MustDecimal("2.5")},
			Permit: c.permit, PermitUnit: c.unit, Crew: c.crew,
		}
		if got := History(r, time.UTC); len(got) != 1 || got[0].Text != c.want {
			t.Errorf("%+v, want %q", got, c.want)
		}
	}
}

func TestHistoryOfASister(t *testing.T) {
	r := &models.BatchRecord{SplitFrom: "MB-03-2026-7", Batch: models.Batch{
		CollectedOn: dayOf("2026-01-17"), WaitingFrom: dayOf("2026-04-01"), Cuttings: 11}}
	got := History(r, time.UTC)
	if len(got) != 1 || got[0].On != dayOf("2026-04-01") || got[0].Text != "11 cuttings split off MB-03-2026-7, cut on 2026-01-17" {
		t.Errorf("got %+v", got)
	}
}

// A record that cannot be replayed is still told, without the numbers that are
// worked out.
func TestHistoryOfAFaultyRecord(t *testing.T) {
	r := fullRecord()
	r.Cuttings = 0
	if got := len(History(r, time.UTC)); got != 16 {
		t.Errorf("got %d lines, want all 16", got)
	}
}

func TestSentences(t *testing.T) {
	cases := []struct{ got, want string }{
		{heat(nil), ""},
		{heat(&models.BottomHeat{Recorded: true}), "no bottom heat"},
		{heat(&models.BottomHeat{Recorded: true, Heated: true}), "bottom heat"},
		{stuck(&models.Sticking{Count: 7}), "stuck 7; treatment: none"},
		{movedTo(&models.Move{To: models.ToUsed, Count: 2}), "2 used unrooted"},
		{movedTo(&models.Move{To: models.ToRefrigerator, Count: 2}), "2 put into the refrigerator"},
		{decided(&models.Decision{Action: models.Discard, DecidedBy: "OP", Why: "black"}), "OP decided to throw out the unrooted ones: black"},
		{reviewed(&models.Review{ReviewedBy: "OP", Reason: "count again first"}), "OP left the cut to review: count again first"},
		{looked(&models.Check{Unrooted: countOf(4)}, countOf(4)), "looked: roots not examined, 4 unrooted"},
	}
	for _, c := range cases {
		if c.got != c.want {
			t.Errorf("got  %q\nwant %q", c.got, c.want)
		}
	}
}

func TestOneOfAThingIsNotMany(t *testing.T) {
	r := &models.BatchRecord{Batch: models.Batch{CollectedOn: dayOf("2026-01-17"), StemsCut: 1, Cuttings: 1, CollectedBy: "RQ"}}
	if got := History(r, time.UTC)[0].Text; got != "RQ cut 1 stem and made 1 cutting" {
		t.Errorf("a batch begins with %q", got)
	}
	r.SplitFrom, r.WaitingFrom = "MB-03-2026-1", dayOf("2026-01-18")
	if got := History(r, time.UTC)[0]; got.Text != "1 cutting split off MB-03-2026-1, cut on 2026-01-17" || got.On != r.WaitingFrom {
		t.Errorf("a sister begins on %s with %q", got.On, got.Text)
	}
	r.Code, r.Stand = "MB-03-2026-2", "MB-03"
	if got := ReviewNotice(r).Text; got != "1 stem cut at MB-03 on 2026-01-17 by RQ" {
		t.Errorf("a review begins with %q", got)
	}
}
