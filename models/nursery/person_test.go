package nursery_test

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store"
)

func rowan() models.NewPerson {
	return models.NewPerson{
		Code: "RQ", Name: "Rowan Quill", Email: "rowan@wrenlow.example", Phone: "555 0117", Note: "after the ferry",
		Mail: []models.MailList{models.BenchMail},
	}
}

func (h *house) onList(req models.NewPerson) models.PersonView {
	h.t.Helper()
	view, err := h.AddPerson(h.ctx, unkeyed, req)
	return must(h, view, err)
}

// as is the context of a request in a role.
func (h *house) as(role models.Role) context.Context {
	return nursery.As(h.ctx, models.Caller{Token: "t", Name: "desk", Role: role, Request: "POST /v1/somewhere", LandManager: "Wrenlow Valley Parks"})
}

func TestTheStoryOfAPerson(t *testing.T) {
	each(t, func(h *house) {
		none, err := h.People(h.ctx, models.Page{})
		if must(h, none, err); len(none.Items) > 0 {
			h.t.Errorf("%+v", none)
		}
		h.warned(h.onList(rowan()).Warnings, "first code on the list")
		if more := h.onList(models.NewPerson{Code: "OP"}); len(more.Warnings) > 0 || more.Mail == nil {
			h.t.Errorf("%+v", more)
		}
		_, err = h.AddPerson(h.ctx, unkeyed, models.NewPerson{Code: "rq"})
		h.refused(err, models.Conflict, "taken", "rq", "for good")

		seen, err := h.Person(h.ctx, "rq")
		if must(h, seen, err); seen.Name != "Rowan Quill" || seen.Version != 1 || seen.Erased || !slices.Equal(seen.Mail, []models.MailList{models.BenchMail}) {
			h.t.Errorf("%+v", seen)
		}
		_, err = h.Person(h.ctx, "RQQ")
		if e := h.refused(err, models.NotFound, "no-such-person", "RQQ"); !slices.Contains(e.Suggestions, "RQ") {
			h.t.Errorf("near codes are %q", e.Suggestions)
		}
		edited, err := h.EditPerson(h.ctx, "RQ", 1, models.PersonEdit{Phone: models.SetNull[string](), Note: models.SetTo("mornings")})
		if must(h, edited, err); edited.Phone != "" || edited.Note != "mornings" || edited.Version != 2 || edited.Email != "rowan@wrenlow.example" {
			h.t.Errorf("%+v", edited)
		}
		_, err = h.EditPerson(h.ctx, "RQ", 1, models.PersonEdit{})
		h.refused(err, models.Stale, "stale")
		_, err = h.EditPerson(h.ctx, "RQ", 2, models.PersonEdit{Email: models.SetTo("Rowan")})
		h.refused(err, models.Invalid, "invalid", "email")
		h.erased()
	})
}

func (h *house) erased() {
	h.t.Helper()
	gone, err := h.ErasePerson(h.ctx, unkeyed, "rq")
	must(h, gone, err)
	h.warned(gone.Warnings, "in words")
	again, err := h.ErasePerson(h.ctx, unkeyed, "RQ")
	if must(h, again, err); again.Version != gone.Version {
		h.t.Errorf("erased again it is at version %d, not %d", again.Version, gone.Version)
	}
	want := models.PersonView{Code: "RQ", Mail: []models.MailList{}, Erased: true, Warnings: []string{}, Version: 3}
	h.sameJSON("erased", want, again)
	list, err := h.People(h.ctx, models.Page{})
	if must(h, list, err); len(list.Items) != 2 || list.Items[0].Code != "OP" {
		h.t.Errorf("%+v", list)
	}
	h.sameJSON("listed", want, list.Items[1])
	_, err = h.EditPerson(h.ctx, "RQ", 3, models.PersonEdit{Name: models.SetTo("Rowan")})
	h.refused(err, models.Conflict, "person-erased")
	_, err = h.AddPerson(h.ctx, unkeyed, rowan())
	h.refused(err, models.Conflict, "taken")
	_, err = h.ErasePerson(h.ctx, unkeyed, "TY")
	h.refused(err, models.NotFound, "no-such-person")
}

// filesHold looks for a text in the file of an embedded database and in its log, as
// whoever copies them would find it.
func (h *house) filesHold(when, text string, want bool) {
	h.t.Helper()
	path, embedded := strings.CutSuffix(h.store.LockPath(), ".lock")
	if !embedded {
		return
	}
	found := false
	for _, file := range []string{path, path + "-wal"} {
		data, err := os.ReadFile(file)
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			h.t.Fatal(err)
		}
		found = found || bytes.Contains(data, []byte(text))
	}
	if found != want {
		h.t.Errorf("%s: the files hold %q: %v", when, text, found)
	}
}

// dump is the text of every row of every table.
func (h *house) dump() string {
	h.t.Helper()
	db := h.store.SQL()
	tables := "SELECT name FROM sqlite_master WHERE type = 'table'"
	if h.store.Dialect() == store.Postgres {
		tables = "SELECT table_name FROM information_schema.tables WHERE table_schema = current_schema()"
	}
	var text strings.Builder
	for _, table := range h.rows(db, tables) {
		for _, row := range h.rows(db, `SELECT * FROM "`+table+`"`) {
			fmt.Fprintf(&text, "%s: %s\n", table, row)
		}
	}
	return text.String()
}

// rows are the rows of a query, the values of each beside one another.
func (h *house) rows(db *sql.DB, query string) (all []string) {
	h.t.Helper()
	rows, err := db.QueryContext(h.ctx, query)
	if err != nil {
		h.t.Fatal(err)
	}
	defer rows.Close()
	columns, err := rows.Columns()
	must(h, columns, err)
	for rows.Next() {
		values, into := make([]any, len(columns)), make([]any, len(columns))
		for i := range values {
			into[i] = &values[i]
		}
		if err := rows.Scan(into...); err != nil {
			h.t.Fatal(err)
		}
		var texts []string
		for _, value := range values {
			if raw, ok := value.([]byte); ok {
				value = string(raw)
			}
			texts = append(texts, fmt.Sprint(value))
		}
		all = append(all, strings.Join(texts, " | "))
	}
	if err := rows.Err(); err != nil {
		h.t.Fatal(err)
	}
	return all
}

func (h *house) posted(letters ...models.Letter) {
	h.t.Helper()
	err := h.store.Write(h.ctx, func(tx *store.Tx) error {
		for i := range letters {
			letters[i].ID, letters[i].MadeAt, letters[i].TryAt = fmt.Sprintf("letter-%d", i), h.at.UTC(), h.at.UTC()
		}
		return tx.AddLetters(letters)
	})
	if err != nil {
		h.t.Fatal(err)
	}
}

// After an erasure no table holds the name, the addresses, the telephone or the
// note: not the list, the mail, the record of changes, nor what is remembered for
// a retry.
func TestAnErasureLeavesNothingAnywhere(t *testing.T) {
	each(t, func(h *house) {
		h.counted("TB-01")
		desk := h.as(models.Coordinator)
		made, err := h.AddPerson(desk, nursery.Once{Route: nursery.PeopleRoute, Key: "k1"}, rowan())
		must(h, made, err)
		again, err := h.AddPerson(desk, nursery.Once{Route: nursery.PeopleRoute, Key: "k1"}, rowan())
		h.sameJSON("sent again", made, must(h, again, err))
		h.posted(
			models.Letter{Occasion: "week 1", Address: "rowan@wrenlow.example", SentAt: ptr(h.at.UTC()), Text: "what is due"},
			models.Letter{Occasion: "week 2", Address: "rowan@wrenlow.example", Text: "what is due"},
			models.Letter{Occasion: "week 2", Address: "op@wrenlow.example", Text: "what is due"})
		edited, err := h.EditPerson(desk, "RQ", 1, models.PersonEdit{
			Name: models.SetTo("Rowan Q. Quill"), Email: models.SetTo("rq@mail.example"), Phone: models.SetTo("555 0118")})
		must(h, edited, err)
		h.log(cutOf("TB-01", "2026-01-17", 4))

		known := []string{"Rowan", "Quill", "rowan@wrenlow.example", "rq@mail.example", "555 0117", "555 0118", "after the ferry"}
		before := h.dump()
		for _, word := range []string{"Rowan", "Quill", "rq@mail.example", "555 0117", "555 0118", "after the ferry"} {
			if !strings.Contains(before, word) {
				h.t.Errorf("before the erasure nothing holds %q", word)
			}
		}
		gone, err := h.ErasePerson(desk, nursery.Once{Route: "POST /v1/people/RQ/erasures", Key: "k2"}, "RQ")
		must(h, gone, err)
		h.filesHold("the batch is there", "TB-01-2026-1", true)
		for _, word := range known {
			h.filesHold("after the erasure", word, false)
		}
		after := h.dump()
		for _, word := range known {
			if strings.Contains(strings.ToLower(after), strings.ToLower(word)) {
				h.t.Errorf("after the erasure %q is still there:\n%s", word, after)
			}
		}
		for _, kept := range []string{"people: ", "outbox: letter-0", "op@wrenlow.example", "changed", "TB-01-2026-1", "| RQ |"} {
			if !strings.Contains(after, kept) {
				h.t.Errorf("after the erasure %q is gone too:\n%s", kept, after)
			}
		}
		if strings.Contains(after, "letter-1") {
			h.t.Error("a letter still waits for the person who was erased")
		}
		if batch, err := h.Batch(h.ctx, "TB-01-2026-1"); err != nil || batch.CollectedBy != "RQ" {
			h.t.Errorf("the batch was cut by %q (%v)", batch.CollectedBy, err)
		}
	})
}

func TestALetterForAnotherOfThatAddressStays(t *testing.T) {
	each(t, func(h *house) {
		h.onList(rowan())
		h.onList(models.NewPerson{Code: "OP", Email: "Rowan@wrenlow.example", Mail: []models.MailList{models.BenchMail}})
		h.posted(models.Letter{Occasion: "week 1", Address: "rowan@wrenlow.example"})
		must1(h, func() (models.PersonView, error) { return h.ErasePerson(h.ctx, unkeyed, "RQ") })
		if !strings.Contains(h.dump(), "letter-0") {
			h.t.Error("the letter is gone, and another has the address")
		}
		must1(h, func() (models.PersonView, error) { return h.ErasePerson(h.ctx, unkeyed, "OP") })
		if strings.Contains(h.dump(), "letter-0") {
			h.t.Error("the letter is still there, and nobody has the address")
		}
	})
}

// Of an edit of a person the record of changes keeps the names of the fields.
func TestTheRecordOfChangesKnowsNoContacts(t *testing.T) {
	each(t, func(h *house) {
		h.onList(rowan())
		_, err := h.EditPerson(h.as(models.Coordinator), "RQ", 1, models.PersonEdit{Name: models.SetTo("R. Quill"), Email: models.SetTo("rq@mail.example")})
		if err != nil {
			h.t.Fatal(err)
		}
		list, err := h.Changes(h.ctx, "", models.Page{})
		if must(h, list, err); len(list.Items) != 1 {
			h.t.Fatalf("%+v", list)
		}
		h.sameJSON("the change", map[string]any{"changed": []string{"name", "email"}}, list.Items[0].Detail)
	})
}
