package api

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/danielgtaylor/huma/v2"

	"withybed/models"
)

// deepest is how many objects and lists may stand inside each other.
const deepest = 32

// strictJSON reads JSON as RFC 8259 means it and no other way: one value, in
// UTF-8, no name twice in an object.
var strictJSON = huma.Format{
	Marshal: func(w io.Writer, v any) error {
		enc := json.NewEncoder(w)
		enc.SetEscapeHTML(false)
		return enc.Encode(v)
	},
	Unmarshal: unmarshalStrict,
}

// unmarshalStrict is called by huma twice for each body: for the plain values
// that it holds against the schema, and then for the request type itself. The
// form is looked at the first time.
func unmarshalStrict(data []byte, v any) error {
	if plain, ok := v.(*any); ok {
		var err error
		*plain, err = readStrict(data)
		return err
	}
	if json.Unmarshal(data, v) != nil {
		return packed(misfits(data, v))
	}
	if t := reflect.TypeOf(v).Elem(); isMergePatch(t) {
		if found := idleNulls(data, t, ""); len(found) > 0 {
			return packed(found)
		}
	}
	return nil
}

// readStrict reads one JSON value. Numbers become int64 where they are whole
// and fit, float64 otherwise.
func readStrict(data []byte) (any, error) {
	if i := firstInvalid(data); i >= 0 {
		return nil, unreadable("is not text in UTF-8 from " + position(data, i))
	}
	if err := wellFormed(data); err != nil {
		return nil, err
	}
	if i := halfCharacter(data); i >= 0 {
		return nil, unreadable("escapes half a character at " + position(data, i) + ": write the character itself")
	}
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.UseNumber()
	r := &strictReader{dec: dec}
	v, err := r.value("", 0)
	if err != nil {
		return nil, err
	}
	if len(r.faults) > 0 {
		return nil, packed(r.faults)
	}
	return v, nil
}

func wellFormed(data []byte) error {
	var raw json.RawMessage
	err := json.Unmarshal(data, &raw)
	var syntax *json.SyntaxError
	switch {
	case err == nil:
		return nil
	case !errors.As(err, &syntax):
		return unreadable("is not JSON")
	case strings.Contains(err.Error(), "after top-level value"):
		return unreadable("goes on after the JSON value, at " + position(data, int(syntax.Offset)-1) + ": send one value only")
	case strings.Contains(err.Error(), "unexpected end"):
		return unreadable("ends in the middle of the JSON, at " + position(data, len(data)))
	case strings.Contains(err.Error(), "exceeded max depth"):
		return tooDeep("body")
	}
	return unreadable("is not JSON from " + position(data, int(syntax.Offset)-1))
}

// strictReader walks JSON known to be well formed.
type strictReader struct {
	dec    *json.Decoder
	faults []models.Field
}

func (r *strictReader) value(at string, depth int) (any, error) {
	token, err := r.dec.Token()
	if err != nil {
		return nil, unreadable("is not JSON")
	}
	switch token := token.(type) {
	case json.Delim:
		if depth == deepest {
			return nil, tooDeep(at)
		}
		if token == '{' {
			return r.object(at, depth+1)
		}
		return r.list(at, depth+1)
	case json.Number:
		return r.number(at, token), nil
	case string:
		r.text(at, token)
		return token, nil
	}
	return token, nil
}

func (r *strictReader) object(at string, depth int) (any, error) {
	fields := map[string]any{}
	for r.dec.More() {
		token, err := r.dec.Token()
		if err != nil {
			return nil, unreadable("is not JSON")
		}
		name, _ := token.(string)
		here := join(at, name)
		r.name(here, name)
		v, err := r.value(here, depth)
		if err != nil {
			return nil, err
		}
		if _, twice := fields[name]; twice {
			r.fault(here, "stands twice in the same object: give it once", v)
		}
		fields[name] = v
	}
	_, err := r.dec.Token()
	return fields, err
}

func (r *strictReader) list(at string, depth int) (any, error) {
	items := []any{}
	for r.dec.More() {
		v, err := r.value(at+"["+strconv.Itoa(len(items))+"]", depth)
		if err != nil {
			return nil, err
		}
		items = append(items, v)
	}
	_, err := r.dec.Token()
	return items, err
}

func (r *strictReader) number(at string, n json.Number) any {
	if whole, err := n.Int64(); err == nil {
		return whole
	}
	f, err := n.Float64()
	if err != nil {
		r.fault(at, "is too large a number", n.String())
	}
	return f
}

func (r *strictReader) text(at, s string) {
	if strings.ContainsRune(s, 0) {
		r.fault(strings.ReplaceAll(at, "\x00", "?"), "holds the character NUL, which cannot be kept", nil)
	}
}

// name refuses names that no field has. Where they hold the signs by which huma
// marks places, it loses its own: each fault would then carry the names of all
// before it, which is more than there is room for.
func (r *strictReader) name(at, name string) {
	r.text(at, name)
	if strings.ContainsAny(name, ".[") {
		r.fault(at, "is the name of no field: those hold neither dots nor brackets", nil)
	}
}

func (r *strictReader) fault(at, detail string, value any) {
	r.faults = append(r.faults, models.Field{Name: at, Detail: detail, Value: shortValue(value)})
}

// join is the place of a name within another place. A long name is cut, since it
// may have many places within it.
func join(at, name string) string {
	if at == "" {
		return cut(name)
	}
	return at + "." + cut(name)
}

func firstInvalid(data []byte) int {
	for i := 0; i < len(data); {
		r, size := utf8.DecodeRune(data[i:])
		if r == utf8.RuneError && size == 1 {
			return i
		}
		i += size
	}
	return -1
}

// position is a byte of the body as an editor counts it, from 1.
func position(data []byte, offset int) string {
	before := data[:min(max(offset, 0), len(data))]
	line := bytes.Count(before, []byte("\n")) + 1
	column := utf8.RuneCount(before[bytes.LastIndexByte(before, '\n')+1:]) + 1
	return fmt.Sprintf("line %d, column %d", line, column)
}

func unreadable(detail string) error {
	return packed([]models.Field{{Name: "body", Detail: detail}})
}

func tooDeep(at string) error {
	return packed([]models.Field{{Name: cut(at), Detail: fmt.Sprintf("is nested more than %d deep", deepest)}})
}
