package documents

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"withybed/models"
)

// sheetWidth is the width in characters of a field sheet as text.
const sheetWidth = 80

// SheetText is a field sheet as plain text of 80 columns, to be printed and
// written on by hand. Where nothing may be cut it has no tally and no tags.
func SheetText(s *models.Sheet) string {
	p := newPage(sheetWidth)
	for _, text := range sheetTitle(s) {
		p.write(0, text)
	}
	p.rule()
	p.write(0, stopWords(s))
	p.rule()
	for _, section := range sheetSections(s) {
		p.gap()
		p.write(0, strings.ToUpper(section.heading))
		for _, text := range section.texts {
			p.bullet(text)
		}
		for range section.blanks {
			p.row(strings.Repeat("_", sheetWidth))
		}
	}
	if s.StopAt > 0 {
		p.tally(s)
		p.plants(s)
		p.tags(s)
	}
	p.hand(s)
	return p.String()
}

// section is a part of a field sheet that is read, not written on, but for its
// blank lines.
type section struct {
	heading string
	texts   []string
	blanks  int
}

func sheetTitle(s *models.Sheet) []string {
	titles := []string{
		fmt.Sprintf("%s: field sheet", s.Nursery),
		strings.Join(withMore("Stand "+s.Stand, s.StandName), ", "),
		strings.Join(withMore(s.Taxon, s.CommonName), ", "),
		fmt.Sprintf("%s, season %s, crew %s", dayWords(s.On), s.Season, s.Crew),
	}
	if s.Place != "" {
		titles = append(titles, "Place: "+s.Place)
	}
	if s.PlaceWithheld != "" {
		titles = append(titles, "Place: "+s.PlaceWithheld)
	}
	return append(titles, "Land manager: "+orUnknown(s.LandManager))
}

// withMore are a text and another where there is one.
func withMore(text, more string) []string {
	if more == "" {
		return []string{text}
	}
	return []string{text, more}
}

func orUnknown(text string) string {
	if text == "" {
		return "not on file: find out before you go"
	}
	return text
}

// stopWords is the one thing to keep in mind.
func stopWords(s *models.Sheet) string {
	if s.StopAt == 0 {
		return "NO CUTTING"
	}
	return fmt.Sprintf("STOP AT %s", strings.ToUpper(models.Counted(s.StopAt, "stem")))
}

func sheetSections(s *models.Sheet) []section {
	sections := []section{countSection(s)}
	if s.StopAt > 0 {
		sections = append(sections, section{"From each plant", []string{s.ClumpRule, "A stem is " + s.StemDefinition + ", taken off by one cut."}, 0})
	}
	return append(sections, marksSection(s), section{"Take care", s.Cautions, 0})
}

func countSection(s *models.Sheet) section {
	var texts []string
	if s.Why != "" {
		texts = append(texts, capital(s.Why)+".")
	}
	if s.Share != "" {
		texts = append(texts, capital(s.Share)+".")
	}
	texts = append(texts, s.Leave)
	if s.StopAt > 0 {
		texts = append(texts, "Closures: "+s.Closure+".")
	}
	if s.Survey != nil {
		texts = append(texts, fmt.Sprintf("Last count used: %s, at least %.0f stems by its lower bound.", s.Survey.SurveyedOn, s.Survey.LowerBound.Float()))
	}
	return section{"How much", append(texts, fmt.Sprintf("Worked out on %s. Cuts entered later are not in it: ask again on the day if you can.", s.MadeOn)), 0}
}

// capital is a sentence with its first letter large.
func capital(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(first)) + text[size:]
}

func marksSection(s *models.Sheet) section {
	if len(s.IdentityMarks) > 0 {
		return section{"Is it " + s.Taxon + "?", s.IdentityMarks, 0}
	}
	return section{"Is it " + s.Taxon + "?", []string{"No identity marks of this taxon are on file. Have someone who knows it show you, and write down what to look for:"}, 3}
}

// tallyWords says what the boxes are for.
func tallyWords(s *models.Sheet) string {
	if s.StemsPerBox == 1 {
		return fmt.Sprintf("Tick a box for every stem; a full line is a bundle of %d. No box left: stop.", models.BundleStems)
	}
	text := fmt.Sprintf("Each box stands for %d stems: tick it when all %d are cut.", s.StemsPerBox, s.StemsPerBox)
	if over := s.StopAt % s.StemsPerBox; over > 0 {
		text += fmt.Sprintf(" The last box stands for %d.", over)
	}
	return text + " No box left: stop."
}

// boxLines are how many boxes stand on each line.
func boxLines(s *models.Sheet) []int {
	var lines []int
	for left := s.TallyBoxes(); left > 0; left -= boxesOnLine {
		lines = append(lines, min(left, boxesOnLine))
	}
	return lines
}

const (
	boxesOnLine  = 25
	boxesInGroup = 5
)

// plantLines are how many plants can be noted: as many as have to be cut from,
// within what a hand fills in.
func plantLines(s *models.Sheet) int {
	const least, most = 12, 48
	return min(most, max(least, s.LeastPlants))
}

// plantColumns are what is noted of each plant.
func plantColumns(s *models.Sheet) []string {
	most := "most from it"
	if s.OneIn > 1 {
		most = fmt.Sprintf("counted ÷ %d", s.OneIn)
	}
	return []string{"stems counted", most, "taken"}
}

// handFields are what the crew writes in, in pairs that share a line; an empty
// second one leaves the whole line to the first.
func handFields(s *models.Sheet) [][2]string {
	if s.StopAt == 0 {
		return [][2]string{{"Why we went", ""}, {"What we saw", ""}, {"Who was there", ""}}
	}
	return [][2]string{
		{"Crew " + s.Crew + ", who cut", ""}, {"Day, if not " + s.On.String(), "Hours to water"},
		{"Who identified the plant", ""}, {"Leave given by", ""},
		{"STEMS CUT ALTOGETHER", "From how many plants"}, {"Notes", ""}, {"", ""},
	}
}

// afterwards is how the sheet gets into the records.
func afterwards(s *models.Sheet) []string {
	if s.StopAt == 0 {
		return []string{"Stems that were cut all the same are entered too, with withy batch log, --already-cut and --reason: hiding them helps nobody."}
	}
	return []string{
		fmt.Sprintf("Enter every bundle the same day: withy batch log --stand %s --on %s --record-number %s, with --stems-cut, --cuttings, --collected-by, --parent-plants and --identified-by, and with --permit and --share where it was cut on one.",
			s.Stand, s.On, quoted(s.Tags[0])),
		fmt.Sprintf("More than %s cut? Enter them all, with --already-cut and --reason: hiding them helps nobody.", models.Counted(s.StopAt, "stem")),
	}
}

// quoted is a word as a shell takes it, in quotes where it has to be.
func quoted(word string) string {
	if strings.ContainsFunc(word, func(r rune) bool { return !strings.ContainsRune(plainRunes, r) }) {
		return "'" + strings.ReplaceAll(word, "'", `'\''`) + "'"
	}
	return word
}

const plainRunes = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-._"
