package documents_test

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"

	"withybed/models"
	"withybed/models/documents"
)

// landPage is a page with a stand of everything and one of next to nothing.
func landPage() models.Land {
	left, quantity := models.DecimalOf(76), models.DecimalOf(100)
	over := course()
	over.Stand = "MB-03"
	return models.Land{
		Nursery: valley, LandManager: "Wrenlow Valley Parks", From: day("2025-07-01"), To: day("2026-06-30"), MadeOn: day("2026-01-17"),
		Totals: models.LandTotals{Ours: 36, Within: 20, Against: 16, Others: 12, SetAside: 5, All: 53},
		Stands: []models.LandStand{
			{
				Stand: "MB-03", Name: "Mallow Bend, <upper> bank", Taxon: "Cornus sericea", CommonName: "red-osier dogwood", Place: "Mallow Bend",
				StandUse: models.StandUse{
					Limit: 33, Taken: 48, SetAside: 5, Left: ptrTo(0), Over: 15, Exceeded: "48 stems were taken in the 350 days to 2026-01-16, 15 over the limit of 33 as it is known now",
					Binding: &models.Binding{Code: "stand", Detail: "53 of 33 stems are taken in the 350 days to 2026-01-17"}, OpenFrom: ptrTo(day("2026-10-31")),
					State: models.StandAtRest, StateDetail: "the stand rests from 2026-01-17 to 2026-10-30 (batch MB-03-2026-1 was cut over a limit)",
					Survey: &models.SurveyBrief{SurveyedOn: day("2025-09-12"), Method: models.PlotCount, LowerBound: models.MustDecimal("663.2")}, SurveyAge: ptrTo(127), SurveyGood: true,
					Permit: models.PermitOnFile, PermitNo: "WV-2026-12", PermitTo: day("2026-03-31"),
				},
				Totals: models.LandTotals{Ours: 36, Within: 20, Against: 16, Others: 12, SetAside: 5, All: 53},
				Kinds:  []models.LandKind{{Kind: models.Cut, Entries: 2, Stems: 40}},
				Cuts: []models.LandCut{
					{On: day("2025-11-15"), Stems: 24, Kind: models.Cut, Ours: true, Batch: "MB-03-2025-1", By: "RQ", Permit: "WV-2026-12"},
					{On: day("2025-11-15"), Stems: -4, Kind: models.Corrected, Ours: true, Batch: "MB-03-2025-1", By: "OP", Permit: "WV-2026-12", Note: "counted again from the bundle"},
					{On: day("2026-01-05"), Stems: 12, Kind: models.Others, By: "OP", Note: "5 to 12 stems cut by others (valley basket weavers) from 2026-01-03 to 2026-01-05: cut stubs seen on the bank"},
					{On: day("2026-01-16"), Stems: 16, Kind: models.Cut, Ours: true, Batch: "MB-03-2026-1", By: models.NotListed, RefusedBy: "16 stems of MB-03 on 2026-01-16 are refused", ToReview: true},
				},
				Beyond: []models.LandOver{
					{On: day("2026-01-05"), Taken: 36, Limit: 33, Over: 3, Since: day("2026-01-20"), By: "the cut of others of 2026-01-05", Within: true},
					{On: day("2026-01-16"), Taken: 52, Limit: 33, Over: 19, Since: day("2026-01-17"), By: "batch MB-03-2026-1, cut on 2026-01-16"},
				},
				Shares: []models.LandShare{{Crew: "C", From: day("2026-01-17"), To: day("2026-01-24"), Left: 5}},
				Permits: []models.LandPermit{
					{Number: "WV-2026-12", Kind: models.PermitPaper, Issuer: "the valley board", ValidFrom: day("2025-11-01"), ValidTo: day("2026-03-31"), Quantity: &quantity, Left: &left, Unit: models.InStems},
					{Number: "L-7", Kind: models.LeavePaper, Issuer: "Wrenlow Valley Parks", ValidFrom: day("2024-01-01")},
				},
				NestLook: &models.NestLook{CheckedOn: day("2026-01-10"), CheckedBy: "RQ"},
				Cleaning: &models.ToolCleaning{CleanedOn: day("2026-01-16"), CleanedBy: "RQ", How: "brushed, then alcohol"},
				Course:   over,
			},
			{
				Stand: "RS-1", Name: "Rook Slope", Taxon: "Salix scouleriana",
				StandUse: models.StandUse{Left: ptrTo(0), Binding: &models.Binding{Code: "survey", Detail: "the stand was not counted on or before 2026-01-17"},
					State: models.StandUncounted, StateDetail: "the stand was not counted on or before 2026-01-17", Instead: "not before a new count", Permit: models.PermitUnknown},
				NestLook: &models.NestLook{CheckedOn: day("2026-01-10"), CheckedBy: models.NotListed, NestsFound: true},
				Course:   models.Course{Stand: "RS-1", From: day("2025-07-01"), To: day("2026-06-30"), Today: day("2026-01-17"), Points: []models.CoursePoint{{On: day("2025-07-01")}}},
			},
			{
				Stand: "SA-2", Name: "Sorrel Cut", Taxon: "Cornus sericea",
				StandUse: models.StandUse{Limit: 12, State: models.StandSalvage, StateDetail: "salvage to 2026-02-01, free of caps: a road (authority: county roads)", OpenFrom: ptrTo(day("2026-01-17")), Permit: models.PermitMissing},
				Course:   models.Course{Stand: "SA-2", From: day("2025-07-01"), To: day("2026-06-30"), Today: day("2026-01-17"), Points: []models.CoursePoint{{On: day("2025-07-01"), Limit: 12}}},
			},
		},
	}
}

func TestLandAsKnownSaysSo(t *testing.T) {
	l := models.Land{Place: "Mallow Bend", From: day("2025-07-01"), To: day("2026-06-30"), MadeOn: day("2026-01-17"), KnownOn: day("2026-01-10")}
	text := strings.Join(strings.Fields(documents.LandText(&l)), " ")
	if !strings.Contains(text, "Made on Saturday 2026-01-17, as known on 2026-01-10; what is left and what holds is told of that day.") {
		t.Error(text)
	}
}

func TestLandText(t *testing.T) {
	l := landPage()
	text := documents.LandText(&l)
	wantGolden(t, "land.txt", text)
	for line := range strings.Lines(text) {
		if n := utf8.RuneCountInString(strings.TrimRight(line, "\n")); n > 80 {
			t.Errorf("%d columns: %s", n, line)
		}
	}
	none := models.Land{Place: "Mallow Bend", From: day("2025-07-01"), To: day("2026-06-30"), MadeOn: day("2026-01-17")}
	if text := documents.LandText(&none); !strings.Contains(text, "Stands at Mallow Bend\n") || !strings.Contains(text, "There are no stands here.") {
		t.Errorf("of no stand:\n%s", text)
	}
}

// The page says the same in each form, is whole in itself, and runs nothing.
func TestLandHTML(t *testing.T) {
	l := landPage()
	html, err := documents.LandHTML(&l)
	if err != nil {
		t.Fatal(err)
	}
	wellFormed(t, string(html))
	for _, want := range []string{
		"<title>" + valley + ": stands on the land of Wrenlow Valley Parks</title>", "MB-03, Mallow Bend, &lt;upper&gt; bank", "OVER ITS LIMIT BY 15",
		"53 stems on its ledger: 36 cut by the nursery (20 within every rule as it was known then, 16 recorded against a rule), 12 by others, 5 set aside for crews.",
		"Within the allowance as it was known then; over it since the cut of others of 2026-01-05 was entered on 2026-01-20.",
		`<td class="n">-4</td>`, "someone not on the list", "permit WV-2026-12 of the valley board, from 2025-11-01 to 2026-03-31, 76 of 100 stems left",
		`<svg role="img" aria-label="Stems taken at MB-03`, "Nothing was taken in the period.", "No number here is leave to cut",
	} {
		if !strings.Contains(string(html), want) {
			t.Errorf("it does not say %q", want)
		}
	}
	for _, never := range []string{"<script", "javascript:", "src=", "href=\"http", "@import", "url(", "\ufffd", "<?xml"} {
		if strings.Contains(strings.ReplaceAll(string(html), `xmlns:xlink="http`, ""), never) {
			t.Errorf("it holds %q", never)
		}
	}
	if n := strings.Count(string(html), "<svg "); n != len(l.Stands) || strings.Count(string(html), "</svg>") != n {
		t.Errorf("%d pictures of %d stands", n, len(l.Stands))
	}
	again, err := documents.LandHTML(&l)
	if err != nil || !bytes.Equal(html, again) {
		t.Errorf("the same page has other bytes: %v", err)
	}
	text := documents.LandText(&l)
	for _, s := range l.Stands {
		for _, word := range []string{s.Stand, s.StateDetail} {
			if !strings.Contains(strings.Join(strings.Fields(text), " "), word) || !strings.Contains(string(html), word) {
				t.Errorf("%q is not in both", word)
			}
		}
	}
}

// Whatever a record is called, it stays a text on the page.
func TestLandHTMLIsEscaped(t *testing.T) {
	const evil = `"><script>alert('x')</script><img src=x onerror=alert(1)>` + "\u202e\x1b[2J"
	l := landPage()
	s := &l.Stands[0]
	l.Nursery, l.LandManager, s.Name, s.Stand, s.Course.Stand, s.CommonName = evil, evil, evil, evil, evil, evil
	s.Cuts[0].Batch, s.Cuts[0].By, s.Cuts[0].Note, s.Beyond[0].By, s.Permits[0].Issuer, s.Cleaning.How = evil, evil, evil, evil, evil, evil
	html, err := documents.LandHTML(&l)
	if err != nil {
		t.Fatal(err)
	}
	wellFormed(t, string(html))
	for _, never := range []string{"<script", "<img", "\u202e", "\x1b"} {
		if strings.Contains(string(html), never) {
			t.Errorf("it holds %q", never)
		}
	}
}

func TestLandPDF(t *testing.T) {
	l := landPage()
	for _, paper := range models.Papers {
		pdf, err := documents.LandPDF(&l, paper)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.HasPrefix(pdf, []byte("%PDF-1.")) || !bytes.HasSuffix(bytes.TrimSpace(pdf), []byte("%%EOF")) {
			t.Fatalf("no PDF: %.20q", pdf)
		}
		if n := bytes.Count(pdf, []byte("/Subtype /Image")); n != len(l.Stands) {
			t.Errorf("%d pictures of %d stands", n, len(l.Stands))
		}
		text := drawn(t, pdf)
		for _, want := range []string{"OVER ITS LIMIT BY 15:", "Next open day", "MB-03, Mallow Bend, <upper> bank", "never counted", "No number here is leave to cut"} {
			if !strings.Contains(text, sixteen(want)) {
				t.Errorf("on %s the PDF does not say %q", paper, want)
			}
		}
		one := l
		one.Stands = l.Stands[:1]
		first, err := documents.LandPDF(&one, paper)
		if err != nil {
			t.Fatal(err)
		}
		again, err := documents.LandPDF(&one, paper)
		if err != nil || !bytes.Equal(first, again) {
			t.Errorf("on %s the same page has other bytes: %v", paper, err)
		}
	}
}
