package documents_test

import (
	"bytes"
	"compress/zlib"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"unicode/utf16"
	"unicode/utf8"

	"withybed/models"
	"withybed/models/documents"
	"withybed/models/rules"
)

// fieldSheet is a sheet with something in every part, that stops at a number.
func fieldSheet(stop int) models.Sheet {
	s := models.Sheet{
		Nursery: "Wrenlow Valley Native Plants", Stand: "MB-03", StandName: "Mallow Bend, upper bank", Place: "Mallow Bend: left bank, from the footbridge to the bend",
		LandManager: "Mallow Bend Land Trust", Taxon: "Cornus sericea", CommonName: "red-osier dogwood",
		IdentityMarks: []string{"Twigs are red in winter, greener on the shaded side.", "Buds stand in pairs, straight across from each other.", "Mistaken for: willows with red bark, whose buds stand singly."},
		On:            day("2026-01-17"), Season: "2025/26", Crew: "Ó Faoláin", Asked: max(24, stop), StopAt: stop,
		Binding: &models.Binding{Code: "stand", Detail: "18 of 42 stems are taken in the 350 days to 2026-01-17"},
		Closure: "no closure holds on 2026-01-17", Leave: "24 stems are within the count. Leave to cut is not on file: ask the land manager (Mallow Bend Land Trust).",
		StemDefinition: models.DefaultStemDefinition, MadeOn: day("2026-01-16"), Tags: []string{},
		Survey:   &models.SurveyBrief{SurveyedOn: day("2025-09-12"), LowerBound: models.MustDecimal("847.0123")},
		Cautions: []string{"Local law, the land manager (Mallow Bend Land Trust) and the permit decide, not this page. Ask first.", "Never alone. Tell someone where you are and when you are back."},
	}
	if stop == 0 {
		s.Leave = "24 stems are not within the count: closed from 01-10 to 02-20 every year (eagles). Leave to cut is not on file: ask the land manager (Mallow Bend Land Trust)."
		s.Why = "closed from 01-10 to 02-20 every year (eagles); a stem would be possible from 2026-02-21"
		return s
	}
	s.ClumpRule, s.OneIn, s.LeastPlants, s.StemsPerBox = "Count the stems of a clump first, then take one stem for every 10 counted on it; fewer than 10, walk on. Cut from at least 12 clumps of the 40 counted, far apart.", 10, 12, 1
	if stop > 200 {
		s.StemsPerBox = 5
	}
	for i := range max(4, stop/25) {
		s.Tags = append(s.Tags, fmt.Sprintf("Ó Faoláin-0117-%d", i+1))
	}
	return s
}

func TestSheetText(t *testing.T) {
	bare := fieldSheet(24)
	bare.IdentityMarks, bare.LandManager, bare.Place, bare.StandName = nil, "", "", ""
	bare.PlaceWithheld, bare.OneIn, bare.Survey = "the place is not printed: the lead knows it", 1, nil
	for name, s := range map[string]models.Sheet{"cut": fieldSheet(30), "none": fieldSheet(0), "many": fieldSheet(1003), "bare": bare} {
		text := documents.SheetText(&s)
		wantGolden(t, "sheet-"+name+".txt", text)
		for line := range strings.Lines(text) {
			if n := utf8.RuneCountInString(strings.TrimRight(line, "\n")); n > 80 {
				t.Errorf("%s: %d columns: %s", name, n, line)
			}
		}
	}
}

// As many boxes are printed as are to be ticked, and every tag.
func TestSheetTextHasEveryBoxAndTag(t *testing.T) {
	for _, stop := range []int{1, 5, 24, 25, 26, 199, 200, 201, 1000} {
		s := fieldSheet(stop)
		text := documents.SheetText(&s)
		if n := strings.Count(text, "[ ]"); n != s.TallyBoxes() {
			t.Errorf("%d stems: %d boxes, want %d", stop, n, s.TallyBoxes())
		}
		for _, tag := range s.Tags {
			if !strings.Contains(text, tag+" ") {
				t.Errorf("%d stems: no tag %s", stop, tag)
			}
		}
	}
}

func sheetPDF(t testing.TB, s models.Sheet, paper models.Paper) []byte {
	t.Helper()
	pdf, err := documents.SheetPDF(&s, paper)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.HasPrefix(pdf, []byte("%PDF-1.")) || !bytes.HasSuffix(bytes.TrimSpace(pdf), []byte("%%EOF")) {
		t.Fatalf("no PDF: %.20q", pdf)
	}
	return pdf
}

var (
	pageObject = regexp.MustCompile(`/Type /Page\b[^s]`)
	stream     = regexp.MustCompile(`(?s)/Length (\d+)>>\nstream\n`)
	rectangle  = regexp.MustCompile(`(?m) re S$`)
)

// drawn is what the streams of a PDF hold, inflated.
func drawn(t testing.TB, pdf []byte) string {
	t.Helper()
	var all strings.Builder
	for _, at := range stream.FindAllSubmatchIndex(pdf, -1) {
		length, err := strconv.Atoi(string(pdf[at[2]:at[3]]))
		if err != nil {
			t.Fatal(err)
		}
		inflated, err := zlib.NewReader(bytes.NewReader(pdf[at[1] : at[1]+length]))
		if err != nil {
			continue
		}
		text, err := io.ReadAll(inflated)
		if err != nil {
			t.Fatal(err)
		}
		all.Write(text)
	}
	return all.String()
}

// sixteen is a text as the PDF writes it, two bytes a character.
func sixteen(text string) string {
	var b strings.Builder
	for _, unit := range utf16.Encode([]rune(text)) {
		b.WriteByte(byte(unit >> 8))
		b.WriteByte(byte(unit))
	}
	return b.String()
}

func TestSheetPDF(t *testing.T) {
	for _, c := range []struct {
		stop, pages int
		says        []string
	}{
		{24, 2, []string{"STOP AT 24 STEMS", "Ó Faoláin-0117-4", "Buds stand in pairs, straight across from each other.", "STEMS CUT ALTOGETHER: "}},
		{0, 1, []string{"NO CUTTING", "Never alone. Tell someone where you are and when you are back."}},
		{1003, 3, []string{"STOP AT 1003 STEMS", "Ó Faoláin-0117-40", "The last box stands for 3."}},
	} {
		for _, paper := range models.Papers {
			s := fieldSheet(c.stop)
			pdf := sheetPDF(t, s, paper)
			if pages := len(pageObject.FindAll(pdf, -1)); pages != c.pages {
				t.Errorf("%d stems on %s: %d pages, want %d", c.stop, paper, pages, c.pages)
			}
			text := drawn(t, pdf)
			for _, word := range c.says {
				if !strings.Contains(text, sixteen(word)) {
					t.Errorf("%d stems: the PDF does not say %q", c.stop, word)
				}
			}
			frame := min(1, c.stop)
			if boxes := len(rectangle.FindAllString(text, -1)); boxes != s.TallyBoxes()+frame {
				t.Errorf("%d stems: %d boxes, want %d and the frame", c.stop, boxes, s.TallyBoxes())
			}
		}
	}
}

func TestSheetPDFIsOfOnePaper(t *testing.T) {
	a4, letter := sheetPDF(t, fieldSheet(24), models.PaperA4), sheetPDF(t, fieldSheet(24), models.PaperLetter)
	if !bytes.Contains(a4, []byte("595.28 841.89")) || !bytes.Contains(letter, []byte("612.00 792.00")) {
		t.Error("the paper is of another size")
	}
	if other := sheetPDF(t, fieldSheet(24), ""); !bytes.Equal(a4, other) {
		t.Error("without a word the paper is not A4")
	}
}

// The same sheet is the same file, however often and wherever it is made.
func TestSheetPDFIsTheSameEveryTime(t *testing.T) {
	first := sheetPDF(t, fieldSheet(300), models.PaperA4)
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			if again := sheetPDF(t, fieldSheet(300), models.PaperA4); !bytes.Equal(first, again) {
				t.Error("the file is another one")
			}
		})
	}
	all.Wait()
	later := fieldSheet(300)
	later.MadeOn = day("2026-01-17")
	if bytes.Equal(first, sheetPDF(t, later, models.PaperA4)) {
		t.Error("a sheet of another day is the same file")
	}
}

// Whatever a crew is called, the sheet is made or the name is refused.
func FuzzSheetCrew(f *testing.F) {
	for _, crew := range []string{"C", "Ó Faoláin", "北 crew", "🌿", "C\x00", "\xff", "(C) \\ %", "-", "' ; rm", "\u202eC", "ﬁ\u0301"} {
		f.Add(crew, 24)
	}
	plants := 40
	stand := &models.StandRecord{
		Stand: models.Stand{Code: "MB-03", Name: "Mallow Bend", Sensitivity: models.LowSensitivity}, Taxon: models.Taxon{ScientificName: "Cornus sericea"},
		Rules: []models.RuleVersion{{HarvestRule: models.HarvestRule{
			StandCap: models.MustDecimal("0.05"), PerPlantCap: models.MustDecimal("0.1"), WindowDays: 350, SurveyValidDays: 500}}},
		Closures: []models.ClosureVersion{{}},
		Surveys:  []models.Survey{{SurveyedOn: day("2025-09-12"), Method: models.ClumpCount, Plants: &plants, LowerBound: models.MustDecimal("8000")}},
	}
	f.Fuzz(func(t *testing.T, crew string, stems int) {
		s, err := rules.FieldSheet(stand, rules.SheetAsked{On: day("2026-01-17"), Stems: stems, Crew: crew}, day("2026-01-16"))
		if err != nil {
			if e := models.AsError(err); e == nil || e.Kind != models.Invalid {
				t.Fatal(err)
			}
			return
		}
		if text := documents.SheetText(&s); !strings.Contains(text, s.Tags[0]) || !utf8.ValidString(text) {
			t.Errorf("no tag %q in %s", s.Tags[0], text)
		}
		if pages := len(pageObject.FindAll(sheetPDF(t, s, models.PaperLetter), -1)); pages < 2 {
			t.Errorf("%d pages", pages)
		}
	})
}
