package api

import (
	"encoding/json"
	"reflect"
	"slices"

	"github.com/danielgtaylor/huma/v2"

	"withybed/models"
)

// describeModels tells a registry how the types of models are written in JSON,
// since models itself knows nothing of schemas. Every type that is put into a
// models.Patch needs its line here.
func describeModels(r huma.Registry) {
	r.RegisterTypeAlias(reflect.TypeFor[models.Date](), reflect.TypeFor[dateSchema]())
	r.RegisterTypeAlias(reflect.TypeFor[models.Decimal](), reflect.TypeFor[decimalSchema]())
	r.RegisterTypeAlias(reflect.TypeFor[models.Treatment](), reflect.TypeFor[treatmentSchema]())
	r.RegisterTypeAlias(reflect.TypeFor[models.BottomHeat](), reflect.TypeFor[heatSchema]())
	r.RegisterTypeAlias(reflect.TypeFor[models.Losses](), reflect.TypeFor[lossesSchema]())
	patchable[string](r)
	patchable[bool](r)
	patchable[int](r)
	patchable[float64](r)
	patchable[models.Date](r)
	patchable[models.Decimal](r)
	patchable[models.Sensitivity](r)
	patchable[models.PermitNeed](r)
	patchable[models.PermitKind](r)
	patchable[models.PermitUnit](r)
	patchable[[]string](r)
	patchable[[]models.MailList](r)
	patchable[[]models.Parent](r)
	patchable[models.Identification](r)
	patchable[models.Purpose](r)
	patchable[models.CuttingKind](r)
	patchable[models.MoveTo](r)
	patchable[models.Cause](r)
	patchable[models.Action](r)
	patchable[models.LookMethod](r)
	patchable[models.Treatment](r)
	patchable[models.BottomHeat](r)
	patchable[models.Losses](r)
}

// dateSchema is how a models.Date is written.
type dateSchema struct{}

// Schema is a day of the calendar within the years that are read.
func (dateSchema) Schema(huma.Registry) *huma.Schema {
	return &huma.Schema{
		Type: huma.TypeString, Format: "date",
		Pattern:            `^(19|20|21)[0-9]{2}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$`,
		PatternDescription: "a day written year-month-day, from 1900-01-01 to 2199-12-31",
		Examples:           []any{"2026-01-17"},
	}
}

// decimalSchema is how a models.Decimal is written.
type decimalSchema struct{}

// Schema is a number of at most four places. The places are told but left for
// models.Decimal to hold: in binary 0.29 is no multiple of 0.0001.
func (decimalSchema) Schema(huma.Registry) *huma.Schema {
	return &huma.Schema{
		Type: huma.TypeNumber, Examples: []any{0.05},
		Extensions: map[string]any{"multipleOf": json.Number("0.0001")},
	}
}

// patchSchema is how a models.Patch of T is written: as a T or as null.
type patchSchema[T any] struct{}

// Schema is that of T, and null besides.
func (patchSchema[T]) Schema(r huma.Registry) *huma.Schema {
	t := reflect.TypeFor[T]()
	s := *r.Schema(t, false, t.Name())
	if forms, several := s.Extensions["oneOf"].([]*huma.Schema); several {
		s.Extensions = map[string]any{"oneOf": append(slices.Clone(forms), &huma.Schema{Type: typeNull})}
		return &s
	}
	s.Nullable = true
	return &s
}

func patchable[T any](r huma.Registry) {
	r.RegisterTypeAlias(reflect.TypeFor[models.Patch[T]](), reflect.TypeFor[patchSchema[T]]())
}
