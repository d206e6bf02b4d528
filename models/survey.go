package models

import "time"

// Method is how a stand was counted.
type Method string

// The methods of counting a stand.
const (
	Census          Method = "census"
	PlotCount       Method = "plots"
	ClumpCount      Method = "clumps"
	ClumpsFromPlots Method = "clumps_from_plots"
	Ocular          Method = "ocular"
)

// Methods lists every method.
var Methods = []Method{Census, PlotCount, ClumpCount, ClumpsFromPlots, Ocular}

// Known says that the word is one of the methods.
func (m Method) Known() bool { return oneOf(m, Methods) }

// Placement is how plots were laid out. Plots chosen by eye give no more than
// an ocular estimate.
type Placement string

// The ways plots are placed.
const (
	Random     Placement = "random"
	Systematic Placement = "systematic"
	Chosen     Placement = "chosen"
)

// Placements lists every way.
var Placements = []Placement{Random, Systematic, Chosen}

// Known says that the word is one of the ways.
func (p Placement) Known() bool { return oneOf(p, Placements) }

// Plots are counts on plots of one size inside a stand.
type Plots struct {
	PlotAreaM2  float64   `json:"plot_area_m2" exclusiveMinimum:"0" doc:"Area of one plot in square metres" example:"4"`
	StandAreaM2 float64   `json:"stand_area_m2" exclusiveMinimum:"0" doc:"Area of the stand in square metres" example:"400"`
	Counts      []int     `json:"counts" maxItems:"10000" doc:"Stems on each plot; clumps on each plot for clumps_from_plots" example:"[12,7,0,15,9]"`
	Placement   Placement `json:"placement,omitempty" enum:"random,systematic,chosen" doc:"How the plots were placed; taken as random, with a warning, where it is not said" example:"systematic"`
}

// Clumps are the clumps of a stand and the stems on some of them.
type Clumps struct {
	Total         *int  `json:"total,omitempty" minimum:"0" maximum:"10000000" doc:"Clumps counted in the whole stand; left out for clumps_from_plots" example:"37"`
	StemsOnSample []int `json:"stems_on_sample" maxItems:"10000" doc:"Stems on each clump of the sample" example:"[22,35,14,28,41]"`
}

// Survey is one count of a stand. Estimate is in stems; LowerBound is the
// one-sided lower confidence bound that the caps multiply.
type Survey struct {
	ID             string    `json:"id" doc:"Identifier of the survey"`
	StandID        string    `json:"-"`
	SurveyedOn     Date      `json:"surveyed_on" doc:"Day of the count"`
	Method         Method    `json:"method" doc:"How it was counted"`
	Plants         *int      `json:"plants,omitempty" doc:"Plants counted: of a census, or the clumps counted"`
	Stems          *int      `json:"stems,omitempty" doc:"Stems counted in a census"`
	CountedByTwo   bool      `json:"counted_by_two,omitempty" doc:"Two people counted the census"`
	Plots          *Plots    `json:"plots,omitempty" gorm:"serializer:json" doc:"Counts on plots"`
	Clumps         *Clumps   `json:"clumps,omitempty" gorm:"serializer:json" doc:"Clumps and stems on a sample of them"`
	Low            *int      `json:"low,omitempty" doc:"Low end of an ocular estimate in stems"`
	High           *int      `json:"high,omitempty" doc:"High end of an ocular estimate in stems"`
	StemDefinition string    `json:"stem_definition" doc:"What was counted as a stem"`
	SurveyedBy     string    `json:"surveyed_by" doc:"Who counted"`
	Estimate       float64   `json:"estimate" doc:"Estimated stems of the stand"`
	StandardError  *float64  `json:"standard_error" doc:"Standard error in stems; null for an ocular estimate"`
	LowerBound     Decimal   `json:"lower_bound" doc:"One-sided lower bound in stems, the base of every cap"`
	Confidence     Decimal   `json:"confidence" doc:"Nominal one-sided confidence of the bound"`
	EnteredAt      time.Time `json:"entered_at" doc:"When it was entered, UTC"`
}

// Counted says that stems were counted on plots, plants or clumps that were not
// picked by eye, so that the whole stand cap applies.
func (s *Survey) Counted() bool {
	return s.Method != Ocular && (s.Plots == nil || s.Plots.Placement != Chosen)
}

// PlantsCounted is the number of plants the survey counted, if it did. Clumps
// estimated from plots are not counted plants.
func (s *Survey) PlantsCounted() (int, bool) {
	if s.Plants == nil || *s.Plants == 0 {
		return 0, false
	}
	return *s.Plants, true
}

// Brief is the survey in short.
func (s *Survey) Brief() *SurveyBrief {
	return &SurveyBrief{ID: s.ID, SurveyedOn: s.SurveyedOn, Method: s.Method, Estimate: s.Estimate, LowerBound: s.LowerBound}
}

// SurveyBrief is a survey in short, as other records name it.
type SurveyBrief struct {
	ID         string  `json:"id" doc:"Identifier of the survey"`
	SurveyedOn Date    `json:"surveyed_on" doc:"Day of the count"`
	Method     Method  `json:"method" doc:"How it was counted"`
	Estimate   float64 `json:"estimate" doc:"Estimated stems of the stand"`
	LowerBound Decimal `json:"lower_bound" doc:"One-sided lower bound in stems"`
}

// DefaultStemDefinition is what a stem is unless a survey says otherwise.
const DefaultStemDefinition = "a live shoot at least one growing season old, 6 mm or thicker at 30 cm"

// NewSurvey is the request that enters a survey.
type NewSurvey struct {
	SurveyedOn     Date    `json:"surveyed_on" doc:"Day of the count" example:"2026-09-12"`
	Method         Method  `json:"method" enum:"census,plots,clumps,clumps_from_plots,ocular" doc:"How it was counted" example:"plots"`
	Plants         *int    `json:"plants,omitempty" minimum:"1" maximum:"10000000" doc:"Plants counted in a census" example:"42"`
	Stems          *int    `json:"stems,omitempty" minimum:"0" maximum:"10000000" doc:"Stems counted in a census" example:"610"`
	CountedByTwo   bool    `json:"counted_by_two,omitempty" doc:"Two people counted the census" example:"true"`
	Plots          *Plots  `json:"plots,omitempty" doc:"Counts on plots, for plots and clumps_from_plots"`
	Clumps         *Clumps `json:"clumps,omitempty" doc:"Clumps and stems on a sample of them, for clumps and clumps_from_plots"`
	Low            *int    `json:"low,omitempty" minimum:"0" maximum:"10000000" doc:"Low end of an ocular estimate in stems" example:"300"`
	High           *int    `json:"high,omitempty" minimum:"0" maximum:"10000000" doc:"High end of an ocular estimate in stems" example:"500"`
	StemDefinition string  `json:"stem_definition,omitempty" maxLength:"2000" doc:"What was counted as a stem; a live shoot of at least one season, 6 mm at 30 cm, by default" example:"a live shoot at least one growing season old, 6 mm at 30 cm"`
	SurveyedBy     string  `json:"surveyed_by,omitempty" maxLength:"80" doc:"Who counted" example:"OP"`
}

// SurveyView is a survey as it is shown, with what it warns of.
type SurveyView struct {
	Stand string `json:"stand" doc:"Code of the stand"`
	Survey
	Amended
	Warnings []string `json:"warnings" doc:"What to look at again"`
}

// Disturbances are the events that end every survey before them.
var Disturbances = []string{"flood", "fire", "beaver", "mowing", "herbicide", "die-back", "other"}

// Disturbance is an event after which a stand must be counted again.
type Disturbance struct {
	ID         string    `json:"id" doc:"Identifier of the disturbance"`
	StandID    string    `json:"-"`
	HappenedOn Date      `json:"on" doc:"Day it happened; surveys of that day and before are no longer good"`
	Kind       string    `json:"kind" doc:"What happened"`
	ReportedBy string    `json:"by" doc:"Who reported it"`
	EnteredAt  time.Time `json:"entered_at" doc:"When it was entered, UTC"`
}

// DisturbanceView is a disturbance as it is shown, with what it warns of.
type DisturbanceView struct {
	Disturbance
	Amended
	Warnings []string `json:"warnings" doc:"What to look at again"`
}

// NewDisturbance is the request that enters a disturbance.
type NewDisturbance struct {
	On   Date   `json:"on" doc:"Day it happened" example:"2026-10-30"`
	Kind string `json:"kind" enum:"flood,fire,beaver,mowing,herbicide,die-back,other" doc:"What happened" example:"flood"`
	By   string `json:"by,omitempty" maxLength:"80" doc:"Who reports it" example:"OP"`
}
