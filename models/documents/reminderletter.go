package documents

import (
	"slices"
	"strconv"
	"strings"

	"withybed/models"
)

// ReminderLists are the lists of mail to which a reminder says something.
func ReminderLists(body *models.Notices) []models.MailList {
	var lists []models.MailList
	for _, list := range models.MailLists {
		if part := bodyFor(body, []models.MailList{list}); !part.Empty() {
			lists = append(lists, list)
		}
	}
	return lists
}

// ReminderLetter is a reminder as a letter to someone who gets some lists of
// mail: the work at the benches, what the stands ask for, or both.
func ReminderLetter(nurseryName string, r models.Reminder, lists []models.MailList) Message {
	r.Body = bodyFor(&r.Body, lists)
	l := letter{
		Nursery: nurseryName, About: reminderAbout(&r.Body), Lead: reminderLead(&r),
		Parts: reminderParts(&r.Body), Care: cautions(&r.Body), Foot: footWords(lists),
	}
	return l.message()
}

// bodyFor is what a reminder says to someone who gets some lists of mail.
func bodyFor(body *models.Notices, lists []models.MailList) models.Notices {
	var b models.Notices
	if slices.Contains(lists, models.BenchMail) {
		b.PotUp, b.Due, b.Coming = body.PotUp, body.Due, body.Coming
	}
	if slices.Contains(lists, models.StandMail) {
		b.Review, b.Stands, b.Expiring = body.Review, body.Stands, body.Expiring
		b.Shares, b.Permits = body.Shares, body.Permits
	}
	return b
}

// askedFor is how a subject counts what a flag asks for.
var askedFor = map[models.Flag]string{
	models.FlagSoak: "to take out of the soak", models.FlagStore: "to take out of the store", models.FlagStick: "to stick",
	models.FlagPotUp: "to pot up", models.FlagDecide: "to decide about", models.FlagCheck: "to check",
}

// reminderAbout counts what a reminder asks for: 3 batches to pot up, 2 to check.
func reminderAbout(body *models.Notices) string {
	var counts []string
	batches := func(n int, what string) {
		switch {
		case n == 0:
		case len(counts) == 0:
			counts = append(counts, countedBatches(n)+" "+what)
		default:
			counts = append(counts, strconv.Itoa(n)+" "+what)
		}
	}
	batches(len(body.Review), "to review")
	batches(len(body.PotUp), askedFor[models.FlagPotUp])
	for _, flag := range models.Flags {
		batches(countFlag(body.Due, flag), askedFor[flag])
	}
	if len(body.PotUp)+len(body.Due) == 0 {
		batches(len(body.Coming), "due before the next reminder")
	}
	if n := len(body.Stands); n > 0 {
		counts = append(counts, models.Counted(n, "stand")+" near a limit")
	}
	if n := len(body.Expiring); n > 0 {
		counts = append(counts, models.Counted(n, "survey")+" running out")
	}
	if n := len(body.Shares); n > 0 {
		counts = append(counts, models.Counted(n, "crew share")+" to return")
	}
	if n := len(body.Permits); n > 0 {
		counts = append(counts, models.Counted(n, "permit")+" ending")
	}
	return strings.Join(counts, ", ")
}

func countedBatches(n int) string {
	if n == 1 {
		return "1 batch"
	}
	return strconv.Itoa(n) + " batches"
}

func countFlag(items []models.DueItem, flag models.Flag) int {
	n := 0
	for _, item := range items {
		if item.Flag == flag {
			n++
		}
	}
	return n
}
