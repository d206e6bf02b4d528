package cli

import (
	"encoding/json"
	"fmt"
	"net/url"
	"strings"

	"withybed/api"
	"withybed/models"
)

// entryWords is an entry in one line, for the one who made it to know it by.
func entryWords(k api.Kept) (string, error) {
	switch parts := strings.Split(strings.TrimPrefix(k.Path, "/v1/"), "/"); {
	case k.ContentType == sheetBody:
		return sheetWords(k.Body)
	case len(parts) == 1 && parts[0] == "batches":
		return worded(k.Body, newBatchWords)
	case len(parts) == 3 && wordsAbout[parts[0]] != nil:
		name, err := url.PathUnescape(parts[1])
		if err != nil {
			return "", err
		}
		text, err := wordsAbout[parts[0]](parts[2], k.Body)
		return name + ": " + text, err
	}
	return "an entry for " + k.Path, nil
}

// wordsAbout puts what is entered about a batch, a stand or a place in words.
var wordsAbout = map[string]func(what string, body []byte) (string, error){
	"batches": aboutBatch, "stands": aboutStand, "places": aboutStand,
}

// aboutStand is what was entered about a stand or a whole place.
func aboutStand(what string, body []byte) (string, error) {
	switch what {
	case "nest-checks":
		return worded(body, func(r *models.NewNestCheck) string {
			return fmt.Sprintf("look for nests on %s%s, %s", r.On, by(r.By), foundWords(r.NestsFound))
		})
	case "tool-cleanings":
		return worded(body, func(r *models.NewToolCleaning) string {
			return fmt.Sprintf("tools and boots cleaned on %s%s", r.On, by(r.By))
		})
	}
	return "an entry of its " + what, nil
}

// worded reads a request and puts it in words.
func worded[T any](body []byte, say func(*T) string) (string, error) {
	var req T
	if err := json.Unmarshal(body, &req); err != nil {
		return "", fmt.Errorf("read the entry: %w", err)
	}
	return say(&req), nil
}

func aboutBatch(what string, body []byte) (string, error) {
	switch what {
	case "stickings":
		return worded(body, func(r *models.NewSticking) string {
			return fmt.Sprintf("%s stuck on %s%s", models.Counted(r.Count, "cutting"), r.StuckOn, by(r.StuckBy))
		})
	case "moves":
		return worded(body, func(r *models.NewMove) string {
			return fmt.Sprintf("%s to %s on %s", models.Counted(r.Count, "cutting"), words(r.To), r.On)
		})
	case "checks":
		return worded(body, checkWords)
	case "pottings":
		return worded(body, func(r *models.NewPotting) string {
			return fmt.Sprintf("%s potted on %s%s", models.Counted(r.Count, "cutting"), r.PottedOn, by(r.PottedBy))
		})
	case "splits":
		return worded(body, func(r *models.NewSplit) string {
			cuttings := 0
			for _, arm := range r.Arms {
				cuttings += arm.Count
			}
			return fmt.Sprintf("split into %s of %s on %s", many(len(r.Arms), "arm", "arms"), models.Counted(cuttings, "cutting"), r.On)
		})
	case "decisions":
		return worded(body, func(r *models.NewDecision) string {
			return fmt.Sprintf("decision to %s on %s%s", words(r.Action), r.On, by(r.By))
		})
	}
	return "an entry of its " + what, nil
}

func newBatchWords(r *models.NewBatch) string {
	text := fmt.Sprintf("%s of %s cut on %s, %s%s", models.Counted(r.StemsCut, "stem"), r.Stand, r.CollectedOn,
		models.Counted(r.Cuttings, "cutting"), by(r.CollectedBy))
	if r.RecordNumber != "" {
		text += ", tag " + r.RecordNumber
	}
	if r.Share != "" {
		text += ", from the share of " + r.Share
	}
	if r.Permit != "" {
		text += ", on permit " + r.Permit
	}
	if r.AlreadyCut {
		text += ", already cut"
	}
	return text
}

func checkWords(r *models.NewCheck) string {
	text := "look on " + r.CheckedOn.String() + by(r.CheckedBy)
	if r.Rooted != nil {
		text += fmt.Sprintf(", %d rooted", *r.Rooted)
	}
	if lost := r.Lost.Sum(); lost > 0 {
		text += fmt.Sprintf(", %d lost", lost)
	}
	return text
}

// sheetWords is a day sheet in one line. A sheet that cannot be read is an error:
// no server would take it.
func sheetWords(sheet []byte) (string, error) {
	rows, err := models.ParseDay(sheet)
	if err != nil {
		return "", err
	}
	stems, cuttings := 0, 0
	for i := range rows {
		stems += rows[i].Batch.StemsCut
		cuttings += rows[i].Batch.Cuttings
	}
	return fmt.Sprintf("day sheet of %s: %s, %s", many(len(rows), "row", "rows"), models.Counted(stems, "stem"), models.Counted(cuttings, "cutting")), nil
}
