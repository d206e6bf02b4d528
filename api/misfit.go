package api

import (
	"encoding"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"strconv"
	"strings"

	"withybed/models"
)

// packedFaults carries faults through huma, which hands on only the text of an
// error from a decoder. No text that a body can cause begins with its mark.
type packedFaults string

const packMark = "\x00faults"

func (p packedFaults) Error() string { return string(p) }

func packed(faults []models.Field) error {
	text, err := json.Marshal(faults)
	if err != nil {
		return fmt.Errorf("pack faults: %w", err)
	}
	return packedFaults(packMark + string(text))
}

func unpack(text string) ([]models.Field, bool) {
	rest, ok := strings.CutPrefix(text, packMark)
	if !ok {
		return nil, false
	}
	dec := json.NewDecoder(strings.NewReader(rest))
	dec.UseNumber()
	var faults []models.Field
	if err := dec.Decode(&faults); err != nil {
		return nil, false
	}
	return faults, true
}

// misfits finds every place in a well-formed body that its type cannot take:
// what the schema lets pass and the type's own reading does not.
func misfits(data []byte, v any) []models.Field {
	f := &misfitFinder{}
	f.look(data, reflect.TypeOf(v).Elem(), "")
	if len(f.found) == 0 {
		f.add("body", data, "cannot be read")
	}
	return f.found
}

type misfitFinder struct{ found []models.Field }

func (f *misfitFinder) look(data []byte, t reflect.Type, at string) {
	err := json.Unmarshal(data, reflect.New(t).Interface())
	if err == nil {
		return
	}
	before := len(f.found)
	f.lookInside(data, t, at)
	if len(f.found) == before {
		f.add(at, data, misfitDetail(err))
	}
}

func (f *misfitFinder) lookInside(data []byte, t reflect.Type, at string) {
	if inner, ok := patched(t); ok {
		f.look(data, inner, at)
		return
	}
	if readsItself(t) {
		return
	}
	switch t.Kind() {
	case reflect.Pointer:
		f.look(data, t.Elem(), at)
	case reflect.Struct:
		f.lookInFields(data, t, at)
	case reflect.Slice, reflect.Array:
		var items []json.RawMessage
		_ = json.Unmarshal(data, &items) // not a list: no items to look into
		for i, item := range items {
			f.look(item, t.Elem(), at+"["+strconv.Itoa(i)+"]")
		}
	case reflect.Map:
		var items map[string]json.RawMessage
		_ = json.Unmarshal(data, &items)
		for name, item := range items {
			f.look(item, t.Elem(), join(at, name))
		}
	}
}

func (f *misfitFinder) lookInFields(data []byte, t reflect.Type, at string) {
	var values map[string]json.RawMessage
	_ = json.Unmarshal(data, &values)
	for _, field := range reflect.VisibleFields(t) {
		name, _, _ := strings.Cut(field.Tag.Get("json"), ",")
		if name == "" {
			name = field.Name
		}
		if value, ok := values[name]; ok && field.IsExported() {
			f.look(value, field.Type, join(at, name))
		}
	}
}

func (f *misfitFinder) add(at string, data []byte, detail string) {
	if at == "" {
		at = "body"
	}
	var value any
	_ = json.Unmarshal(data, &value)
	if _, number := value.(float64); number {
		value = json.Number(data)
	}
	f.found = append(f.found, models.Field{Name: at, Detail: detail, Value: shortValue(value)})
}

var (
	jsonReader = reflect.TypeFor[json.Unmarshaler]()
	textReader = reflect.TypeFor[encoding.TextUnmarshaler]()
)

func readsItself(t reflect.Type) bool {
	p := reflect.PointerTo(t)
	return p.Implements(jsonReader) || p.Implements(textReader)
}

// patched is the type inside a models.Patch.
func patched(t reflect.Type) (reflect.Type, bool) {
	if t.Kind() != reflect.Struct || t.PkgPath() != reflect.TypeFor[models.Date]().PkgPath() || !strings.HasPrefix(t.Name(), "Patch[") {
		return nil, false
	}
	field, ok := t.FieldByName("Value")
	return field.Type, ok
}

// misfitDetail says what a value must be, without the names of Go's types.
func misfitDetail(err error) string {
	var misfit *json.UnmarshalTypeError
	if !errors.As(err, &misfit) {
		return err.Error()
	}
	switch misfit.Type.Kind() {
	case reflect.String:
		return "must be text"
	case reflect.Bool:
		return "must be true or false"
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64,
		reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		return "must be a whole number, written without a point, that is not too large"
	case reflect.Float32, reflect.Float64:
		return "must be a number that is not too large"
	case reflect.Slice, reflect.Array:
		return "must be a list"
	}
	return "must be an object, with fields"
}
