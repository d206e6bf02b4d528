package cli

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
	"withybed/models/rules"
	"withybed/models/stats"
)

func newRate(s *session, name string) *cobra.Command {
	a := &rootingAsk{session: s}
	cmd := &cobra.Command{
		Use: name, Short: "Show what rooted and how fast, by species, treatment and more",
		Long: `Shows the share of those stuck that had rooted, by group, with the day it speaks of
and limits that allow for batches that differ. Where every batch was last looked at
84 days or more after sticking (112 for slow kinds) it counts what had rooted by
then; where some are younger it reads the rate off the curve. Group by taxon, stand,
kind, treatment, season, heated, mist, medium, container, bench or purpose; taxon,
kind, treatment and heated by default.` + aboutFile,
		Example: examples("withy rooting", "withy rooting --by taxon,treatment", "withy rooting --by season --taxon \"Cornus sericea\" --json",
			"withy rooting rate --file checks.csv --by treatment"),
		Args: takes(), PreRunE: a.prepare,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return groupReport[models.RateReport]{(*api.Client).RootingRate, rules.RateReport}.ask(a, cmd, inWords(s, a.rateTable))
		},
	}
	a.flags(cmd)
	a.groupFlag(cmd)
	a.drawFlags(cmd)
	return cmd
}

func (s *session) rateTable(r models.RateReport) {
	columns := append(keyColumns(r.By), col("BATCHES"), numCol("STUCK"), numCol("ROOTED"), numCol("LOST"), numCol("OPEN"), textCol("RATE"), textCol("HALF ROOTED"))
	var rows [][]string
	unseen := 0
	for i := range r.Groups {
		g := &r.Groups[i]
		unseen += g.WithoutChecks
		if g.Batches == 0 {
			continue
		}
		rows = append(rows, append(keyCells(r.By, g.Key), batchesWords(g.Batches, g.Closed), strconv.Itoa(g.Cuttings), strconv.Itoa(g.Rooted),
			strconv.Itoa(g.Lost), strconv.Itoa(g.Open), rateWords(&g.Rate), halfWords(g.DaysToRoot.OfStuck.T50.Bracket)))
	}
	s.heading("What rooted", r.On, rows)
	s.table(columns, rows, noneSeen(r.On))
	var said groupNotes
	for i := range r.Groups {
		if r.Groups[i].Batches > 0 { // the others are told together
			said.add(keyWords(r.By, r.Groups[i].Key), append(rateNotes(&r.Groups[i]), r.Groups[i].Notes...))
		}
	}
	said.say(s)
	s.sayUnseen(unseen)
}

// heading is the line above a table of groups. A file has no day of its own.
func (s *session) heading(what string, on models.Date, rows [][]string) {
	switch {
	case len(rows) == 0:
	case on.IsZero():
		s.tell("%s, of those stuck:", what)
	default:
		s.tell("%s by %s, of those stuck:", what, on)
	}
}

func noneSeen(on models.Date) string {
	if on.IsZero() {
		return "No batch was looked at."
	}
	return "No batch was stuck and looked at by " + on.String() + "."
}

func (s *session) sayUnseen(unseen int) {
	if unseen > 0 {
		s.tell("%s stuck, and nobody has looked at the roots yet: in no number here.", many(unseen, "more batch was", "more batches were"))
	}
}

// groupNotes are what is to be known of groups, each note with the groups it is of.
type groupNotes struct {
	notes []string
	of    map[string][]string
	all   int // groups there are
}

func (g *groupNotes) add(group string, notes []string) {
	if g.of == nil {
		g.of = map[string][]string{}
	}
	g.all++
	for _, note := range notes {
		if g.of[note] == nil {
			g.notes = append(g.notes, note)
		}
		g.of[note] = append(g.of[note], group)
	}
}

// say tells each note once.
func (g *groupNotes) say(s *session) {
	for _, note := range g.notes {
		whose := someOf(g.of[note], "; ")
		if n := len(g.of[note]); n == g.all && n > 1 {
			whose = "every group"
		}
		s.tell("%s: %s.", whose, note)
	}
}

// mostNamed is how many are named in a sentence.
const mostNamed = 6

// someOf names some of many.
func someOf(names []string, between string) string {
	if len(names) <= mostNamed {
		return strings.Join(names, between)
	}
	return strings.Join(names[:mostNamed-1], between) + between + fmt.Sprintf("and %d more", len(names)-mostNamed+1)
}

func batchesWords(all, closed int) string {
	switch closed {
	case all:
		return strconv.Itoa(all)
	case 0:
		return fmt.Sprintf("%d, open", all)
	}
	return fmt.Sprintf("%d, %d open", all, all-closed)
}

// rateWords is a rate with its limits and its day, in few letters.
func rateWords(r *models.RootingRate) string {
	if r.Estimate == nil {
		return "-"
	}
	text := percent(100 * *r.Estimate)
	if r.Lower != nil && r.Upper != nil {
		text += fmt.Sprintf(" (%.0f-%.0f)", 100**r.Lower, 100**r.Upper)
	}
	return text + fmt.Sprintf(" by day %d", *r.Day)
}

// rateMethods say how a rate was worked out. Of one batch a note says it already.
var rateMethods = map[models.RateMethod]string{
	models.CrudeClosed: "the rate is counted over batches that are all final",
	models.AtDay:       "the rate is read off the curve, since not all batches are final",
}

// rhoAssumed is said of limits where none or all rooted.
var rhoAssumed = fmt.Sprintf("none or all rooted, so how far batches differ cannot be told, and a likeness of %.2f (rho) is reckoned with", stats.UsualRho)

// rateNotes say how a rate was worked out, how far batches differ, and what
// discards do to it.
func rateNotes(g *models.RateGroup) []string {
	var notes []string
	if how := rateMethods[g.Rate.Method]; how != "" {
		notes = append(notes, how)
	}
	if g.Rate.RhoAssumed {
		notes = append(notes, rhoAssumed)
	}
	if o := g.Overdispersion; o.Rho != nil && *o.Rho >= 0.005 {
		notes = append(notes, fmt.Sprintf("batches differ: two cuttings of a batch are alike by %.2f (rho)", *o.Rho))
	}
	if c := g.RateCensored; c != nil && c.Estimate != nil && g.Rate.Estimate != nil {
		if was, would := percent(100**g.Rate.Estimate), percent(100**c.Estimate); was != would {
			notes = append(notes, fmt.Sprintf("if those thrown out had only been out of sight, the rate would be %s and not %s", would, was))
		}
	}
	return notes
}
