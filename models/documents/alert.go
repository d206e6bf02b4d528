package documents

import (
	"fmt"
	"strings"

	"withybed/models"
)

// noLeave closes everything that is said about stands.
var noLeave = []string{"No number here is leave to cut: local rules, the land manager and the permit decide."}

// ReviewLetter tells at once of batches that were cut against a rule, with the
// stands that went over their limit by it.
func ReviewLetter(nurseryName string, reviews []models.ReviewNotice, exceeded []models.StandNotice) Message {
	about := countedBatches(len(reviews)) + " to review, cut against a rule"
	if len(exceeded) > 0 {
		about += "; over its limit: " + standCodes(exceeded)
	}
	l := letter{
		Nursery: nurseryName, About: about,
		Lead:  []string{"Stems were cut that a harvest rule would have refused. Look into it, then answer with withy batch review."},
		Parts: filled(reviewPart(reviews), standsPart("Over the limit", exceeded)),
		Care:  [][]string{noLeave}, Foot: footWords([]models.MailList{models.StandMail}),
	}
	return l.message()
}

// ExceededLetter tells at once that more was taken from a stand than its limit is,
// as it is known now.
func ExceededLetter(nurseryName string, exceeded models.StandNotice) Message {
	l := letter{
		Nursery: nurseryName, About: exceeded.Stand + " is over its limit",
		Lead:  []string{"More was taken from a stand than it can spare, as it is known now. Cut no more there until you have looked into it."},
		Parts: filled(standsPart("Over the limit", []models.StandNotice{exceeded})),
		Care:  [][]string{noLeave}, Foot: footWords([]models.MailList{models.StandMail}),
	}
	return l.message()
}

// SoakLetter tells at once of cuttings that have to leave their soak by a day.
func SoakLetter(nurseryName string, item models.DueItem, lastDay models.Date) Message {
	body := models.Notices{Due: []models.DueItem{item}}
	l := letter{
		Nursery: nurseryName, About: fmt.Sprintf("take %s out of the soak by %s", item.Batch, lastDay),
		Parts: filled(duePart("Soak that ends", body.Due)),
		Care:  cautions(&body), Foot: footWords([]models.MailList{models.BenchMail}),
	}
	return l.message()
}

// TestLetter shows that mail arrives.
func TestLetter() Message {
	l := letter{
		About: "a test of the mail",
		Lead:  []string{"This is a test. Mail from this computer arrives: reminders and alerts will too."},
	}
	return l.message()
}

// standCodes names stands by their codes.
func standCodes(list []models.StandNotice) string {
	codes := make([]string, len(list))
	for i, n := range list {
		codes[i] = n.Stand
	}
	return strings.Join(codes, ", ")
}
