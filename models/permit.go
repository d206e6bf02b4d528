package models

import (
	"fmt"
	"time"
)

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

// PermitNeeds lists what can be stated.
var PermitNeeds = []PermitNeed{PermitNeeded, PermitNotNeeded}

// Known says that the word is one of them.
func (n PermitNeed) Known() bool { return oneOf(n, PermitNeeds) }

// PermitTerms are what a permit says.
type PermitTerms struct {
	Kind        PermitKind `json:"kind" enum:"permit,leave,consent" doc:"permit of an authority, leave of the land manager, or consent of the people whose gathering place it is" example:"permit"`
	Issuer      string     `json:"issuer" minLength:"1" maxLength:"80" doc:"Who gave it: an authority, a land manager, a people" example:"Wrenlow Valley Parks"`
	LandManager string     `json:"land_manager,omitempty" maxLength:"80" doc:"Who manages the land it is for" example:"Wrenlow Valley Parks"`
	Parcels     string     `json:"parcels,omitempty" maxLength:"2000" doc:"The parcels it covers, in words" example:"WV 114 and 115, left bank"`
	Taxa        []string   `json:"taxa,omitempty" maxItems:"100" gorm:"serializer:json" doc:"Scientific names it covers; those of its stands where none is named" example:"[\"Cornus sericea\"]"`
	Quantity    *Decimal   `json:"quantity,omitempty" doc:"Most that may be taken on it, in its unit; without one it sets no number" example:"200"`
	Unit        PermitUnit `json:"unit,omitempty" enum:"stems,cuttings,bundles,kg" doc:"What the quantity and what is drawn on it count; stems by default" example:"stems"`
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

// TermsAt are the terms as they were known at an instant.
func (p *Permit) TermsAt(at time.Time) PermitTerms {
	for _, e := range p.Earlier {
		if e.ChangedAt.After(at) {
			return e.Terms
		}
	}
	return p.PermitTerms
}

// EarlierTerms are the terms of a permit before a change, and the change.
type EarlierTerms struct {
	Terms     PermitTerms `json:"terms" doc:"The terms before"`
	Stands    []string    `json:"stands" doc:"The stands covered before, by code"`
	ChangedBy string      `json:"by" doc:"Who changed it"`
	Why       string      `json:"why" doc:"Why it was changed"`
	ChangedAt time.Time   `json:"changed_at" doc:"When it was changed, UTC"`
}

// NewPermit is the request that puts a permit, leave or consent on file.
type NewPermit struct {
	Number string `json:"number" minLength:"1" maxLength:"40" doc:"Number of the paper, unique whatever the case; the first sign is a letter or a digit" example:"WV-2026-12"`
	PermitTerms
	Stands []string `json:"stands" minItems:"1" maxItems:"200" doc:"Codes of the stands it covers" example:"[\"MB-03\",\"MB-04\"]"`
	By     string   `json:"by,omitempty" maxLength:"80" doc:"Who enters it" example:"OP"`
}

// PermitEdit is the merge patch of a permit (RFC 7396). The number stays, and the
// terms as they were are kept.
type PermitEdit struct {
	Kind        Patch[PermitKind] `json:"kind,omitzero" doc:"permit of an authority, leave of the land manager, or consent of the people whose gathering place it is" example:"permit"`
	Issuer      Patch[string]     `json:"issuer,omitzero" doc:"Who gave it: an authority, a land manager, a people" example:"Wrenlow Valley Parks"`
	LandManager Patch[string]     `json:"land_manager,omitzero" doc:"Who manages the land it is for" example:"Wrenlow Valley Parks"`
	Parcels     Patch[string]     `json:"parcels,omitzero" doc:"The parcels it covers, in words" example:"WV 114 and 115, left bank"`
	Taxa        Patch[[]string]   `json:"taxa,omitzero" maxItems:"100" doc:"Scientific names it covers, the whole list; those of its stands where none is named" example:"[\"Cornus sericea\"]"`
	Quantity    Patch[Decimal]    `json:"quantity,omitzero" doc:"Most that may be taken on it, in its unit; null sets no number" example:"200"`
	Unit        Patch[PermitUnit] `json:"unit,omitzero" doc:"What the quantity and what is drawn on it count: stems, cuttings, bundles or kg; it stays once something is drawn" example:"stems"`
	People      Patch[[]string]   `json:"people,omitzero" maxItems:"100" doc:"Codes of those who may cut on it, the whole list; anyone where none is named" example:"[\"RQ\",\"OP\"]"`
	ValidFrom   Patch[Date]       `json:"valid_from,omitzero" doc:"First day it holds" example:"2026-11-01"`
	ValidTo     Patch[Date]       `json:"valid_to,omitzero" doc:"Last day it holds; null is no end" example:"2027-03-31"`
	Conditions  Patch[string]     `json:"conditions,omitzero" doc:"Its conditions or terms, in words" example:"hand tools only, no cutting within 3 m of the path"`
	Authority   Patch[string]     `json:"authority,omitzero" doc:"The authority on which protected taxa or places may be cut, where it is one" example:"valley conservation board"`
	Paper       Patch[string]     `json:"paper,omitzero" doc:"Where the paper is" example:"folder 3, office shelf"`
	Stands      Patch[[]string]   `json:"stands,omitzero" maxItems:"200" doc:"Codes of the stands it covers, the whole list" example:"[\"MB-03\",\"MB-04\"]"`
	Why         string            `json:"why" minLength:"1" maxLength:"2000" doc:"Why it is changed" example:"extended by a month"`
	By          string            `json:"by,omitempty" maxLength:"80" doc:"Who changes it" example:"OP"`
}

// PermitView is a permit as it is shown: to a land manager with the stands on their
// own land alone.
type PermitView struct {
	Number string `json:"number" doc:"Number of the paper" example:"WV-2026-12"`
	PermitTerms
	Stands    []string       `json:"stands" doc:"Codes of the stands it covers"`
	Drawn     Decimal        `json:"drawn" doc:"Taken on it by the nursery's own batches, in its unit; a batch that is void draws nothing"`
	Left      *Decimal       `json:"left" doc:"Left to be taken on it; null where it sets no number"`
	Holds     bool           `json:"holds" doc:"It holds today"`
	Earlier   []EarlierTerms `json:"earlier" doc:"Its terms before each change, in the order of the changes"`
	EnteredBy string         `json:"by,omitempty" doc:"Who entered it"`
	EnteredAt time.Time      `json:"entered_at" doc:"When it was entered, UTC"`
	Warnings  []string       `json:"warnings" doc:"What to look at again"`
	Version   int            `json:"version" doc:"Counts the edits; the ETag"`
}

// CoveredStand is what is read of a stand that a permit covers.
type CoveredStand struct {
	ID               string
	Code             string
	CodeKey          string
	LandManager      string
	GatheringPlaceOf string
	Taxon            string // scientific name
}

// peopleFields are people in a list.
func peopleFields(people []string) []PersonField {
	var fields []PersonField
	for i := range people {
		fields = append(fields, PersonField{fmt.Sprintf("people[%d]", i), &people[i]})
	}
	return fields
}

// PersonFields are the people a new permit names.
func (r *NewPermit) PersonFields() []PersonField {
	return append(peopleFields(r.People), PersonField{"by", &r.By})
}

// PersonFields are the people an edit of a permit names.
func (e *PermitEdit) PersonFields() []PersonField {
	return append(peopleFields(e.People.Value), PersonField{"by", &e.By})
}

// PersonFields are the people a permit as it is shown names, those of its earlier
// terms too.
func (v *PermitView) PersonFields() []PersonField {
	fields := append(peopleFields(v.People), PersonField{"by", &v.EnteredBy})
	for i := range v.Earlier {
		fields = append(fields, peopleFields(v.Earlier[i].Terms.People)...)
		fields = append(fields, PersonField{"by", &v.Earlier[i].ChangedBy})
	}
	return fields
}
