package documents

import (
	"fmt"
	"slices"

	"withybed/models"
	"withybed/models/rules"
)

// ReminderText is a reminder in words, for a terminal and to keep: what to
// review first, what to pot up by bench, what else is due and what falls due
// before the next reminder, then stands near a limit, surveys that run out, crew
// shares that were not returned and permits that end.
// Lines hold at most width characters where their words allow it; 0 is 72 and
// less than 40 is 40.
func ReminderText(nurseryName string, r models.Reminder, width int) string {
	p := newPage(width)
	p.write(0, nurseryName)
	for _, line := range reminderLead(&r) {
		p.write(0, line)
	}
	if r.Body.Empty() {
		p.gap()
		p.write(0, "Nothing is due.")
		return p.String()
	}
	p.parts(reminderParts(&r.Body))
	p.paragraphs(cautions(&r.Body))
	return p.String()
}

// reminderLead says what week a reminder is of.
func reminderLead(r *models.Reminder) []string {
	lead := []string{"Reminder for the week from " + dayWords(r.Week)}
	if r.On != r.Week {
		lead = append(lead, "It speaks of "+dayWords(r.On)+".")
	}
	if r.CoversFrom.Before(r.Week) {
		lead = append(lead, fmt.Sprintf("No reminder was made for the weeks before, from %s on: this one stands for them too.", dayWords(r.CoversFrom)))
	}
	return lead
}

// reminderParts are the parts of a reminder that say something.
func reminderParts(body *models.Notices) []part {
	return filled(
		reviewPart(body.Review),
		potUpPart(body.PotUp),
		duePart("Also due", body.Due),
		comingPart(body.Coming),
		standsPart("Stands near a limit", body.Stands),
		standsPart("Surveys that run out", body.Expiring),
		standsPart("Crew shares not returned", body.Shares),
		permitsPart(body.Permits))
}

func dayWords(d models.Date) string { return d.Weekday().String() + " " + d.String() }

func reviewPart(list []models.ReviewNotice) part {
	var g group
	for _, n := range list {
		g.Entries = append(g.Entries, entry{n.Batch, n.Text})
	}
	return part{"To review first", []group{g}}
}

// potUpPart has a group for each bench.
func potUpPart(items []models.DueItem) part {
	p := part{Heading: "Pot up"}
	items = slices.Clone(items)
	rules.SortByBench(items)
	for i, item := range items {
		if i == 0 || item.Bench != items[i-1].Bench {
			p.Groups = append(p.Groups, group{Place: benchWords(item.Bench)})
		}
		g := &p.Groups[len(p.Groups)-1]
		what := fmt.Sprintf("%s, %s: %s%s", item.Batch, item.Taxon, models.Counted(item.Count, "cutting"), urgentWords(item))
		g.Entries = append(g.Entries, entry{what, item.Reason})
	}
	return p
}

func benchWords(bench string) string {
	if bench == "" {
		return "No bench recorded"
	}
	return "Bench " + bench
}

func duePart(heading string, items []models.DueItem) part {
	var g group
	for _, item := range items {
		g.Entries = append(g.Entries, entry{itemWords(item) + urgentWords(item), item.Reason})
	}
	return part{heading, []group{g}}
}

func comingPart(items []models.DueItem) part {
	var g group
	for _, item := range items {
		g.Entries = append(g.Entries, entry{dayWords(item.Since) + ": " + itemWords(item), item.Reason})
	}
	return part{"Falls due before the next reminder", []group{g}}
}

func itemWords(item models.DueItem) string {
	text := fmt.Sprintf("%s %s, %s, %s", item.Flag.Words(), item.Batch, item.Taxon, models.Counted(item.Count, "cutting"))
	if item.Bench != "" {
		text += ", bench " + item.Bench
	}
	return text
}

func urgentWords(item models.DueItem) string {
	if item.Urgent {
		return " (urgent)"
	}
	return ""
}

func standsPart(heading string, list []models.StandNotice) part {
	var g group
	for _, n := range list {
		what := n.Stand + ", " + n.Name
		if n.Crossed {
			what += " (new)"
		}
		g.Entries = append(g.Entries, entry{what, n.Text})
	}
	return part{heading, []group{g}}
}

func permitsPart(list []models.PermitNotice) part {
	var g group
	for _, n := range list {
		what := n.Permit
		if n.Crossed {
			what += " (new)"
		}
		g.Entries = append(g.Entries, entry{what, n.Text})
	}
	return part{"Permits that end", []group{g}}
}

// cautions are the care that fits the work a reminder asks for, in paragraphs.
func cautions(body *models.Notices) [][]string {
	var care [][]string
	items := slices.Concat(body.PotUp, body.Due, body.Coming)
	if len(items) > 0 {
		work := []string{"Clean tools and tables between lots. Keep what looks sick apart, with water of its own, and tell the lead."}
		if slices.ContainsFunc(items, aboutWaiting) {
			work = append(work, "Rooting hormone and bleach: wear gloves, follow the label, and mix bleach with nothing but water.")
		}
		care = append(care, work)
	}
	if len(body.Review)+len(body.Stands)+len(body.Expiring)+len(body.Shares)+len(body.Permits) > 0 {
		care = append(care, noLeave)
	}
	return care
}

func aboutWaiting(item models.DueItem) bool {
	return item.Flag == models.FlagStick || item.Flag == models.FlagSoak || item.Flag == models.FlagStore
}
