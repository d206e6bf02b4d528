package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"
	"unicode/utf8"

	"withybed/api"
	"withybed/models"
)

// queueState is where an entry that is kept on this computer stands; it is the name
// of the folder that holds it.
type queueState string

const (
	waiting queueState = "waiting" // to be sent
	refused queueState = "refused" // the server would not have it
	settled queueState = "settled" // seen to by a person, and not sent any more
)

var queueStates = []queueState{waiting, refused, settled}

// queued is an entry that is kept on this computer until its server has it.
type queued struct {
	ID          int        `json:"id"` // among those of one server; never given twice
	Key         string     `json:"key"`
	Server      string     `json:"server"`
	State       queueState `json:"state,omitempty"` // told by the folder, whatever the file says
	EnteredAt   time.Time  `json:"entered_at"`
	Words       string     `json:"entry"`
	Path        string     `json:"path"`
	ContentType string     `json:"content_type"`
	Body        string     `json:"body"` // as it is sent

	SentAt *time.Time `json:"sent_at,omitempty"` // when it may first have reached the server
	SentAs string     `json:"sent_as,omitempty"` // a mark of the token it was sent with; not the token

	Problem   *problem   `json:"problem,omitempty"` // of a refused one
	SettledAt *time.Time `json:"settled_at,omitempty"`
	Why       string     `json:"why,omitempty"` // of a settled one
}

// problem is why a server would not have an entry.
type problem struct {
	At     time.Time   `json:"at"`
	Kind   models.Kind `json:"kind,omitempty"` // settles the exit code
	Code   string      `json:"code"`
	Detail string      `json:"detail"`
}

func (e *queued) kept() api.Kept {
	return api.Kept{Key: e.Key, Path: e.Path, ContentType: e.ContentType, Body: []byte(e.Body)}
}

// readQueued reads the file of an entry. One that was torn or changed so that it
// cannot be sent as it was entered is an error.
func readQueued(text []byte) (e queued, err error) {
	if err := json.Unmarshal(text, &e); err != nil {
		return e, fmt.Errorf("it is not whole: %w", err)
	}
	switch {
	case e.ID < 1, e.EnteredAt.IsZero():
		return e, errors.New("it does not say which entry it is, and of when")
	case !plainKey(e.Key):
		return e, errors.New("it has no key to be sent under")
	case e.Server != addressOf(e.Server) || e.Server == "":
		return e, fmt.Errorf("%q is no address of a server", e.Server)
	case !sendable(e.Server, e.Path):
		return e, fmt.Errorf("%q is no path of this program's servers", e.Path)
	case e.ContentType != jsonBody && e.ContentType != sheetBody:
		return e, fmt.Errorf("%q is no type of body that is sent", e.ContentType)
	case e.ContentType == jsonBody && !json.Valid([]byte(e.Body)):
		return e, errors.New("its body is no JSON")
	}
	return e, nil
}

const (
	jsonBody  = "application/json"
	sheetBody = "text/csv"
	longKey   = 255
)

// plainKey says that a key fits its header.
func plainKey(key string) bool {
	return key != "" && len(key) <= longKey && strings.IndexFunc(key, func(r rune) bool { return r < '!' || r > '~' }) < 0
}

// sendable says that a request to a path of a server can be made.
func sendable(server, path string) bool {
	if !strings.HasPrefix(path, "/v1/") || !utf8.ValidString(path) {
		return false
	}
	r, err := http.NewRequest(http.MethodPost, server+path, nil)
	return err == nil && r.URL.RawQuery == "" && r.URL.Fragment == ""
}

// addressOf is how the address of a server is kept: without a name and password
// that may be in it, and the same however it is typed.
func addressOf(server string) string {
	u, err := url.Parse(strings.TrimRight(server, "/"))
	if err != nil || u.Host == "" {
		return ""
	}
	u.User, u.RawQuery, u.Fragment, u.ForceQuery = nil, "", "", false
	u.Scheme, u.Host = strings.ToLower(u.Scheme), strings.ToLower(u.Host)
	return strings.TrimRight(u.String(), "/")
}

// refusal is the problem that a server has with an entry itself, so that to send
// it again as it is would be no use; nil where it is none of the entry's.
func refusal(err error) *models.Error {
	known := models.AsError(err)
	if known == nil {
		return nil
	}
	switch known.Kind {
	case models.Malformed, models.Invalid, models.Unknown, models.NotFound, models.Refused, models.Conflict:
		return known
	}
	return nil
}

// unanswered says that nothing came back which tells of the entry: the server was
// out of reach, or is not ready to take anything.
func unanswered(err error) bool {
	known := models.AsError(err)
	return known != nil && known.Kind == models.Unavailable
}

// putOff says that a new entry which met with an error is none the less to be sent
// one day: nobody looked at it. A token that ended at midnight must not cost the
// day's entries.
func putOff(err error) bool {
	known := models.AsError(err)
	return known != nil && (unanswered(err) || known.Kind == models.Unauthenticated || known.Kind == models.TooMany)
}

// turnedAway says that the server would not look at an entry, so that it cannot
// be recorded.
func turnedAway(err error) bool {
	known := models.AsError(err)
	return known != nil && (known.Kind == models.Unauthenticated || known.Kind == models.Forbidden || known.Kind == models.TooMany)
}
