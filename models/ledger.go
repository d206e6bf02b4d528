package models

import "time"

// LedgerKind is what an entry of a stand's ledger records.
type LedgerKind string

// What an entry records: stems taken for a batch, cut by others, or cut by the
// nursery before it kept batches; what a correction or a void adds or gives back; and
// of crew shares what is set aside, drawn by a batch, returned, or released.
const (
	Cut           LedgerKind = "cut"
	Others        LedgerKind = "others"
	EarlierCut    LedgerKind = "earlier"
	Corrected     LedgerKind = "correction"
	Voided        LedgerKind = "void"
	ShareSet      LedgerKind = "share"
	ShareDrawn    LedgerKind = "share_drawn"
	ShareReturned LedgerKind = "share_returned"
	ShareReleased LedgerKind = "share_released"
)

// LedgerEntry is one line of a stand's append-only ledger of stems. It counts
// for the day the stems were taken, whenever it was entered.
type LedgerEntry struct {
	ID        string     `json:"id" doc:"Identifier of the entry"`
	StandID   string     `json:"-"`
	BatchID   *string    `json:"-"`
	ShareID   *string    `json:"-"`
	Kind      LedgerKind `json:"kind" doc:"What it records"`
	TakenOn   Date       `json:"taken_on" doc:"Day the stems were taken"`
	Stems     int        `json:"stems" doc:"Stems, negative where an entry gives some back"`
	Parents   int        `json:"parents" doc:"Parent plants they were cut from"`
	Corrects  *string    `json:"corrects,omitempty" doc:"The entry it corrects"`
	EnteredBy string     `json:"by" doc:"Who cut, or who corrected"`
	Why       string     `json:"why,omitempty" doc:"Why it was entered, for anything but a plain cut"`
	EnteredAt time.Time  `json:"entered_at" doc:"When it was entered, UTC"`
}

// LedgerLine is an entry as it is shown.
type LedgerLine struct {
	LedgerEntry
	Batch string `json:"batch,omitempty" doc:"Code of the batch the stems went to"`
}

// LedgerDay is what a stand's ledger sums to for one day.
type LedgerDay struct {
	TakenOn Date
	Stems   int
	Parents int
}

// CutDay is what was taken of a stand on one day, and for how many batches.
type CutDay struct {
	LedgerDay
	Batches int
}

// SeasonTaken is what was taken of a stand in one growth year.
type SeasonTaken struct {
	Season     string   `json:"season" doc:"Growth year, 1 July to 30 June" example:"2026/27"`
	Stems      int      `json:"stems" doc:"Stems taken in it"`
	Batches    int      `json:"batches" doc:"Batches cut in it"`
	SurveyedOn Date     `json:"surveyed_on,omitzero" doc:"Day of the survey in force at the last cut of the season"`
	LowerBound *Decimal `json:"lower_bound" doc:"Its lower bound in stems"`
	Fraction   *float64 `json:"fraction" doc:"Stems as a share of that bound; null without a survey"`
}

// Allowance answers how many stems may be cut from a stand on a day.
type Allowance struct {
	Stand        string        `json:"stand" doc:"Code of the stand" example:"MB-03"`
	On           Date          `json:"on" doc:"The day asked about"`
	Stems        int           `json:"stems" doc:"Stems asked about, for possible_from"`
	Allowed      int           `json:"allowed" doc:"Most stems possible on that day within every rule; 10000000 where a salvage sets the stand free of every number"`
	Taken        int           `json:"taken" doc:"Stems taken in the window that ends on that day, those set aside for crews too"`
	SetAside     int           `json:"set_aside" doc:"Of the stems taken, those set aside for crews and not cut yet"`
	Limit        int           `json:"limit" doc:"Stems the stand cap allows in the window that ends on that day"`
	Binding      *Binding      `json:"binding" doc:"The rule that allows the least"`
	PossibleFrom *Date         `json:"possible_from" doc:"First day from then on when the stems asked about are possible; null if there is none as things are"`
	Instead      string        `json:"instead,omitempty" doc:"What would help where no day is possible: a new count, more plants, the end of a closure or rest, or an authority or permit on file, or more on a permit" example:"not before a new count"`
	Rules        []RuleAllowed `json:"rules" doc:"Every rule with its number"`
	Share        string        `json:"share,omitempty" doc:"The crew share the stems are drawn on, what is left of it, and its last day; where one was named" example:"of the share of C, 40 stems left, to 2026-01-31"`
	Sentence     string        `json:"sentence" doc:"The answer in one sentence: the most that is possible, what limits it, the number of every rule, and the first day for the stems asked about; never a bare yes"`
	Leave        string        `json:"leave" doc:"What is on file about leave to cut: the count alone never gives it"`
	Survey       *SurveyBrief  `json:"survey" doc:"The survey that sets the limit"`
}

// RuleAllowed is what one rule allows.
type RuleAllowed struct {
	Code    string `json:"code" doc:"protection, permit, closure, rest, survey, per-plant or stand" example:"stand"`
	Allowed *int   `json:"allowed" doc:"Stems it allows; null where it sets no limit"`
	Detail  string `json:"detail" doc:"The rule with the numbers it used"`
}

// StandRecord is a stand with everything the harvest rules read of it. Ledger
// and Parents hold the sums by day, in order of day, from one window before the first
// day asked about; of rests, salvages and looks for nests there are those that hold on
// that day or later. The other lists hold everything. All are in order of day, then of
// entry, without what was replaced or voided by a correction.
type StandRecord struct {
	Stand
	Taxon        Taxon
	Rules        []RuleVersion
	Closures     []ClosureVersion
	Surveys      []Survey
	Disturbances []Disturbance
	Ledger       []LedgerDay

	PlaceClosures []PlaceClosureVersion // of its place
	NestChecks    []NestLook            // of the stand and of its place, in order of day
	Rests         []Rest
	Salvages      []SalvagePeriod
	Permits       []Permit    // that cover it, with what is drawn on each
	Shares        []OpenShare // of which something is still set aside
	Parents       []ParentDay // stems by tagged plant and day, over the days of Ledger
}
