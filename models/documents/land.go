package documents

import (
	"fmt"
	"strconv"
	"strings"

	"withybed/models"
)

// landPage is the page of a land manager as it is written out.
type landPage struct {
	Title string
	Lead  []string
	Parts []landPart
	Foot  []string
}

// landPart is a stand on the page.
type landPart struct {
	Heading string
	Over    string // that it is over its limit, in words; empty where it is not
	Facts   []fact
	Beyond  []string // days on which it was, and since when that is known
	Cuts    []landRow
	Course  models.Course
}

// fact is something that is known of a stand.
type fact struct{ Name, Text string }

// landRow is an entry of the ledger.
type landRow struct {
	Day, Stems, What, Batch, Who, Permit, Note string
}

func pageOfLand(l *models.Land) landPage {
	p := landPage{
		Title: landTitle(l),
		Lead: []string{
			madeWords(l),
			totalWords("on the ledgers of these stands in the period", &l.Totals),
		},
		Foot: []string{
			noLeave[0],
			"Every figure is a sum over the ledgers of the stands, to which entries are added and from which none is taken away. People are named by their codes.",
		},
	}
	if len(l.Stands) == 0 {
		p.Lead = append(p.Lead, "There are no stands here.")
	}
	for i := range l.Stands {
		p.Parts = append(p.Parts, partOfLand(&l.Stands[i], l))
	}
	return p
}

// madeWords are the period and the day of the page. What a batch says beside its stems is
// kept as it is now only.
func madeWords(l *models.Land) string {
	text := fmt.Sprintf("Period: %s to %s. Made on %s", l.From, l.To, dayWords(l.MadeOn))
	if l.KnownOn.IsZero() {
		return text + "; what is left and what holds is told of that day."
	}
	return text + fmt.Sprintf(", as known on %s; what is left and what holds is told of that day. The permit of a batch, and what is to be reviewed of it, are as they are known now.", l.KnownOn)
}

func landTitle(l *models.Land) string {
	what := "Stands"
	if l.LandManager != "" {
		what += " on the land of " + l.LandManager
	}
	if l.Place != "" {
		what += " at " + l.Place
	}
	if l.Nursery == "" {
		return what
	}
	return l.Nursery + ": " + strings.ToLower(what[:1]) + what[1:]
}

// totalWords are the stems of a period, by who took them.
func totalWords(where string, t *models.LandTotals) string {
	text := fmt.Sprintf("%s %s: %d cut by the nursery", models.Counted(t.All, "stem"), where, t.Ours)
	var of []string
	for _, part := range []struct {
		n    int
		what string
	}{{t.Within, "within every rule as it was known then"}, {t.Against, "recorded against a rule"}, {t.Earlier, "from before it kept batches"}} {
		if part.n != 0 {
			of = append(of, fmt.Sprintf("%d %s", part.n, part.what))
		}
	}
	if len(of) > 0 {
		text += " (" + strings.Join(of, ", ") + ")"
	}
	return text + fmt.Sprintf(", %d by others, %d set aside for crews.", t.Others, t.SetAside)
}

func partOfLand(s *models.LandStand, l *models.Land) landPart {
	p := landPart{Heading: strings.Join(withMore(s.Stand, s.Name), ", "), Course: s.Course}
	if s.Over > 0 {
		p.Over = fmt.Sprintf("OVER ITS LIMIT BY %d: %s. Cut no more there.", s.Over, s.Exceeded)
	}
	p.Facts = standFacts(s, l)
	for i := range s.Beyond {
		p.Beyond = append(p.Beyond, beyondWords(&s.Beyond[i]))
	}
	if len(s.Beyond) == 0 {
		p.Beyond = []string{"On no day of the period was more taken than the limit, as it is known now."}
	}
	for i := range s.Cuts {
		p.Cuts = append(p.Cuts, rowOfCut(&s.Cuts[i]))
	}
	return p
}

func standFacts(s *models.LandStand, l *models.Land) []fact {
	plant := s.Taxon
	if s.CommonName != "" {
		plant += " (" + s.CommonName + ")"
	}
	facts := []fact{{"Plant", plant}}
	if s.Place != "" && s.Place != l.Place {
		facts = append(facts, fact{"Place", s.Place})
	}
	return append(facts,
		fact{"In the period", totalWords("on its ledger", &s.Totals)},
		fact{"Left", leftWords(&s.StandUse)},
		fact{"Taken in its window", takenWords(s)},
		fact{"Next open day", openWords(&s.StandUse)},
		fact{"Last count", countWords(&s.StandUse)},
		fact{"Leave to cut", permitWords(s)},
		fact{"Last look for nests", nestWords(s.NestLook)},
		fact{"Tools cleaned", cleanedWords(s.Cleaning)},
	)
}

func leftWords(u *models.StandUse) string {
	if u.Left == nil {
		return fmt.Sprintf("free of caps: %s", u.StateDetail)
	}
	text := fmt.Sprintf("%s of a limit of %d", models.Counted(*u.Left, "stem"), u.Limit)
	if u.Binding != nil {
		text += fmt.Sprintf(", limited by %s: %s", u.Binding.Code, u.Binding.Detail)
	}
	return text
}

func takenWords(s *models.LandStand) string {
	text := models.Counted(s.Taken, "stem")
	if s.SetAside == 0 {
		return text + ", and none set aside"
	}
	var crews []string
	for _, share := range s.Shares {
		crews = append(crews, fmt.Sprintf("%d for %s to %s", share.Left, share.Crew, share.To))
	}
	return fmt.Sprintf("%s, and %d set aside: %s", text, s.SetAside, strings.Join(crews, ", "))
}

func openWords(u *models.StandUse) string {
	text := "none as things are: " + u.Instead
	if u.OpenFrom != nil {
		text = u.OpenFrom.String()
	}
	if u.StateDetail != "" && u.State != models.StandSalvage {
		text += "; " + u.StateDetail
	}
	return text
}

func countWords(u *models.StandUse) string {
	if u.Survey == nil || u.SurveyAge == nil {
		return "never counted"
	}
	good := "no longer good"
	if u.SurveyGood {
		good = "still good"
	}
	return fmt.Sprintf("%s, %s ago, %s: at least %s stems by its lower bound; %s",
		u.Survey.SurveyedOn, models.Counted(*u.SurveyAge, "day"), methodWords[u.Survey.Method], u.Survey.LowerBound, good)
}

var methodWords = map[models.Method]string{
	models.Census: "census", models.PlotCount: "counted on plots", models.ClumpCount: "stems of some of the clumps",
	models.ClumpsFromPlots: "clumps counted on plots", models.Ocular: "estimated by eye",
}

// permitWords say what is on file about leave to cut, with the papers of the period.
func permitWords(s *models.LandStand) string {
	text := map[models.PermitState]string{
		models.PermitOnFile: "on file", models.PermitUsedUp: "on file, and used up", models.PermitMissing: "a permit is needed, and none on file covers a cut now",
		models.PermitNotRequired: "no permit is needed", models.PermitUnknown: "not on file: ask first",
	}[s.Permit]
	for _, p := range s.Permits {
		text += fmt.Sprintf("; %s %s of %s, from %s", p.Kind, p.Number, p.Issuer, p.ValidFrom)
		if !p.ValidTo.IsZero() {
			text += " to " + p.ValidTo.String()
		}
		if p.Quantity != nil && p.Left != nil {
			text += fmt.Sprintf(", %s of %s %s left", *p.Left, *p.Quantity, p.Unit)
		}
	}
	return text
}

func nestWords(look *models.NestLook) string {
	if look == nil {
		return "none on file"
	}
	found := "none in use were found"
	if look.NestsFound {
		found = "nests in use were found"
	}
	return fmt.Sprintf("%s, by %s: %s", look.CheckedOn, someone(look.CheckedBy), found)
}

func cleanedWords(c *models.ToolCleaning) string {
	if c == nil {
		return "not on file"
	}
	return fmt.Sprintf("%s, by %s: %s", c.CleanedOn, someone(c.CleanedBy), c.How)
}

// beyondWords say of a day by how much it was over, and whether that was known then.
func beyondWords(o *models.LandOver) string {
	text := fmt.Sprintf("%s: %s taken in the window to it, %d over the limit of %d as it is known now", o.On, models.Counted(o.Taken, "stem"), o.Over, o.Limit)
	if o.Within {
		return text + fmt.Sprintf(". Within the allowance as it was known then; over it since %s was entered on %s.", o.By, o.Since)
	}
	return text + fmt.Sprintf(". Over it as it was known then too: by %s, recorded against a rule on %s.", o.By, o.Since)
}

// cutKinds are what entries of the ledger record, in words.
var cutKinds = map[models.LedgerKind]string{
	models.Cut: "cut", models.Others: "cut by others", models.EarlierCut: "our own, earlier", models.Corrected: "correction", models.Voided: "taken back",
}

func rowOfCut(c *models.LandCut) landRow {
	row := landRow{Day: c.On.String(), Stems: strconv.Itoa(c.Stems), What: cutKinds[c.Kind], Batch: c.Batch, Who: someone(c.By), Permit: c.Permit}
	var notes []string
	switch {
	case c.RefusedBy != "" && c.ToReview:
		notes = append(notes, "recorded against a rule, to be reviewed: "+c.RefusedBy)
	case c.RefusedBy != "":
		notes = append(notes, "recorded against a rule, and looked at since: "+c.RefusedBy)
	}
	if c.Note != "" {
		notes = append(notes, c.Note)
	}
	row.Note = strings.Join(notes, "; ")
	return row
}

// sentence is a row of the ledger but for its day and stems.
func (r *landRow) sentence() string {
	parts := []string{r.What}
	for _, part := range []struct{ before, text string }{{"batch ", r.Batch}, {"by ", r.Who}, {"on permit ", r.Permit}} {
		if part.text != "" {
			parts = append(parts, part.before+part.text)
		}
	}
	text := strings.Join(parts, ", ")
	if r.Note != "" {
		text += "; " + r.Note
	}
	return text
}

// nothingCut is said where a period holds no entry.
const nothingCut = "Nothing was taken in the period."

// landWidth is the width in characters of the page as text.
const landWidth = 80

// LandText is the page of a land manager as plain text of 80 columns.
func LandText(l *models.Land) string {
	page, p := pageOfLand(l), newPage(landWidth)
	p.write(0, page.Title)
	p.rule()
	for _, text := range page.Lead {
		p.write(0, text)
	}
	for i := range page.Parts {
		p.landPart(&page.Parts[i])
	}
	p.gap()
	for _, text := range page.Foot {
		p.write(0, text)
	}
	return Printable(p.String())
}

func (p *page) landPart(part *landPart) {
	p.gap()
	p.write(0, part.Heading)
	p.row(strings.Repeat("-", p.width))
	if part.Over != "" {
		p.write(0, part.Over)
	}
	for _, f := range part.Facts {
		p.bullet(f.Name + ": " + f.Text)
	}
	for _, text := range part.Beyond {
		p.bullet(text)
	}
	p.gap()
	if len(part.Cuts) == 0 {
		p.write(0, nothingCut)
	}
	for i := range part.Cuts {
		row := &part.Cuts[i]
		p.hanging(fmt.Sprintf("%s %6s  ", row.Day, row.Stems), row.sentence())
	}
}
