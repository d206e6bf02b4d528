package documents

import (
	"fmt"
	"slices"

	"withybed/models"
	"withybed/models/rules"
)

// ReminderText is a reminder in words, for a terminal and for mail: what to
// review first, what to pot up by bench, what else is due and what falls due
// before the next reminder, then stands near a limit and surveys that run out.
// Lines hold at most width characters where their words allow it; 0 is 72 and
// less than 40 is 40.
func ReminderText(nurseryName string, r models.Reminder, width int) string {
	p := newPage(width)
	p.write(0, nurseryName)
	p.write(0, "Reminder for the week from "+dayWords(r.Week))
	if r.On != r.Week {
		p.write(0, "It speaks of "+dayWords(r.On)+".")
	}
	if r.CoversFrom.Before(r.Week) {
		p.write(0, fmt.Sprintf("No reminder was made for the weeks before, from %s on: this one stands for them too.", dayWords(r.CoversFrom)))
	}
	if r.Body.Empty() {
		p.gap()
		p.write(0, "Nothing is due.")
		return p.String()
	}
	body := &r.Body
	p.reviews(body.Review)
	p.potUp(body.PotUp)
	p.due("Also due", body.Due)
	p.coming(body.Coming)
	p.stands("Stands near a limit", body.Stands)
	p.stands("Surveys that run out", body.Expiring)
	p.cautions(body)
	return p.String()
}

func dayWords(d models.Date) string { return d.Weekday().String() + " " + d.String() }

func (p *page) reviews(list []models.ReviewNotice) {
	p.heading("To review first", len(list))
	for _, n := range list {
		p.write(1, n.Batch)
		p.write(2, n.Text)
	}
}

func (p *page) potUp(items []models.DueItem) {
	p.heading("Pot up", len(items))
	items = slices.Clone(items)
	rules.SortByBench(items)
	for i, item := range items {
		if i == 0 || item.Bench != items[i-1].Bench {
			p.write(1, benchWords(item.Bench))
		}
		p.write(2, fmt.Sprintf("%s, %s: %s%s", item.Batch, item.Taxon, models.Counted(item.Count, "cutting"), urgentWords(item)))
		p.write(3, item.Reason)
	}
}

func benchWords(bench string) string {
	if bench == "" {
		return "No bench recorded"
	}
	return "Bench " + bench
}

func (p *page) due(heading string, items []models.DueItem) {
	p.heading(heading, len(items))
	for _, item := range items {
		p.write(1, itemWords(item)+urgentWords(item))
		p.write(2, item.Reason)
	}
}

func (p *page) coming(items []models.DueItem) {
	p.heading("Falls due before the next reminder", len(items))
	for _, item := range items {
		p.write(1, dayWords(item.Since)+": "+itemWords(item))
		p.write(2, item.Reason)
	}
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

func (p *page) stands(heading string, list []models.StandNotice) {
	p.heading(heading, len(list))
	for _, n := range list {
		text := n.Stand + ", " + n.Name
		if n.Crossed {
			text += " (new)"
		}
		p.write(1, text)
		p.write(2, n.Text)
	}
}

// cautions closes a reminder with the care that fits the work it asks for.
func (p *page) cautions(body *models.Notices) {
	items := slices.Concat(body.PotUp, body.Due, body.Coming)
	if len(items) > 0 {
		p.gap()
		p.write(0, "Clean tools and tables between lots. Keep what looks sick apart, with water of its own, and tell the lead.")
	}
	if slices.ContainsFunc(items, aboutWaiting) {
		p.write(0, "Rooting hormone and bleach: wear gloves, follow the label, and mix bleach with nothing but water.")
	}
	if len(body.Review)+len(body.Stands)+len(body.Expiring) > 0 {
		p.gap()
		p.write(0, "No number here is leave to cut: local rules, the land manager and the permit decide.")
	}
}

func aboutWaiting(item models.DueItem) bool {
	return item.Flag == models.FlagStick || item.Flag == models.FlagSoak || item.Flag == models.FlagStore
}
