package models

import "time"

// Sensitivity says how finely a stand's place may be shown.
type Sensitivity string

// The levels of sensitivity and what each shows: a grid of 0.001, 0.01 or 0.1
// degrees, or nothing at all.
const (
	LowSensitivity     Sensitivity = "low"
	MediumSensitivity  Sensitivity = "medium"
	HighSensitivity    Sensitivity = "high"
	ExtremeSensitivity Sensitivity = "extreme"
)

// Sensitivities lists every level, the most open first.
var Sensitivities = []Sensitivity{LowSensitivity, MediumSensitivity, HighSensitivity, ExtremeSensitivity}

// Known says that the word is one of the levels.
func (s Sensitivity) Known() bool { return oneOf(s, Sensitivities) }

// Stand is one taxon at one place, under one land manager. Coordinates are
// WGS84 degrees, kept exactly; what is shown of them is a View.
type Stand struct {
	ID                     string
	Code                   string
	CodeKey                string
	Name                   string
	TaxonID                string
	Place                  string
	Locality               string
	LandManager            string
	Latitude               *float64
	Longitude              *float64
	CoordinateUncertaintyM *float64
	Sensitivity            Sensitivity
	PermitRequired         PermitNeed
	PermitReason           string // why none is required
	ProtectedPlace         string // what protects the place; empty where nothing does
	GatheringPlaceOf       string // the people whose gathering place it is
	Version                int
	EnteredAt              time.Time
}

// HarvestRule is what a stand can bear: caps on the share of its stems, the
// window they are counted in, and how long a count is good for.
type HarvestRule struct {
	StandCap        Decimal `json:"stand_cap" doc:"Most stems in any window, as a share of the survey's lower bound, over 0 and up to 1, at most four places" example:"0.05"`
	PerPlantCap     Decimal `json:"per_plant_cap" doc:"Most stems in any window, as a share of the stems of the plants cut from, over 0 and up to 1" example:"0.1"`
	WindowDays      int     `json:"window_days" minimum:"1" maximum:"3650" doc:"Length of the window in days" example:"350"`
	SurveyValidDays int     `json:"survey_valid_days" minimum:"1" maximum:"3650" doc:"Days for which a survey is good" example:"500"`
	Basis           string  `json:"basis" maxLength:"2000" doc:"Where these numbers come from, in words" example:"agreed with the land manager in September"`
}

// RuleVersion is a harvest rule with the day it starts on.
type RuleVersion struct {
	ID      string `json:"-"`
	StandID string `json:"-"`
	HarvestRule
	InForceFrom Date      `json:"in_force_from" doc:"First day it is in force; the first version holds from the beginning"`
	Why         string    `json:"why" doc:"Why it was set"`
	SetBy       string    `json:"by" doc:"Who set it"`
	EnteredAt   time.Time `json:"entered_at" doc:"When it was entered, UTC"`
}

// ClosureKind says how a closure is lifted.
type ClosureKind string

// Closed is shut for the whole period; NestCheck is shut unless someone has looked
// for nests in the last seven days and found none.
const (
	Closed    ClosureKind = "closed"
	NestCheck ClosureKind = "nest_check"
)

// ClosureKinds lists both kinds.
var ClosureKinds = []ClosureKind{Closed, NestCheck}

// Known says that the word is one of the kinds.
func (k ClosureKind) Known() bool { return oneOf(k, ClosureKinds) }

// Closure is a period without cutting, both ends included. One of every year
// gives its ends as MM-DD and may wrap the year; any other gives whole dates.
type Closure struct {
	From      string      `json:"from" doc:"First closed day: MM-DD if every year, YYYY-MM-DD otherwise" example:"04-15"`
	To        string      `json:"to" doc:"Last closed day: MM-DD if every year, YYYY-MM-DD otherwise" example:"07-31"`
	Reason    string      `json:"reason,omitempty" maxLength:"2000" doc:"Why it is closed" example:"birds nest in the thicket"`
	EveryYear bool        `json:"every_year,omitempty" doc:"The period comes back every year" example:"true"`
	Kind      ClosureKind `json:"kind,omitempty" enum:"closed,nest_check" doc:"closed by default; nest_check means look for nests first: a look that found none lifts it for seven days, and one that found nests keeps it shut" example:"closed"`
}

// ClosureVersion is the whole list of a stand's closures with the day it starts on.
type ClosureVersion struct {
	ID          string    `json:"-"`
	StandID     string    `json:"-"`
	Closures    []Closure `json:"closures" gorm:"serializer:json" doc:"The closures"`
	InForceFrom Date      `json:"in_force_from" doc:"First day they are in force; the first version holds from the beginning"`
	Why         string    `json:"why" doc:"Why they were set"`
	SetBy       string    `json:"by" doc:"Who set them"`
	EnteredAt   time.Time `json:"entered_at" doc:"When they were entered, UTC"`
}

// StandVersions are all versions of a stand's rule and closures, as entered.
type StandVersions struct {
	Stand        string           `json:"stand" doc:"Code of the stand"`
	HarvestRules []RuleVersion    `json:"harvest_rules" doc:"Versions of the harvest rule, in the order they were entered"`
	Closures     []ClosureVersion `json:"closures" doc:"Versions of the closures, in the order they were entered"`
}

// NewHarvestRule is a harvest rule in a request; what is left out follows the
// nursery's defaults of that day.
type NewHarvestRule struct {
	StandCap        *Decimal `json:"stand_cap,omitempty" doc:"Most stems in any window, as a share of the survey's lower bound, over 0 and up to 1, at most four places" example:"0.05"`
	PerPlantCap     *Decimal `json:"per_plant_cap,omitempty" doc:"Most stems in any window, as a share of the stems of the plants cut from, over 0 and up to 1, at most four places" example:"0.1"`
	WindowDays      *int     `json:"window_days,omitempty" minimum:"1" maximum:"3650" doc:"Length of the window in days" example:"350"`
	SurveyValidDays *int     `json:"survey_valid_days,omitempty" minimum:"1" maximum:"3650" doc:"Days for which a survey is good" example:"500"`
	Basis           *string  `json:"basis,omitempty" maxLength:"2000" doc:"Where these numbers come from, in words" example:"agreed with the land manager in September"`
}

// NewStand is the request that adds a stand.
type NewStand struct {
	Code                   string          `json:"code" minLength:"1" maxLength:"24" doc:"Short code, letters, digits, dots, dashes and underscores; unique whatever the case" example:"MB-03"`
	Name                   string          `json:"name" minLength:"1" maxLength:"80" doc:"Name of the stand" example:"Mallow Bend, upper bank"`
	Taxon                  string          `json:"taxon" minLength:"1" maxLength:"80" doc:"Scientific name of its one taxon" example:"Cornus sericea"`
	Place                  string          `json:"place,omitempty" maxLength:"80" doc:"Place it shares with other stands" example:"Mallow Bend"`
	Locality               string          `json:"locality,omitempty" maxLength:"2000" doc:"How to find it, in words" example:"left bank, from the footbridge to the bend"`
	LandManager            string          `json:"land_manager,omitempty" maxLength:"80" doc:"Who manages the land" example:"Wrenlow Valley Parks"`
	Latitude               *float64        `json:"latitude,omitempty" minimum:"-90" maximum:"90" doc:"Latitude in degrees, WGS84; kept exactly, shown coarsened" example:"46.12345"`
	Longitude              *float64        `json:"longitude,omitempty" minimum:"-180" maximum:"180" doc:"Longitude in degrees, WGS84; kept exactly, shown coarsened" example:"-122.54321"`
	CoordinateUncertaintyM *float64        `json:"coordinate_uncertainty_m,omitempty" exclusiveMinimum:"0" maximum:"100000" doc:"Radius in metres within which the true place lies" example:"15"`
	Sensitivity            Sensitivity     `json:"sensitivity,omitempty" enum:"low,medium,high,extreme" doc:"How coarsely the place is shown; medium by default" example:"medium"`
	PermitRequired         PermitNeed      `json:"permit_required,omitempty" enum:"yes,no" doc:"Whether a permit is required to cut there; not stated where it is left out" example:"yes"`
	PermitReason           string          `json:"permit_reason,omitempty" maxLength:"2000" doc:"Why none is required; needed with no" example:"the nursery's own hedge"`
	ProtectedPlace         string          `json:"protected_place,omitempty" maxLength:"80" doc:"What protects the place, where something does: nothing is cut there without an authority on file" example:"valley nature reserve"`
	GatheringPlaceOf       string          `json:"gathering_place_of,omitempty" maxLength:"80" doc:"The people whose gathering place it is, several with commas between them" example:"the Sedge River people"`
	HarvestRule            *NewHarvestRule `json:"harvest_rule,omitempty" doc:"What the stand can bear; the nursery's defaults of the day by default"`
	Closures               []Closure       `json:"closures,omitempty" maxItems:"50" doc:"Periods without cutting"`
}

// StandEdit is the merge patch of a stand (RFC 7396). A harvest rule or a list
// of closures in it starts a new version; the old ones stay.
type StandEdit struct {
	Name                   Patch[string]      `json:"name,omitzero" doc:"Name of the stand" example:"Mallow Bend, upper bank"`
	Place                  Patch[string]      `json:"place,omitzero" doc:"Place it shares with other stands" example:"Mallow Bend"`
	Locality               Patch[string]      `json:"locality,omitzero" doc:"How to find it, in words" example:"left bank, from the footbridge to the bend"`
	LandManager            Patch[string]      `json:"land_manager,omitzero" doc:"Who manages the land" example:"Wrenlow Valley Parks"`
	Latitude               Patch[float64]     `json:"latitude,omitzero" doc:"Latitude in degrees, WGS84" example:"46.12345"`
	Longitude              Patch[float64]     `json:"longitude,omitzero" doc:"Longitude in degrees, WGS84" example:"-122.54321"`
	CoordinateUncertaintyM Patch[float64]     `json:"coordinate_uncertainty_m,omitzero" doc:"Radius in metres within which the true place lies" example:"15"`
	Sensitivity            Patch[Sensitivity] `json:"sensitivity,omitzero" doc:"How coarsely the place is shown: low, medium, high or extreme" example:"high"`
	PermitRequired         Patch[PermitNeed]  `json:"permit_required,omitzero" doc:"Whether a permit is required to cut there: yes or no; null is not stated" example:"no"`
	PermitReason           Patch[string]      `json:"permit_reason,omitzero" doc:"Why none is required; needed with no" example:"the nursery's own hedge"`
	ProtectedPlace         Patch[string]      `json:"protected_place,omitzero" doc:"What protects the place, where something does" example:"valley nature reserve"`
	GatheringPlaceOf       Patch[string]      `json:"gathering_place_of,omitzero" doc:"The people whose gathering place it is, several with commas between them" example:"the Sedge River people"`
	HarvestRule            *NewHarvestRule    `json:"harvest_rule,omitempty" doc:"A new version of the harvest rule; what is left out stays"`
	Closures               *[]Closure         `json:"closures,omitempty" maxItems:"50" doc:"A new version of the whole list of closures"`
	InForceFrom            Date               `json:"in_force_from,omitzero" doc:"First day of the new version; today by default" example:"2026-11-01"`
	Why                    string             `json:"why,omitempty" maxLength:"2000" doc:"Why the rule or the closures change" example:"asked for by the land manager"`
	By                     string             `json:"by,omitempty" maxLength:"80" doc:"Who changes them" example:"OP"`
}

// MaxClosures is how many closures are in force on a stand at once, at most.
const MaxClosures = 50

// NewClosures is the request that adds closures to those in force on a stand. It
// starts a new version of the list; the old ones stay.
type NewClosures struct {
	Closures    []Closure `json:"closures" minItems:"1" maxItems:"50" doc:"Periods without cutting, to be added to those in force"`
	InForceFrom Date      `json:"in_force_from,omitzero" doc:"First day of the new version; today by default" example:"2026-04-01"`
	Why         string    `json:"why,omitempty" maxLength:"2000" doc:"Why the stand is closed" example:"birds nest in the thicket"`
	By          string    `json:"by,omitempty" maxLength:"80" doc:"Who closes it" example:"parks"`
}

// StandView is a stand as it is shown: its place coarsened to its sensitivity
// unless the exact one was asked for.
type StandView struct {
	Code                   string         `json:"code" doc:"Code of the stand" example:"MB-03"`
	Name                   string         `json:"name" doc:"Name of the stand"`
	Taxon                  string         `json:"taxon" doc:"Scientific name"`
	CommonName             string         `json:"common_name" doc:"Name in everyday use"`
	Place                  string         `json:"place" doc:"Place it shares with other stands"`
	Locality               string         `json:"locality" doc:"How to find it; withheld with the coordinates of an extreme stand"`
	LandManager            string         `json:"land_manager" doc:"Who manages the land"`
	Sensitivity            Sensitivity    `json:"sensitivity" doc:"How coarsely the place is shown"`
	Latitude               *float64       `json:"latitude" doc:"Latitude in degrees, snapped to the grid of the sensitivity"`
	Longitude              *float64       `json:"longitude" doc:"Longitude in degrees, snapped to the grid of the sensitivity"`
	CoordinateUncertaintyM *float64       `json:"coordinate_uncertainty_m" doc:"Radius in metres, grown by the grid's half diagonal"`
	DataGeneralizations    string         `json:"data_generalizations,omitempty" doc:"What was coarsened, in words"`
	InformationWithheld    string         `json:"information_withheld,omitempty" doc:"What is held back, in words"`
	PermitRequired         PermitNeed     `json:"permit_required" doc:"Whether a permit is required to cut there: yes, no, or empty where it is not stated"`
	PermitReason           string         `json:"permit_reason,omitempty" doc:"Why none is required"`
	ProtectedPlace         string         `json:"protected_place,omitempty" doc:"What protects the place: nothing is cut there without an authority on file"`
	GatheringPlaceOf       string         `json:"gathering_place_of,omitempty" doc:"The people whose gathering place it is: ask them first"`
	HarvestRule            RuleVersion    `json:"harvest_rule" doc:"The rule in force today"`
	Closures               []Closure      `json:"closures" doc:"The closures in force today"`
	PlaceClosures          []Closure      `json:"place_closures" doc:"The closures of its whole place in force today"`
	ClosedToday            bool           `json:"closed_today" doc:"A closure holds today, and no look for nests lifts it"`
	ClosedWhy              string         `json:"closed_why,omitempty" doc:"Which closure holds today"`
	Rests                  []Rest         `json:"rests" doc:"The rests that hold today or begin later"`
	AtRest                 bool           `json:"at_rest" doc:"A rest holds today"`
	Salvage                *SalvagePeriod `json:"salvage,omitempty" doc:"The salvage that goes on today: the stand may be cut free of caps"`
	NestCheck              *NestLook      `json:"nest_check,omitempty" doc:"The latest look for nests there or over the whole place"`
	ToolCleaning           *ToolCleaning  `json:"tool_cleaning,omitempty" doc:"The latest cleaning of tools and boots"`
	Survey                 *SurveyBrief   `json:"survey" doc:"The latest survey, if there is one"`
	CountAgain             string         `json:"count_again,omitempty" doc:"Why no survey is good today, so that it has to be counted before it is cut"`
	Exceeded               string         `json:"exceeded,omitempty" doc:"Where stems taken are over the limit as it is known now: which day and by how much"`
	Warnings               []string       `json:"warnings" doc:"What to look at again"`
	Version                int            `json:"version" doc:"Counts the edits; the ETag"`
}
