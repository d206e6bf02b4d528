package models

// StandState says in a word whether a stand is open on a day.
type StandState string

// The states, the first that fits: salvage sets a stand free of caps.
const (
	StandClosed    StandState = "closed"
	StandNestCheck StandState = "nest_check" // closed until someone has looked for nests
	StandAtRest    StandState = "rest"
	StandUncounted StandState = "count_again"
	StandSalvage   StandState = "salvage"
	StandOpen      StandState = "open"
)

// PermitState says in a word what is on file about leave to cut a stand.
type PermitState string

// A paper that covers a cut is on file, or all of it is used up; one is required and
// missing, or none is required; or nothing is known.
const (
	PermitOnFile      PermitState = "on_file"
	PermitUsedUp      PermitState = "used_up"
	PermitMissing     PermitState = "missing"
	PermitNotRequired PermitState = "not_required"
	PermitUnknown     PermitState = "not_on_file"
)

// Board is every stand with what is left of it on a day, the most first; those over
// their limit come last, the furthest over at the end.
type Board struct {
	On     Date       `json:"on" doc:"The day it speaks of"`
	Stands []BoardRow `json:"stands" doc:"The stands by what is left, the most first; those over their limit come last"`
}

// BoardRow is a stand on the board.
type BoardRow struct {
	Stand       string `json:"stand" doc:"Code of the stand" example:"MB-03"`
	Name        string `json:"name" doc:"Name of the stand"`
	Taxon       string `json:"taxon" doc:"Scientific name"`
	CommonName  string `json:"common_name" doc:"Name in everyday use"`
	Place       string `json:"place" doc:"Place it shares with other stands"`
	LandManager string `json:"land_manager" doc:"Who manages the land"`
	StandUse
}

// StandUse is what was taken of a stand, what is left of it and what stands in the way
// on a day.
type StandUse struct {
	Limit       int          `json:"limit" doc:"Stems the stand cap allows in the window that ends on the day"`
	Taken       int          `json:"taken" doc:"Stems taken in that window, by anyone; what is set aside is not among them"`
	SetAside    int          `json:"set_aside" doc:"Stems set aside for crews and not cut yet, of that window and for days to come whose windows hold the day"`
	Left        *int         `json:"left" doc:"Most stems possible on the day within every rule, cut from as many plants as it takes; null where a salvage sets no number"`
	Over        int          `json:"over" doc:"Stems over the limit on the worst day of the window, as it is known now; 0 where it is kept"`
	Exceeded    string       `json:"exceeded,omitempty" doc:"Where stems taken are over the limit as it is known now: which day and by how much"`
	Binding     *Binding     `json:"binding" doc:"The rule that allows the least"`
	OpenFrom    *Date        `json:"open_from" doc:"First day from then on on which a stem is possible; null if there is none as things are"`
	Instead     string       `json:"instead,omitempty" doc:"What would help where no day is possible" example:"not before a new count"`
	State       StandState   `json:"state" doc:"Whether it is open: closed, nest_check, rest, count_again, salvage or open"`
	StateDetail string       `json:"state_detail,omitempty" doc:"What holds, where it is not open"`
	Survey      *SurveyBrief `json:"survey" doc:"The latest survey"`
	SurveyAge   *int         `json:"survey_age" doc:"Days since it"`
	SurveyGood  bool         `json:"survey_good" doc:"It is good on the day: neither too old nor ended by a disturbance"`
	Permit      PermitState  `json:"permit" doc:"What is on file about leave to cut: on_file, used_up, missing where one is required, not_required, or not_on_file"`
	PermitNo    string       `json:"permit_number,omitempty" doc:"Number of the paper that covers a cut on the day" example:"WV-2026-12"`
	PermitTo    Date         `json:"permit_to,omitzero" doc:"Its last day"`
}
