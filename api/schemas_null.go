package api

import (
	"reflect"
	"strings"

	"github.com/danielgtaylor/huma/v2"
)

const typeNull = "null"

// allowNulls tells of every pointer that is written whatever it holds that it may
// be null. huma does so for plain values, but neither for objects nor for types
// that describe themselves.
func (s *Surface) allowNulls() {
	r := s.api.OpenAPI().Components.Schemas
	for name, schema := range r.Map() {
		t := r.TypeFromRef("#/components/schemas/" + name)
		for _, field := range reflect.VisibleFields(t) {
			jsonName, options, _ := strings.Cut(field.Tag.Get("json"), ",")
			property := schema.Properties[jsonName]
			if property == nil || field.Type.Kind() != reflect.Pointer || strings.Contains(options, "omit") {
				continue
			}
			schema.Properties[jsonName] = orNull(property)
		}
	}
}

// orNull is a schema that null fits too.
func orNull(s *huma.Schema) *huma.Schema {
	if s.Ref == "" {
		s.Nullable = true
		return s
	}
	return &huma.Schema{Description: s.Description, OneOf: []*huma.Schema{{Ref: s.Ref}, {Type: typeNull}}}
}
