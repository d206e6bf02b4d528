package api

import (
	"bytes"
	"encoding/json"
	"reflect"
	"strings"

	"withybed/models"
)

// isMergePatch tells the types that edit a record.
func isMergePatch(t reflect.Type) bool {
	if t.Kind() != reflect.Struct {
		return false
	}
	for _, field := range reflect.VisibleFields(t) {
		if _, ok := patched(field.Type); ok {
			return true
		}
	}
	return false
}

// idleNulls finds every null in a merge patch that has nothing to take away. In
// a merge patch null takes a value away (RFC 7396); passed over in silence, it
// would be answered as if the edit were made.
func idleNulls(data []byte, t reflect.Type, at string) (found []models.Field) {
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	var values map[string]json.RawMessage
	_ = json.Unmarshal(data, &values) // not an object: no fields to look into
	for name, value := range values {
		inside, takesNull := member(t, name)
		here := join(at, name)
		switch {
		case takesNull:
		case bytes.Equal(value, []byte("null")):
			found = append(found, models.Field{Name: here, Detail: "is null, and cannot be taken away: leave it out to keep it, or give it a value"})
		default:
			found = append(found, idleNulls(value, inside, here)...)
		}
	}
	return found
}

// member is the type of a named part of a struct or a map, and whether it knows
// null as a value. What is in no object, such as the items of a list, is left to
// its own reading.
func member(t reflect.Type, name string) (inside reflect.Type, takesNull bool) {
	switch t.Kind() {
	case reflect.Map:
		return t.Elem(), t.Elem().Kind() == reflect.Pointer
	case reflect.Struct:
		for _, field := range reflect.VisibleFields(t) {
			if known, _, _ := strings.Cut(field.Tag.Get("json"), ","); known == name {
				_, takesNull = patched(field.Type)
				return field.Type, takesNull
			}
		}
	}
	return t, true
}
