package api

import (
	"encoding/json"
	"fmt"
	"unicode/utf8"

	"withybed/models"
	"withybed/models/rules"
)

// longestValue is how much of a value at fault is shown again, in characters.
const longestValue = 80

// mostFaults is how many faults one answer tells. A body can have a hundred
// thousand, and the answer would be many times as long as the question.
const mostFaults = 1000

// untold says of how many faults the first alone are told.
func untold(faults int) string {
	if faults <= mostFaults {
		return ""
	}
	return fmt.Sprintf("; the first %d of %d faults are told", mostFaults, faults)
}

// shortened are the first fields with values fit to be shown: a whole object, a
// list or a long text is never sent back.
func shortened(fields []models.Field) []models.Field {
	fields = fields[:min(len(fields), mostFaults)]
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

// cut is a text short enough to be shown again, without the secret of a token.
func cut(s string) string {
	s = rules.WithoutSecrets(s)
	if utf8.RuneCountInString(s) <= longestValue {
		return s
	}
	return string([]rune(s)[:longestValue-1]) + "…"
}
