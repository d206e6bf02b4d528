package api

import (
	"strconv"
	"strings"

	"withybed/models"
)

// Keyed is embedded in the input of every POST: the same key with the same
// contents is the same request, however often it is sent.
type Keyed struct {
	Key string `header:"Idempotency-Key" minLength:"1" maxLength:"255" pattern:"^[!-~]+$" patternDescription:"letters, digits and signs without spaces" doc:"A name for this request, made up by the sender; repeating the request under it does it once" example:"01J9Z4T8Q2"`
}

// Guarded is embedded in the input of every PATCH.
type Guarded struct {
	IfMatch string `header:"If-Match" doc:"The ETag of the version that the edit starts from; needed" example:"\"3\""`
}

// ETag is how a version of a row is written in ETag and If-Match.
func ETag(version int) string { return `"` + strconv.Itoa(version) + `"` }

// Version is the version that If-Match names. Without the header the edit is
// unguarded; a tag that this server never gave out is stale.
func (g Guarded) Version() (int, error) {
	tag := strings.TrimSpace(g.IfMatch)
	if tag == "" || tag == "*" {
		return 0, models.Errorf(models.Unguarded, "if-match-missing",
			"an edit needs the header If-Match with the ETag of the version it starts from: read the record first")
	}
	tag = strings.TrimPrefix(tag, "W/") // proxies weaken tags; a version is one all the same
	digits, ok := strings.CutPrefix(tag, `"`)
	if ok {
		digits, ok = strings.CutSuffix(digits, `"`)
	}
	version, err := strconv.Atoi(digits)
	if !ok || err != nil {
		return 0, models.Errorf(models.Stale, "stale",
			"If-Match is %s, which is no version of this record: read it again and use its ETag", cut(g.IfMatch))
	}
	return version, nil
}
