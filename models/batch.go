package models

import "time"

// Identification is how sure the name of a batch is.
type Identification string

// The grades of identification. Unconfirmed follows a batch until someone who
// knows the plant has seen it.
const (
	Confirmed   Identification = "confirmed"
	Unconfirmed Identification = "unconfirmed"
	Qualified   Identification = "qualified"
)

// Purpose is what a batch was cut for. All of it counts against the stand.
type Purpose string

// The purposes. Only those that are rooted in a tray are reminded of.
const (
	Rooting     Purpose = "rooting"
	DirectStick Purpose = "direct_stick"
	LiveStakes  Purpose = "live_stakes"
	Fascines    Purpose = "fascines"
	Weaving     Purpose = "weaving"
	Teaching    Purpose = "teaching"
	Salvage     Purpose = "salvage"
)

// CuttingKind is the kind of wood and size that was cut.
type CuttingKind string

// The kinds of cutting. Semi-hardwood and softwood are in leaf, the others are
// cut leafless.
const (
	Hardwood     CuttingKind = "hardwood"
	SemiHardwood CuttingKind = "semi_hardwood"
	Softwood     CuttingKind = "softwood"
	RootCutting  CuttingKind = "root_cutting"
	LiveStake    CuttingKind = "live_stake"
	Pole         CuttingKind = "pole"
	Whip         CuttingKind = "whip"
	Fascine      CuttingKind = "fascine"
)

// Identifications, Purposes and CuttingKinds list every word of their kind.
var (
	Identifications = []Identification{Confirmed, Unconfirmed, Qualified}
	Purposes        = []Purpose{Rooting, DirectStick, LiveStakes, Fascines, Weaving, Teaching, Salvage}
	CuttingKinds    = []CuttingKind{Hardwood, SemiHardwood, Softwood, RootCutting, LiveStake, Pole, Whip, Fascine}
)

// Known says that the word is a grade of identification.
func (i Identification) Known() bool { return oneOf(i, Identifications) }

// Known says that the word is a purpose.
func (p Purpose) Known() bool { return oneOf(p, Purposes) }

// Known says that the word is a kind of cutting.
func (k CuttingKind) Known() bool { return oneOf(k, CuttingKinds) }

// InLeaf says that cuttings of the kind carry leaves.
func (k CuttingKind) InLeaf() bool { return k == SemiHardwood || k == Softwood }

// State is the standing of a batch's record.
type State string

// The states of a batch.
const (
	Open     State = "open"
	ToReview State = "to_review" // cut against a rule; the coordinator has to look
	Ended    State = "closed"
	NeverWas State = "voided" // the whole of it was entered in error
)

// Batch is one lot of cuttings from one stand and one day. A sister that was
// split off another batch has no stems of its own: they stay on the first.
type Batch struct {
	ID              string
	Code            string
	CodeKey         string
	StandID         string
	TaxonID         string
	Year            int // of the collection day
	Number          int // within the stand and year
	CollectedOn     Date
	StemsCut        int
	Cuttings        int
	ParentPlants    *int
	CollectedBy     string
	IdentifiedBy    string
	Identification  Identification
	RecordNumber    *string
	Purpose         Purpose
	Kind            CuttingKind
	LengthCM        *float64
	DiameterMM      *float64
	Nodes           *int
	WoodAgeYears    *float64
	Health          string
	HoursToWater    *float64
	Note            string
	AlreadyCut      bool
	Reason          string
	RefusedBy       string // the rule it was recorded against
	AwaitsReview    bool
	SurveyID        *string
	HarvestFraction *float64 // its stems ÷ the survey's lower bound
	StandFraction   *float64 // stems of the window that ends that day ÷ bound
	HarvestID       string   // the batch that holds the stems: itself, or the first of its sisters
	SplitFromID     *string
	PermitID        *string
	PermitQuantity  Decimal   // drawn on the permit, in its unit
	ShareID         *string   // the crew share it draws on
	Qualifier       Qualifier // of its name
	Void            bool      // it never was
	OverLimit       bool      `gorm:"-"` // recorded over a limit: a rest of the stand begins
	WaitingFrom     Date      // since when its cuttings wait to be stuck
	Active          bool      // something can still fall due
	Version         int
	EnteredAt       time.Time
}

// Details are what a request may say of a batch beyond its numbers.
type Details struct {
	IdentifiedBy   string         `json:"identified_by,omitempty" maxLength:"80" doc:"Who identified the plant" example:"OP"`
	Identification Identification `json:"identification,omitempty" enum:"confirmed,unconfirmed,qualified" doc:"How sure the name is; unconfirmed by default" example:"confirmed"`
	RecordNumber   string         `json:"record_number,omitempty" maxLength:"80" doc:"The tag written on the bundle in the field, unique for the stand and day" example:"T-017"`
	Purpose        Purpose        `json:"purpose,omitempty" enum:"rooting,direct_stick,live_stakes,fascines,weaving,teaching,salvage" doc:"What it was cut for; rooting by default" example:"rooting"`
	Kind           CuttingKind    `json:"kind,omitempty" enum:"hardwood,semi_hardwood,softwood,root_cutting,live_stake,pole,whip,fascine" doc:"Kind of cutting" example:"hardwood"`
	LengthCM       *float64       `json:"length_cm,omitempty" exclusiveMinimum:"0" maximum:"1000" doc:"Usual length of a cutting in centimetres" example:"20"`
	DiameterMM     *float64       `json:"diameter_mm,omitempty" exclusiveMinimum:"0" maximum:"500" doc:"Usual thickness of a cutting in millimetres" example:"8"`
	Nodes          *int           `json:"nodes,omitempty" minimum:"0" maximum:"100" doc:"Usual nodes on a cutting" example:"4"`
	WoodAgeYears   *float64       `json:"wood_age_years,omitempty" minimum:"0" maximum:"100" doc:"Age of the wood in years" example:"1"`
	Health         string         `json:"health,omitempty" maxLength:"80" doc:"How the donors looked" example:"sound, a few galls"`
	HoursToWater   *float64       `json:"hours_to_water,omitempty" minimum:"0" maximum:"1000" doc:"Hours from the cut to water" example:"1.5"`
	Note           string         `json:"note,omitempty" maxLength:"2000" doc:"Anything else" example:"north end only, south end fenced"`
}

// NewBatch is the request that logs a cutting batch.
type NewBatch struct {
	Stand          string   `json:"stand" minLength:"1" maxLength:"24" doc:"Code of the source stand" example:"MB-03"`
	CollectedOn    Date     `json:"collected_on" doc:"Day the stems were cut" example:"2026-01-17"`
	StemsCut       int      `json:"stems_cut" minimum:"0" maximum:"10000000" doc:"Stems taken off the stand" example:"24"`
	Cuttings       int      `json:"cuttings" minimum:"0" maximum:"10000000" doc:"Cuttings made from them" example:"72"`
	CollectedBy    string   `json:"collected_by" minLength:"1" maxLength:"80" doc:"Who cut" example:"RQ"`
	Taxon          string   `json:"taxon,omitempty" maxLength:"80" doc:"Scientific name, where a misfit with the stand is to be caught" example:"Cornus sericea"`
	ParentPlants   *int     `json:"parent_plants,omitempty" minimum:"1" maximum:"10000000" doc:"Plants or clumps cut from; needed where the survey counted plants" example:"12"`
	Parents        []Parent `json:"parents,omitempty" maxItems:"500" doc:"Stems by tagged plant, where they are known one by one; they name every stem and give parent_plants"`
	Permit         string   `json:"permit,omitempty" maxLength:"40" doc:"Number of the permit it is cut on" example:"WV-2026-12"`
	PermitQuantity *Decimal `json:"permit_quantity,omitempty" doc:"Drawn on the permit, where it counts bundles or kg" example:"3"`
	Share          string   `json:"share,omitempty" maxLength:"40" doc:"Crew share it is taken from: its crew, or its identifier where the crew has several at the stand" example:"C"`
	Details
	AlreadyCut bool   `json:"already_cut,omitempty" doc:"The stems are gone: record them even against a rule, to be reviewed" example:"false"`
	Reason     string `json:"reason,omitempty" maxLength:"2000" doc:"Why they were cut; needed with already_cut" example:"two crews cut on the same morning"`
	StuckOn    Date   `json:"stuck_on,omitzero" doc:"Day the cuttings were stuck, to stick them at once" example:"2026-01-18"`
	Count      *int   `json:"count,omitempty" minimum:"1" maximum:"10000000" doc:"Cuttings stuck at once; all of them by default" example:"72"`
	Tray
}

// BatchBrief names a batch in another's view.
type BatchBrief struct {
	Code      string `json:"code" doc:"Code of the batch"`
	Cuttings  int    `json:"cuttings" doc:"Cuttings it began with"`
	Treatment string `json:"treatment,omitempty" doc:"Its treatment in words"`
}

// BatchRecord is a batch with everything that was entered about it, each list in
// the order of entry.
type BatchRecord struct {
	Batch
	Stand     string // code
	Taxon     Taxon
	Survey    *SurveyBrief
	SplitFrom string
	Splits    []Split
	Sticking  *Sticking
	Moves     []Move
	Checks    []Check
	Pottings  []Potting
	Decisions []Decision
	Reviews   []Review

	Parents        []Parent
	Corrections    []Correction
	Determinations []Determination
	Permit         string // number
	PermitUnit     PermitUnit
	Crew           string // of the share it draws on

	HarvestAwaitsReview bool // the batch that holds its stems was cut against a rule

	FlagHistory  []FlagSpan    // filled where one batch is read by itself
	RootingModel *RootingModel // of the days to root of batches like it, filled where flags are asked for
}

// BatchView is a batch shown whole.
type BatchView struct {
	Code             string     `json:"code" doc:"Code of the batch" example:"MB-03-2026-7"`
	Stand            string     `json:"stand" doc:"Code of its stand" example:"MB-03"`
	Taxon            string     `json:"taxon" doc:"Scientific name" example:"Cornus sericea"`
	CommonName       string     `json:"common_name,omitempty" doc:"Name in everyday use"`
	Qualifier        Qualifier  `json:"qualifier,omitempty" doc:"How the name is hedged: cf., aff. or ?"`
	CollectedOn      Date       `json:"collected_on" doc:"Day the stems were cut"`
	StemsCut         int        `json:"stems_cut" doc:"Stems taken off the stand"`
	Cuttings         int        `json:"cuttings" doc:"Cuttings it began with"`
	CollectedBy      string     `json:"collected_by" doc:"Who cut"`
	ParentPlants     *int       `json:"parent_plants" doc:"Plants or clumps cut from"`
	Parents          []Parent   `json:"parents" doc:"What was cut from each plant, where they are known by their tags"`
	EffectiveParents *float64   `json:"effective_parents" doc:"How many plants of equal share would vary as little: (Σc)² ÷ Σc² over the cuttings from each, or the stems where cuttings are not told; null where plants are not known by their tags" example:"9.3"`
	Permit           string     `json:"permit,omitempty" doc:"Number of the permit it was cut on"`
	PermitQuantity   *Decimal   `json:"permit_quantity,omitempty" doc:"What it draws on the permit"`
	PermitUnit       PermitUnit `json:"permit_unit,omitempty" doc:"What the permit counts"`
	Crew             string     `json:"crew,omitempty" doc:"The crew whose share it was taken from"`
	Details
	State           State           `json:"state" doc:"Standing of the record: open, to_review, closed or voided"`
	Stage           Stage           `json:"stage" doc:"Where its cuttings are: cut, soaking, stored, stuck, rooting, emptied or ended"`
	ToReview        bool            `json:"to_review" doc:"Cut against a rule; the coordinator has to look"`
	RefusedBy       string          `json:"refused_by,omitempty" doc:"The rule it was recorded against"`
	AlreadyCut      bool            `json:"already_cut" doc:"Recorded against a rule because the stems were gone"`
	Reason          string          `json:"reason,omitempty" doc:"Why they were cut all the same"`
	HarvestFraction *float64        `json:"harvest_fraction" doc:"Its stems as a share of the survey's lower bound; null without one"`
	StandFraction   *float64        `json:"stand_fraction" doc:"All stems of the window that ended that day, as a share of the bound; null without one"`
	Survey          *SurveyBrief    `json:"survey" doc:"The survey those shares were worked out from"`
	SplitFrom       string          `json:"split_from,omitempty" doc:"The batch it was split off, which holds the stems"`
	Sisters         []BatchBrief    `json:"sisters" doc:"Batches split off this one"`
	Sticking        *Sticking       `json:"sticking" doc:"Its sticking, once stuck"`
	Counts          Tally           `json:"counts" doc:"Where every cutting is; they balance"`
	Rooting         *RootingCount   `json:"rooting" doc:"Rooting percent with its day and interval, once stuck"`
	DaysToRoot      *DaysToRoot     `json:"days_to_root" doc:"Observed brackets of the days to root, once stuck"`
	Corrections     []Correction    `json:"corrections" doc:"What was corrected of it, in the order it was"`
	Determinations  []Determination `json:"determinations" doc:"The names it was given since it was logged, in the order they were"`
	Flags           []DueItem       `json:"flags" doc:"What it asks for today"`
	Warnings        []string        `json:"warnings" doc:"What to look at again"`
	FlagHistory     []FlagSpan      `json:"flag_history" doc:"What it asked for, from when to when, as written day by day"`
	History         []HistoryLine   `json:"history" doc:"What happened, in order, in sentences"`
	Version         int             `json:"version" doc:"Counts the entries about it; the ETag"`
	EnteredAt       time.Time       `json:"entered_at" doc:"When it was entered, UTC"`
}

// DayView answers a day sheet.
type DayView struct {
	Batches []BatchView `json:"batches" doc:"The batches it logged, in the order of its rows"`
}

// BatchSummary is a batch as lists show it.
type BatchSummary struct {
	Code        string    `json:"code" doc:"Code of the batch"`
	Stand       string    `json:"stand" doc:"Code of its stand"`
	Taxon       string    `json:"taxon" doc:"Scientific name"`
	Qualifier   Qualifier `json:"qualifier,omitempty" doc:"How the name is hedged: cf., aff. or ?"`
	CollectedOn Date      `json:"collected_on" doc:"Day the stems were cut"`
	StemsCut    int       `json:"stems_cut" doc:"Stems taken off the stand"`
	Cuttings    int       `json:"cuttings" doc:"Cuttings it began with"`
	State       State     `json:"state" doc:"Standing of the record: open, to_review, closed or voided"`
	Stage       Stage     `json:"stage" doc:"Where its cuttings are"`
	Treatment   string    `json:"treatment,omitempty" doc:"Its treatment in words, once stuck"`
	Bench       string    `json:"bench,omitempty" doc:"Its bench, once stuck"`
	StuckOn     Date      `json:"stuck_on,omitzero" doc:"Day it was stuck"`
	Stuck       int       `json:"stuck" doc:"Cuttings stuck"`
	EverRooted  int       `json:"ever_rooted" doc:"Cuttings ever found rooted"`
	Percent     *float64  `json:"rooting_percent" doc:"Ever rooted as percent of stuck, on rooting_on"`
	PercentOn   Date      `json:"rooting_on,omitzero" doc:"Day the percent speaks of"`
}

// HistoryLine is one thing that happened to a batch, as a sentence. Entry is the number
// by which it can be corrected.
type HistoryLine struct {
	Entry     *int      `json:"entry" doc:"Number of the entry, by which it can be corrected; 0 is the cut itself; null where it is corrected at another batch"`
	On        Date      `json:"on" doc:"Day it happened"`
	Text      string    `json:"text" doc:"What happened"`
	EnteredAt time.Time `json:"entered_at" doc:"When it was entered, UTC"`
}
