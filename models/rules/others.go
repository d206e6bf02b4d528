package rules

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"withybed/models"
)

// EnterOthersCut makes the record of a cut of others, or of the nursery's own before
// it kept batches, and the entry it has on the
// ledger: the most stems it may have been, on the last day on which they may have
// been cut. No harvest rule refuses it, since the stems are gone. Identifiers,
// stand and time of entry are left to the caller.
func EnterOthersCut(req models.NewOthersCut, today models.Date) (models.OthersCut, models.LedgerEntry, error) {
	var f models.Faults
	checkPast(&f, "from", req.From, today)
	checkPast(&f, "to", req.To, today)
	if req.To.Before(req.From) && !req.To.IsZero() {
		f.Add("out-of-order", "to", req.To, "is %s, before the first day, %s", req.To, req.From)
	}
	checkCount(&f, "low", req.Low, 0)
	checkCount(&f, "high", req.High, 1)
	if req.Low > req.High {
		f.Add("invalid", "low", req.Low, "is %d, and the high figure is %d", req.Low, req.High)
	}
	needText(&f, "cut_by", req.CutBy, models.MaxName)
	needText(&f, "evidence", req.Evidence, models.MaxNote)
	checkText(&f, "by", req.By, models.MaxName)
	cut := models.OthersCut{
		CutFrom: req.From, CutTo: req.To, Low: req.Low, High: req.High,
		Ours: req.Ours, CutBy: models.Clean(req.CutBy), Evidence: models.Clean(req.Evidence), EnteredBy: models.Clean(req.By),
	}
	entry := models.LedgerEntry{
		Kind: models.Others, TakenOn: req.To, Stems: req.High, EnteredBy: cut.EnteredBy, Why: whyOthers(&cut),
	}
	if cut.Ours {
		entry.Kind = models.EarlierCut
	}
	return cut, entry, f.Err()
}

// whyOthers is a cut of others in short, for its line of the ledger.
func whyOthers(cut *models.OthersCut) string {
	days := "on " + cut.CutTo.String()
	if cut.CutFrom != cut.CutTo {
		days = fmt.Sprintf("from %s to %s", cut.CutFrom, cut.CutTo)
	}
	stems := fmt.Sprintf("%d to %s", cut.Low, models.Counted(cut.High, "stem"))
	if cut.Low == cut.High {
		stems = models.Counted(cut.High, "stem")
	}
	who := "others (" + cut.CutBy + ")"
	if cut.Ours {
		who = "the nursery itself (" + cut.CutBy + "), before it kept batches,"
	}
	return fmt.Sprintf("%s cut by %s %s: %s", stems, who, days, inShort(cut.Evidence))
}

const shortEvidence = 120 // characters

// inShort is a text, or its beginning to the end of a word.
func inShort(text string) string {
	if utf8.RuneCountInString(text) <= shortEvidence {
		return text
	}
	head := string([]rune(text)[:shortEvidence])
	if at := strings.LastIndexByte(head, ' '); at > 0 {
		head = head[:at]
	}
	return head + " …"
}

// WithOthersCut is the sums of a ledger by day with the entry of a cut of others.
func WithOthersCut(days []models.LedgerDay, entry models.LedgerEntry) []models.LedgerDay {
	return WithStems(days, models.LedgerDay{TakenOn: entry.TakenOn, Stems: entry.Stems})
}
