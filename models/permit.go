package models

import "time"

// PermitKind says what a paper about cutting is.
type PermitKind string

// A permit is given by an authority, leave by the one who manages or owns the land,
// consent by the people whose gathering place it is.
const (
	PermitPaper  PermitKind = "permit"
	LeavePaper   PermitKind = "leave"
	ConsentPaper PermitKind = "consent"
)

// PermitKinds lists every kind.
var PermitKinds = []PermitKind{PermitPaper, LeavePaper, ConsentPaper}

// Known says that the word is one of the kinds.
func (k PermitKind) Known() bool { return oneOf(k, PermitKinds) }

// PermitUnit is what the quantity of a permit counts.
type PermitUnit string

// The units of a permit's quantity.
const (
	InStems    PermitUnit = "stems"
	InCuttings PermitUnit = "cuttings"
	InBundles  PermitUnit = "bundles"
	InKG       PermitUnit = "kg"
)

// PermitUnits lists every unit.
var PermitUnits = []PermitUnit{InStems, InCuttings, InBundles, InKG}

// Known says that the word is one of the units.
func (u PermitUnit) Known() bool { return oneOf(u, PermitUnits) }

// PermitNeed says whether a stand may be cut without a permit.
type PermitNeed string

// Not stated is the empty word.
const (
	PermitNotStated PermitNeed = ""
	PermitNeeded    PermitNeed = "yes"
	PermitNotNeeded PermitNeed = "no"
)

// PermitTerms are what a permit says.
type PermitTerms struct {
	Kind        PermitKind `json:"kind" enum:"permit,leave,consent" doc:"permit of an authority, leave of the land manager, or consent of the people whose gathering place it is" example:"permit"`
	Issuer      string     `json:"issuer" minLength:"1" maxLength:"80" doc:"Who gave it: an authority, a land manager, a people" example:"Wrenlow Valley Parks"`
	LandManager string     `json:"land_manager,omitempty" maxLength:"80" doc:"Who manages the land it is for" example:"Wrenlow Valley Parks"`
	Parcels     string     `json:"parcels,omitempty" maxLength:"2000" doc:"The parcels it covers, in words" example:"WV 114 and 115, left bank"`
	Taxa        []string   `json:"taxa,omitempty" maxItems:"100" gorm:"serializer:json" doc:"Scientific names it covers; those of its stands where none is named" example:"[\"Cornus sericea\"]"`
	Quantity    *Decimal   `json:"quantity,omitempty" doc:"Most that may be taken on it, in its unit; without one it sets no number" example:"200"`
	Unit        PermitUnit `json:"unit,omitempty" enum:"stems,cuttings,bundles,kg" doc:"What the quantity counts; stems by default" example:"stems"`
	People      []string   `json:"people,omitempty" maxItems:"100" gorm:"serializer:json" doc:"Codes of those who may cut on it; anyone where none is named" example:"[\"RQ\",\"OP\"]"`
	ValidFrom   Date       `json:"valid_from" doc:"First day it holds" example:"2026-11-01"`
	ValidTo     Date       `json:"valid_to,omitzero" doc:"Last day it holds; without one it has no end" example:"2027-03-31"`
	Conditions  string     `json:"conditions,omitempty" maxLength:"2000" doc:"Its conditions or terms, in words" example:"hand tools only, no cutting within 3 m of the path"`
	Authority   string     `json:"authority,omitempty" maxLength:"80" doc:"The authority on which protected taxa or places may be cut, where it is one" example:"valley conservation board"`
	Paper       string     `json:"paper,omitempty" maxLength:"200" doc:"Where the paper is" example:"folder 3, office shelf"`
}

// Permit is a paper about cutting on file. Earlier are its terms as they were
// before each change.
type Permit struct {
	ID        string `json:"-"`
	Number    string
	NumberKey string
	PermitTerms
	Earlier   []EarlierTerms `gorm:"serializer:json"`
	EnteredBy string
	Version   int
	EnteredAt time.Time

	StandIDs []string `gorm:"-"` // the stands it covers
	Drawn    Decimal  `gorm:"-"` // taken on it by the nursery's own batches, in its unit
}

// EarlierTerms are the terms of a permit before a change, and the change.
type EarlierTerms struct {
	Terms     PermitTerms `json:"terms" doc:"The terms before"`
	Stands    []string    `json:"stands" doc:"The stands covered before, by code"`
	ChangedBy string      `json:"by" doc:"Who changed it"`
	Why       string      `json:"why" doc:"Why it was changed"`
	ChangedAt time.Time   `json:"changed_at" doc:"When it was changed, UTC"`
}
