package documents

import (
	"fmt"
	"strings"

	"withybed/models"
)

// ReviewNotice is the word about a batch that was cut against a rule: what was
// cut, against which rule and why, and what the last review left open.
func ReviewNotice(r *models.BatchRecord) models.ReviewNotice {
	text := fmt.Sprintf("%s cut at %s on %s", models.Counted(r.StemsCut, "stem"), r.Stand, r.CollectedOn)
	if r.CollectedBy != "" {
		text += " by " + someone(r.CollectedBy)
	}
	text += told("; recorded against a rule", strings.TrimSuffix(r.RefusedBy, ".")) + told("; reason", r.Reason)
	if n := len(r.Reviews); n > 0 && !r.Reviews[n-1].Accepted {
		text += told("; still open", r.Reviews[n-1].Reason)
	}
	return models.ReviewNotice{Batch: r.Code, Text: text}
}
