package store

import (
	"encoding/base64"
	"encoding/json"
	"strings"

	"withybed/models"
)

// A cursor names the last item of a page: the list it belongs to, then the
// values the list is sorted by. It is a JSON array in URL-safe base64.

func cursorOf(list string, keys ...string) string {
	data, _ := json.Marshal(append([]string{list}, keys...)) // strings always can be
	return base64.RawURLEncoding.EncodeToString(data)
}

// parseCursor reads the keys of a cursor of a list, of which there are n.
func parseCursor(list, cursor string, n int) ([]string, error) {
	data, err := base64.RawURLEncoding.DecodeString(cursor)
	if err != nil {
		return nil, badCursor(cursor)
	}
	var parts []string
	if err := json.Unmarshal(data, &parts); err != nil || len(parts) != n+1 || parts[0] != list {
		return nil, badCursor(cursor)
	}
	if strings.Contains(strings.Join(parts, ""), "\x00") { // PostgreSQL takes none
		return nil, badCursor(cursor)
	}
	return parts[1:], nil
}

func badCursor(cursor string) error {
	return &models.Error{
		Kind: models.Invalid, Code: "bad-cursor",
		Detail: "the list cannot go on from there: ask for its first page without after, then follow what it names as next",
		Fields: []models.Field{{Name: "after", Detail: "is no mark of this list", Value: shorten(cursor)}},
	}
}

func shorten(text string) string {
	const most = 60
	if runes := []rune(text); len(runes) > most {
		return string(runes[:most]) + "…"
	}
	return text
}

// oneKey reads the key of a cursor that has one; ok is false for a first page.
func oneKey(list string, page models.Page) (key string, ok bool, err error) {
	if page.After == "" {
		return "", false, nil
	}
	keys, err := parseCursor(list, page.After, 1)
	if err != nil {
		return "", false, err
	}
	return keys[0], true, nil
}

// dayAndID reads the keys of a cursor of a list sorted by day, then by id; ok is
// false for a first page.
func dayAndID(list string, page models.Page) (day models.Date, id string, ok bool, err error) {
	if page.After == "" {
		return models.Date{}, "", false, nil
	}
	keys, err := parseCursor(list, page.After, 2)
	if err != nil {
		return models.Date{}, "", false, err
	}
	day, err = models.ParseDate(keys[0])
	if err != nil {
		return models.Date{}, "", false, badCursor(page.After)
	}
	return day, keys[1], true, nil
}

// pageOf is a page of rows that were read one beyond its size, which tells
// whether there is another.
func pageOf[T any](rows []T, page models.Page, cursor func(last T) string) models.List[T] {
	size := page.Size()
	if len(rows) <= size {
		return models.List[T]{Items: rows}
	}
	return models.List[T]{Items: rows[:size], Next: cursor(rows[size-1])}
}
