package api

import (
	"encoding/json"
	"unicode/utf8"

	"withybed/models"
)

// longestValue is how much of a value at fault is shown again, in characters.
const longestValue = 80

// shortened are the fields with values fit to be shown: a whole object, a list
// or a long text is never sent back.
func shortened(fields []models.Field) []models.Field {
	short := make([]models.Field, len(fields))
	for i, f := range fields {
		short[i] = models.Field{Name: cut(f.Name), Detail: f.Detail, Value: shortValue(f.Value)}
	}
	return short
}

func shortValue(v any) any {
	switch v := v.(type) {
	case string:
		return cut(v)
	case nil, bool, int, int64, float64:
		return v
	case map[string]any, []any:
		return nil
	}
	text, err := json.Marshal(v)
	if err != nil || len(text) > longestValue || text[0] == '{' || text[0] == '[' {
		return nil
	}
	return json.RawMessage(text)
}

func cut(s string) string {
	if utf8.RuneCountInString(s) <= longestValue {
		return s
	}
	return string([]rune(s)[:longestValue-1]) + "…"
}
