package api

import (
	"reflect"

	"github.com/danielgtaylor/huma/v2"

	"withybed/models"
)

// Types that are written in more than one form are told to the readers of the
// document but left for the types themselves to hold: huma would only say that
// none of the forms fits, they say what is wrong.

// treatmentSchema is how a models.Treatment is written.
type treatmentSchema struct{}

// treatmentParts has the fields of a treatment and none of its methods, so that
// they are described one by one.
type treatmentParts models.Treatment

// Schema is a text that names the treatment, or its parts.
func (treatmentSchema) Schema(r huma.Registry) *huma.Schema {
	longest := models.MaxName
	parts := *huma.SchemaFromType(r, reflect.TypeFor[treatmentParts]())
	parts.Description = "Its parts; what is left out was not done"
	return &huma.Schema{Examples: []any{map[string]any{"auxin": "IBA", "auxin_ppm": 3000, "auxin_form": "talc"}}, Extensions: map[string]any{
		"oneOf": []*huma.Schema{
			{Type: huma.TypeString, MaxLength: &longest, Description: "A name for it; none is no treatment", Examples: []any{"split heel"}},
			&parts,
		},
	}}
}

// heatSchema is how a models.BottomHeat is written.
type heatSchema struct{}

// Schema is whether there is bottom heat, or its temperature.
func (heatSchema) Schema(huma.Registry) *huma.Schema {
	least, most := 5.0, 45.0
	return &huma.Schema{Examples: []any{21}, Extensions: map[string]any{
		"oneOf": []*huma.Schema{
			{Type: huma.TypeBoolean, Description: "Whether it is warmed from below"},
			{Type: huma.TypeNumber, Minimum: &least, Maximum: &most, Description: "Degrees Celsius at the base of the cuttings"},
		},
	}}
}

// lossesSchema is how models.Losses are written.
type lossesSchema struct{}

// Schema is counts by cause. The causes are told but left for the rules to hold,
// which say the words there are.
func (lossesSchema) Schema(huma.Registry) *huma.Schema {
	least, most := 0.0, float64(models.MaxCount)
	count := &huma.Schema{
		Type: huma.TypeInteger, Minimum: &least, Maximum: &most,
		Description: "Cuttings lost to this cause: " + models.OneOf(models.Causes),
	}
	count.PrecomputeMessages() // huma does so for the fields it knows only
	return &huma.Schema{
		Type: huma.TypeObject, Description: "Cuttings lost, by cause", AdditionalProperties: count,
		Examples: []any{map[string]any{"rotted_base": 3}},
	}
}
