package models

import "time"

// PlaceClosureVersion is the whole list of the closures of a place with the day it
// starts on. They close every stand there.
type PlaceClosureVersion struct {
	ID          string    `json:"-"`
	Place       string    `json:"-"`
	PlaceKey    string    `json:"-"`
	Closures    []Closure `json:"closures" gorm:"serializer:json" doc:"The closures"`
	InForceFrom Date      `json:"in_force_from" doc:"First day they are in force"`
	Why         string    `json:"why" doc:"Why they were set"`
	SetBy       string    `json:"by" doc:"Who set them"`
	EnteredAt   time.Time `json:"entered_at" doc:"When they were entered, UTC"`
}

// NewPlaceClosures is the request that adds closures to those in force on a whole
// place, or that gives the whole list anew. It starts a new version of the list; the
// old ones stay.
type NewPlaceClosures struct {
	Closures    []Closure `json:"closures" maxItems:"50" doc:"Periods without cutting, to be added to those in force"`
	WholeList   bool      `json:"whole_list,omitempty" doc:"They are the whole list from then on, and what is not among them is no longer closed; for coordinators" example:"false"`
	InForceFrom Date      `json:"in_force_from,omitzero" doc:"First day of the new version; today by default" example:"2026-04-01"`
	Why         string    `json:"why,omitempty" maxLength:"2000" doc:"Why the place is closed, or open again" example:"birds nest in the thicket"`
	By          string    `json:"by,omitempty" maxLength:"80" doc:"Who closes it" example:"parks"`
}

// PersonFields are the people a request names.
func (r *NewPlaceClosures) PersonFields() []PersonField { return []PersonField{{"by", &r.By}} }

// PlaceView is the closures of a whole place as they are shown.
type PlaceView struct {
	Place    string                `json:"place" doc:"Name of the place, as its stands spell it" example:"Mallow Bend"`
	Stands   []string              `json:"stands" doc:"Codes of its stands"`
	Closures []Closure             `json:"closures" doc:"The closures of the whole place in force today; each stand has its own besides"`
	Versions []PlaceClosureVersion `json:"versions" doc:"Every list of closures of the place, in the order they were entered"`
	Warnings []string              `json:"warnings" doc:"What to look at again"`
}

// PersonFields are the people the closures of a place name.
func (v *PlaceView) PersonFields() []PersonField {
	var fields []PersonField
	for i := range v.Versions {
		fields = append(fields, PersonField{"by", &v.Versions[i].SetBy})
	}
	return fields
}
