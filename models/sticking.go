package models

import "time"

// Tray is how cuttings are stuck: what was done to them and where they stand.
type Tray struct {
	Treatment  *Treatment  `json:"treatment,omitempty" gorm:"serializer:json" doc:"What was done to help them root: its parts, or a text that names it"`
	Medium     string      `json:"medium,omitempty" maxLength:"80" doc:"Rooting medium; water is looked at sooner" example:"perlite"`
	Container  string      `json:"container,omitempty" maxLength:"80" doc:"Tray, flat, jar or cell" example:"deep flat"`
	Bench      string      `json:"bench,omitempty" maxLength:"80" doc:"Bench it stands on" example:"B2"`
	BottomHeat *BottomHeat `json:"bottom_heat,omitempty" gorm:"serializer:json" doc:"Bottom heat: true, false or degrees Celsius"`
	Mist       bool        `json:"mist,omitempty" doc:"Stands under mist, and is looked at sooner" example:"false"`
	StuckBy    string      `json:"stuck_by,omitempty" maxLength:"80" doc:"Who stuck them" example:"RQ"`
}

// IsZero says that nothing of a sticking was given.
func (t Tray) IsZero() bool {
	return t.Treatment == nil && t.Medium == "" && t.Container == "" && t.Bench == "" &&
		t.BottomHeat == nil && !t.Mist && t.StuckBy == ""
}

// Heated says that the tray has bottom heat.
func (t Tray) Heated() bool { return t.BottomHeat != nil && t.BottomHeat.Heated }

// Unheated says that the tray is recorded as having no bottom heat.
func (t Tray) Unheated() bool {
	return t.BottomHeat != nil && t.BottomHeat.Recorded && !t.BottomHeat.Heated
}

// InWater says that the cuttings stand in water.
func (t Tray) InWater() bool { return NameKey(t.Medium) == "water" }

// TreatmentLabel names the treatment in words.
func (t Tray) TreatmentLabel() string {
	if t.Treatment == nil {
		return NoTreatment
	}
	return t.Treatment.Label()
}

// Sticking is the one sticking of a batch: on which day how many cuttings went
// into the medium, and how.
type Sticking struct {
	BatchID string `json:"-" gorm:"primaryKey"`
	StuckOn Date   `json:"stuck_on" doc:"Day they were stuck"`
	Count   int    `json:"count" doc:"Cuttings stuck"`
	Tray
	Label     string    `json:"treatment_label" gorm:"-" doc:"The treatment in words"`
	Entry     int       `json:"-"`
	EnteredAt time.Time `json:"entered_at" doc:"When it was entered, UTC"`
}

// NewSticking is the request that sticks a batch.
type NewSticking struct {
	StuckOn Date `json:"stuck_on" doc:"Day they were stuck" example:"2026-01-18"`
	Count   int  `json:"count" minimum:"1" maximum:"10000000" doc:"Cuttings stuck" example:"72"`
	Tray
}
