package models

import (
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strings"
)

// Changes is a merge patch (RFC 7396) of what was said of a cut or of an entry about a
// batch, by the names the requests have. What is left out stays; null takes a value
// away. A treatment, losses and parents are given whole.
type Changes struct {
	Stand          Patch[string]         `json:"stand,omitzero" doc:"Code of the source stand" example:"RS-1"`
	CollectedOn    Patch[Date]           `json:"collected_on,omitzero" doc:"Day the stems were cut" example:"2026-01-16"`
	StemsCut       Patch[int]            `json:"stems_cut,omitzero" doc:"Stems taken off the stand" example:"28"`
	Cuttings       Patch[int]            `json:"cuttings,omitzero" doc:"Cuttings made from them, or split off" example:"84"`
	CollectedBy    Patch[string]         `json:"collected_by,omitzero" doc:"Who cut" example:"RQ"`
	ParentPlants   Patch[int]            `json:"parent_plants,omitzero" doc:"Plants or clumps cut from" example:"12"`
	Parents        Patch[[]Parent]       `json:"parents,omitzero" doc:"Stems by tagged plant, the whole list"`
	Permit         Patch[string]         `json:"permit,omitzero" doc:"Number of the permit it was cut on" example:"WV-2026-12"`
	PermitQuantity Patch[Decimal]        `json:"permit_quantity,omitzero" doc:"Drawn on the permit, where it counts bundles or kg" example:"3"`
	Share          Patch[string]         `json:"share,omitzero" doc:"The crew share it was taken from"`
	IdentifiedBy   Patch[string]         `json:"identified_by,omitzero" doc:"Who identified the plant" example:"OP"`
	Identification Patch[Identification] `json:"identification,omitzero" doc:"How sure the name is: confirmed, unconfirmed or qualified" example:"confirmed"`
	RecordNumber   Patch[string]         `json:"record_number,omitzero" doc:"The tag written on the bundle in the field" example:"T-017"`
	Purpose        Patch[Purpose]        `json:"purpose,omitzero" doc:"What it was cut for" example:"rooting"`
	Kind           Patch[CuttingKind]    `json:"kind,omitzero" doc:"Kind of cutting" example:"hardwood"`
	LengthCM       Patch[float64]        `json:"length_cm,omitzero" doc:"Usual length of a cutting in centimetres" example:"20"`
	DiameterMM     Patch[float64]        `json:"diameter_mm,omitzero" doc:"Usual thickness of a cutting in millimetres" example:"8"`
	Nodes          Patch[int]            `json:"nodes,omitzero" doc:"Usual nodes on a cutting" example:"4"`
	WoodAgeYears   Patch[float64]        `json:"wood_age_years,omitzero" doc:"Age of the wood in years" example:"1"`
	Health         Patch[string]         `json:"health,omitzero" doc:"How the donors looked" example:"sound"`
	HoursToWater   Patch[float64]        `json:"hours_to_water,omitzero" doc:"Hours from the cut to water" example:"1.5"`
	Note           Patch[string]         `json:"note,omitzero" doc:"Anything else; of the cut or of a check" example:"north end only"`

	On     Patch[Date]   `json:"on,omitzero" doc:"Day of a move or a decision" example:"2026-01-17"`
	Count  Patch[int]    `json:"count,omitzero" doc:"Cuttings stuck, moved or potted" example:"72"`
	To     Patch[MoveTo] `json:"to,omitzero" doc:"Where a move put them: soak, refrigerator, cold_store, used or lost" example:"soak"`
	Use    Patch[string] `json:"use,omitzero" doc:"What they were used for" example:"staked on the bank"`
	Cause  Patch[Cause]  `json:"cause,omitzero" doc:"What they were lost to before sticking" example:"dried"`
	Action Patch[Action] `json:"action,omitzero" doc:"What was decided: keep, discard or close" example:"keep"`
	Until  Patch[Date]   `json:"until,omitzero" doc:"Day to which the batch is kept" example:"2026-05-18"`
	By     Patch[string] `json:"by,omitzero" doc:"Who decided" example:"OP"`
	Why    Patch[string] `json:"why,omitzero" doc:"Why it was decided" example:"callus on most of them"`

	StuckOn    Patch[Date]       `json:"stuck_on,omitzero" doc:"Day they were stuck" example:"2026-01-18"`
	StuckBy    Patch[string]     `json:"stuck_by,omitzero" doc:"Who stuck them" example:"RQ"`
	Treatment  Patch[Treatment]  `json:"treatment,omitzero" doc:"What was done to help them root, the whole of it"`
	BottomHeat Patch[BottomHeat] `json:"bottom_heat,omitzero" doc:"Bottom heat: true, false or degrees Celsius"`
	Mist       Patch[bool]       `json:"mist,omitzero" doc:"Stands under mist" example:"false"`
	Medium     Patch[string]     `json:"medium,omitzero" doc:"Rooting or potting medium" example:"perlite"`
	Container  Patch[string]     `json:"container,omitzero" doc:"Tray, flat, jar, cell or pot" example:"deep flat"`
	Bench      Patch[string]     `json:"bench,omitzero" doc:"Bench it stands on, or pots stand on" example:"B2"`

	CheckedOn    Patch[Date]       `json:"checked_on,omitzero" doc:"Day of a look" example:"2026-02-07"`
	CheckedBy    Patch[string]     `json:"checked_by,omitzero" doc:"Who looked" example:"RQ"`
	Rooted       Patch[int]        `json:"rooted,omitzero" doc:"Rooted cuttings in the tray at a look" example:"31"`
	PottingRoots Patch[int]        `json:"potting_roots,omitzero" doc:"Of the rooted ones, those with potting roots" example:"18"`
	Overlong     Patch[int]        `json:"overlong,omitzero" doc:"Of those, the ones whose roots were too long" example:"0"`
	Unrooted     Patch[int]        `json:"unrooted,omitzero" doc:"Live unrooted cuttings in the tray at a look" example:"38"`
	Lost         Patch[Losses]     `json:"lost,omitzero" doc:"Lost since the look before, by cause, all of them"`
	LostRooted   Patch[Losses]     `json:"lost_rooted,omitzero" doc:"Of the rooted ones, lost since the look before, by cause, all of them"`
	Withdrawn    Patch[int]        `json:"withdrawn,omitzero" doc:"Taken out unrooted since the look before" example:"0"`
	Method       Patch[LookMethod] `json:"method,omitzero" doc:"How roots were looked for: look, tug, lift or clear_jar" example:"tug"`
	Examined     Patch[int]        `json:"examined,omitzero" doc:"How many were looked at, where only some were" example:"10"`

	PottedOn Patch[Date]   `json:"potted_on,omitzero" doc:"Day they were potted" example:"2026-03-14"`
	PottedBy Patch[string] `json:"potted_by,omitzero" doc:"Who potted" example:"RQ"`
}

// PersonFields are the people that changes name.
func (c *Changes) PersonFields() []PersonField {
	return []PersonField{
		{"collected_by", &c.CollectedBy.Value}, {"identified_by", &c.IdentifiedBy.Value}, {"by", &c.By.Value},
		{"stuck_by", &c.StuckBy.Value}, {"checked_by", &c.CheckedBy.Value}, {"potted_by", &c.PottedBy.Value},
	}
}

// Apply makes changes to what was said in a form, which is a struct. Strays are the
// changes that the form has no field for; they are not made.
func Apply[T any](form T, c Changes) (after T, strays []string, err error) {
	said, err := Said(form)
	if err != nil {
		return after, nil, err
	}
	given, err := Said(c)
	if err != nil {
		return after, nil, err
	}
	known := jsonNames(reflect.TypeFor[T]())
	for name, value := range given {
		switch {
		case !slices.Contains(known, name):
			strays = append(strays, name)
		case value == nil:
			delete(said, name)
		default:
			said[name] = value
		}
	}
	slices.Sort(strays)
	after, err = FromSaid[T](said)
	return after, strays, err
}

// Said is what a value says as an object of JSON, by the names of its fields.
func Said(value any) (map[string]any, error) {
	text, err := json.Marshal(value)
	if err != nil {
		return nil, fmt.Errorf("write what was said: %w", err)
	}
	said := map[string]any{}
	if err := json.Unmarshal(text, &said); err != nil {
		return nil, fmt.Errorf("read what was said: %w", err)
	}
	return said, nil
}

// FromSaid is a value that says what is said.
func FromSaid[T any](said map[string]any) (value T, err error) {
	text, err := json.Marshal(said)
	if err != nil {
		return value, fmt.Errorf("write what is said: %w", err)
	}
	if err := json.Unmarshal(text, &value); err != nil {
		return value, fmt.Errorf("read what is said: %w", err)
	}
	return value, nil
}

// Differences are the fields in which what was said differs from what is said now, on
// either side.
func Differences(was, is map[string]any) (before, after map[string]any) {
	before, after = map[string]any{}, map[string]any{}
	for name, value := range was {
		if now, still := is[name]; !still || !reflect.DeepEqual(value, now) {
			before[name] = value
		}
	}
	for name, value := range is {
		if then, already := was[name]; !already || !reflect.DeepEqual(value, then) {
			after[name] = value
		}
	}
	return before, after
}

// jsonNames are the names that the fields of a struct have in JSON, those of embedded
// structs among them.
func jsonNames(t reflect.Type) []string {
	var names []string
	for _, field := range reflect.VisibleFields(t) {
		if name, _, _ := strings.Cut(field.Tag.Get("json"), ","); name != "" && name != "-" {
			names = append(names, name)
		}
	}
	return names
}
