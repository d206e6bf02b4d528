package models

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// Treatment is what was done to cuttings to help them root. The zero value is
// no treatment.
type Treatment struct {
	Name             string    `json:"name,omitempty" maxLength:"80" doc:"A name for it, if the parts below do not say it" example:"split heel"`
	SoakDays         *float64  `json:"soak_days,omitempty" minimum:"0" maximum:"60" doc:"Days soaked before sticking" example:"3"`
	Wound            string    `json:"wound,omitempty" maxLength:"80" doc:"How the base was wounded" example:"two shallow strips"`
	Auxin            string    `json:"auxin,omitempty" maxLength:"80" doc:"Auxin in the rooting preparation" example:"IBA"`
	AuxinPPM         *float64  `json:"auxin_ppm,omitempty" minimum:"0" maximum:"100000" doc:"Its strength in ppm" example:"3000"`
	AuxinPercent     *float64  `json:"auxin_percent,omitempty" minimum:"0" maximum:"10" doc:"Its strength in percent, stored as ppm: 0.3 is 3,000 ppm" example:"0.3"`
	AuxinForm        AuxinForm `json:"auxin_form,omitempty" enum:"talc,quick_dip,dilute_soak" doc:"Form of the preparation" example:"talc"`
	WillowWaterGPerL *float64  `json:"willow_water_g_per_l,omitempty" minimum:"0" maximum:"2000" doc:"Willow water: grams of twigs steeped in a litre" example:"100"`
	WillowWaterHours *float64  `json:"willow_water_hours,omitempty" minimum:"0" maximum:"720" doc:"Willow water: hours the cuttings stood in it" example:"24"`
}

// AuxinForm is the form of a rooting preparation.
type AuxinForm string

// AuxinForms are the forms there are.
var AuxinForms = []AuxinForm{"talc", "quick_dip", "dilute_soak"}

// Known says that the word is a form of a preparation.
func (a AuxinForm) Known() bool { return oneOf(a, AuxinForms) }

// NoTreatment is the label of cuttings that were given none.
const NoTreatment = "none"

// PPMPerPercent converts the two ways a strength is printed.
const PPMPerPercent = 10_000

// Label names the treatment in a few words, the same for the same treatment, so
// that it can be grouped by.
func (t Treatment) Label() string {
	var parts []string
	if name := Clean(t.Name); name != "" {
		parts = append(parts, name)
	}
	if t.SoakDays != nil && *t.SoakDays > 0 {
		parts = append(parts, "soak "+number(*t.SoakDays)+" d")
	}
	if t.Wound != "" {
		parts = append(parts, "wound: "+t.Wound)
	}
	if auxin := t.auxin(); auxin != "" {
		parts = append(parts, auxin)
	}
	if water := t.willowWater(); water != "" {
		parts = append(parts, water)
	}
	if len(parts) == 0 {
		return NoTreatment
	}
	return strings.Join(parts, ", ")
}

func (t Treatment) auxin() string {
	if t.Auxin == "" && t.AuxinPPM == nil && t.AuxinPercent == nil {
		return ""
	}
	words := []string{t.Auxin}
	if t.Auxin == "" {
		words[0] = "auxin"
	}
	switch {
	case t.AuxinPPM != nil:
		words = append(words, number(*t.AuxinPPM)+" ppm")
	case t.AuxinPercent != nil:
		words = append(words, number(*t.AuxinPercent*PPMPerPercent)+" ppm")
	}
	if t.AuxinForm != "" {
		words = append(words, strings.ReplaceAll(string(t.AuxinForm), "_", " "))
	}
	return strings.Join(words, " ")
}

func (t Treatment) willowWater() string {
	if t.WillowWaterGPerL == nil && t.WillowWaterHours == nil {
		return ""
	}
	words := []string{"willow water"}
	if t.WillowWaterGPerL != nil {
		words = append(words, number(*t.WillowWaterGPerL)+" g/L")
	}
	if t.WillowWaterHours != nil {
		words = append(words, number(*t.WillowWaterHours)+" h")
	}
	return strings.Join(words, " ")
}

func number(x float64) string { return strconv.FormatFloat(x, 'g', 6, 64) }

// IsZero says that nothing was recorded of a treatment.
func (t Treatment) IsZero() bool { return t.Label() == NoTreatment && Clean(t.Name) == "" }

// UnmarshalJSON reads a treatment as an object of its parts, or as a text that
// names it. The text "none" is no treatment.
func (t *Treatment) UnmarshalJSON(data []byte) error {
	if bytes.HasPrefix(bytes.TrimSpace(data), []byte(`"`)) {
		var name string
		if err := json.Unmarshal(data, &name); err != nil {
			return err
		}
		*t = NamedTreatment(name)
		return nil
	}
	type parts Treatment
	decoder := json.NewDecoder(bytes.NewReader(data))
	decoder.DisallowUnknownFields()
	return partError(decoder.Decode((*parts)(t)))
}

// partError says which part of a treatment cannot be read, in our words.
func partError(err error) error {
	var misfit *json.UnmarshalTypeError
	switch {
	case err == nil:
		return nil
	case errors.As(err, &misfit) && misfit.Field != "":
		return fmt.Errorf("has the part %s, which cannot be a %s", misfit.Field, misfit.Value)
	case errors.As(err, &misfit):
		return errors.New("must be a text that names it, or an object of its parts")
	}
	if part, ok := strings.CutPrefix(err.Error(), "json: unknown field "); ok {
		return fmt.Errorf("has no part %s: look at its spelling and its case", part)
	}
	return err
}

// NamedTreatment is the treatment with a name and no parts.
func NamedTreatment(name string) Treatment {
	name = Clean(name)
	if strings.EqualFold(name, NoTreatment) || strings.EqualFold(name, "control") {
		return Treatment{}
	}
	return Treatment{Name: name}
}

// BottomHeat says whether cuttings are warmed from below, and to how many
// degrees Celsius where that was measured. The zero value is not recorded.
type BottomHeat struct {
	Recorded bool
	Heated   bool
	Celsius  float64 // 0 where it was not measured
}

// IsZero says that nothing was recorded.
func (h BottomHeat) IsZero() bool { return !h.Recorded }

// MarshalJSON writes degrees, or true or false, or null.
func (h BottomHeat) MarshalJSON() ([]byte, error) {
	switch {
	case !h.Recorded:
		return []byte("null"), nil
	case h.Celsius != 0:
		return json.Marshal(h.Celsius)
	}
	return json.Marshal(h.Heated)
}

// UnmarshalJSON reads degrees Celsius, or true or false.
func (h *BottomHeat) UnmarshalJSON(data []byte) error {
	switch text := string(bytes.TrimSpace(data)); text {
	case "null":
		*h = BottomHeat{}
	case "true", "false":
		*h = BottomHeat{Recorded: true, Heated: text == "true"}
	default:
		degrees, err := strconv.ParseFloat(text, 64)
		if err != nil || !(degrees >= 5 && degrees <= 45) { // what is no number is not within them either
			return fmt.Errorf("is %s, and must be true, false or a temperature from 5 to 45 °C", text)
		}
		*h = BottomHeat{Recorded: true, Heated: true, Celsius: degrees}
	}
	return nil
}
