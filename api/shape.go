package api

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/validation"

	"withybed/models"
)

// shapeError says in our words what huma found wrong with a request.
func shapeError(status int, msg string, errs []error) *models.Error {
	switch status {
	case http.StatusRequestEntityTooLarge:
		return tooLarge(msg)
	case http.StatusNotAcceptable:
		return models.Errorf(models.Malformed, "not-acceptable", "there is no answer of the type that Accept asks for")
	case http.StatusUnsupportedMediaType:
		return models.Errorf(models.Malformed, "unsupported-media-type", "the body is of a type that is not read here: send JSON with Content-Type: application/json")
	case http.StatusRequestTimeout:
		return models.Errorf(models.Malformed, "malformed", "the body did not arrive in time")
	case http.StatusBadRequest:
		return malformed(msg, errs)
	case http.StatusUnprocessableEntity:
		return shapeFault("invalid", fieldsOf(errs))
	}
	if msg == "cannot read request body" {
		return models.Errorf(models.Malformed, "malformed", "the body ended before it was complete")
	}
	return internalError()
}

func tooLarge(msg string) *models.Error {
	var limit int64
	if _, err := fmt.Sscanf(msg, "request body is too large limit=%d bytes", &limit); err != nil {
		return models.Errorf(models.Malformed, "too-large", "the body is too large: send it in parts")
	}
	return models.Errorf(models.Malformed, "too-large", "the body is larger than %d bytes, which is all that is read: send it in parts", limit-1)
}

func malformed(msg string, errs []error) *models.Error {
	if msg == "request body is required" {
		return models.Errorf(models.Malformed, "malformed", "the body is empty: /v1/openapi.json says what this route takes")
	}
	fields := fieldsOf(errs)
	if len(fields) == 0 {
		return models.Errorf(models.Malformed, "malformed", "the request cannot be read")
	}
	return shapeFault("malformed", fields)
}

// shapeFault is the error for faults of form, in the order of their names and
// each place told once.
func shapeFault(code string, fields []models.Field) *models.Error {
	slices.SortStableFunc(fields, func(a, b models.Field) int { return cmp.Compare(a.Name, b.Name) })
	fields = slices.CompactFunc(fields, func(a, b models.Field) bool { return a.Name == b.Name })
	entry := Catalogue[code]
	detail := "the request cannot be used as it is"
	if entry.Kind == models.Malformed {
		detail = "the request cannot be read"
	}
	return &models.Error{Kind: entry.Kind, Code: code, Detail: detail, Fields: fields}
}

func fieldsOf(errs []error) []models.Field {
	var fields []models.Field
	for _, err := range errs {
		if detailer, ok := err.(huma.ErrorDetailer); ok {
			fields = append(fields, fieldsOfDetail(detailer.ErrorDetail())...)
		} else if err != nil {
			fields = append(fields, models.Field{Name: "body", Detail: err.Error()})
		}
	}
	return fields
}

func fieldsOfDetail(d *huma.ErrorDetail) []models.Field {
	if carried, ok := unpack(d.Message); ok {
		return carried
	}
	if name, ok := strings.CutSuffix(d.Message, missing); ok && paramWords[d.Message] == "" && name != "" {
		return []models.Field{{Name: place(d.Location + "." + name), Detail: strings.TrimSpace(missing)}}
	}
	field := models.Field{Name: place(d.Location), Detail: strings.TrimPrefix(d.Message, "invalid value: "), Value: d.Value}
	if words, ok := paramWords[field.Detail]; ok {
		field.Detail = words
	}
	if around, ok := d.Value.(map[string]any); ok && d.Message == validation.MsgUnexpectedProperty {
		field.Value = lastIn(around, d.Location)
	}
	if field.Value == "" && strings.HasPrefix(d.Location, "query.") {
		field.Value = nil // huma knows no value of a parameter it does not know
	}
	return []models.Field{field}
}

// lastIn is the value of the field at a location, in the object around it,
// which is what huma gives for a field it does not know. Names hold no dots.
func lastIn(around map[string]any, location string) any {
	return around[location[strings.LastIndexByte(location, '.')+1:]]
}

// place is where a fault lies as the one who asked knows it: the name of the
// field or parameter, without the part of the request it stands in.
func place(location string) string {
	for _, part := range []string{"body.", "query.", "path.", "header."} {
		if name, ok := strings.CutPrefix(location, part); ok {
			return name
		}
	}
	if rest, ok := strings.CutPrefix(location, "body["); ok {
		return "[" + rest
	}
	return cmp.Or(location, "body")
}
