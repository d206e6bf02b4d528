package models

import "time"

// Land is what a land manager sees of their stands: what was taken in some days, and how
// things stand.
type Land struct {
	Nursery     string      `json:"nursery" doc:"Name of the nursery"`
	LandManager string      `json:"land_manager,omitempty" doc:"Whose land it is about, where it was asked for so" example:"Wrenlow Valley Parks"`
	Place       string      `json:"place,omitempty" doc:"The place it is about, where it was asked for so" example:"Mallow Bend"`
	From        Date        `json:"from" doc:"First day of the period"`
	To          Date        `json:"to" doc:"Last day of the period"`
	MadeOn      Date        `json:"made_on" doc:"Day on which the records were looked at; what is left and what holds is told of it, or of known_on"`
	KnownOn     Date        `json:"known_on,omitzero" doc:"Where it was asked for as it was known on a day: that day"`
	Totals      LandTotals  `json:"totals" doc:"Stems of the period over all stands"`
	Stands      []LandStand `json:"stands" doc:"The stands, by code"`
}

// LandTotals are the stems on ledgers that are dated in a period. Ours, others' and what
// is set aside make up all.
type LandTotals struct {
	Ours     int `json:"ours" doc:"Stems the nursery cut, with what corrections made of them"`
	Within   int `json:"within" doc:"Of ours, stems of batches that were within every rule as it was known when they were entered"`
	Against  int `json:"against" doc:"Of ours, stems of batches that were recorded against a rule, to be reviewed"`
	Earlier  int `json:"earlier" doc:"Of ours, stems cut before the nursery kept batches"`
	Others   int `json:"others" doc:"Stems cut by others, the most it may have been"`
	SetAside int `json:"set_aside" doc:"Stems set aside for crews, less what was drawn, returned or released"`
	All      int `json:"all" doc:"All stems on the ledger in the period"`
}

// Add adds others to totals.
func (t *LandTotals) Add(o LandTotals) {
	t.Ours, t.Within, t.Against, t.Earlier = t.Ours+o.Ours, t.Within+o.Within, t.Against+o.Against, t.Earlier+o.Earlier
	t.Others, t.SetAside, t.All = t.Others+o.Others, t.SetAside+o.SetAside, t.All+o.All
}

// LandKind sums the entries of one kind.
type LandKind struct {
	Kind    LedgerKind `json:"kind" doc:"What the entries record" example:"cut"`
	Entries int        `json:"entries" doc:"Entries of the kind dated in the period"`
	Stems   int        `json:"stems" doc:"What they sum to"`
}

// LandStand is a stand on the page of a land manager.
type LandStand struct {
	Stand      string `json:"stand" doc:"Code of the stand" example:"MB-03"`
	Name       string `json:"name" doc:"Name of the stand"`
	Taxon      string `json:"taxon" doc:"Scientific name"`
	CommonName string `json:"common_name" doc:"Name in everyday use"`
	Place      string `json:"place" doc:"Place it shares with other stands"`
	StandUse
	Totals   LandTotals    `json:"totals" doc:"Stems of the period"`
	Kinds    []LandKind    `json:"kinds" doc:"The same by what the entries of the ledger record"`
	Cuts     []LandCut     `json:"cuts" doc:"Every entry of the period but what was set aside, in order of day, then of entry"`
	Beyond   []LandOver    `json:"beyond" doc:"Days of the period to which more was taken than the limit, as it is known now"`
	Shares   []LandShare   `json:"shares" doc:"What is set aside for crews still"`
	Permits  []LandPermit  `json:"permits" doc:"Papers about cutting that hold in the period or on the day it was made"`
	NestLook *NestLook     `json:"nest_check" doc:"The last look for nests, at the stand or the whole place"`
	Cleaning *ToolCleaning `json:"tool_cleaning" doc:"When tools were last cleaned for it"`
	Course   Course        `json:"course" doc:"What was taken against the limit over the period"`
}

// LandCut is an entry of the ledger as the page shows it.
type LandCut struct {
	On        Date       `json:"on" doc:"Day the stems were taken"`
	Stems     int        `json:"stems" doc:"Stems, negative where an entry gives some back"`
	Kind      LedgerKind `json:"kind" doc:"What the entry records"`
	Ours      bool       `json:"ours" doc:"The nursery cut, and not others"`
	Batch     string     `json:"batch,omitempty" doc:"Code of the batch the stems went to"`
	By        string     `json:"by" doc:"Who cut, or who entered it, by code"`
	Permit    string     `json:"permit,omitempty" doc:"Number of the permit it was cut on"`
	RefusedBy string     `json:"refused_by,omitempty" doc:"The rule the batch was recorded against"`
	ToReview  bool       `json:"to_review,omitempty" doc:"The coordinator has to look at it still"`
	Note      string     `json:"note,omitempty" doc:"Why it was entered, for anything but a plain cut"`
}

// LandOver is a day to which more was taken than the limit.
type LandOver struct {
	On     Date   `json:"on" doc:"The day"`
	Taken  int    `json:"taken" doc:"Stems of the window that ends on it"`
	Limit  int    `json:"limit" doc:"Its limit, as it is known now"`
	Over   int    `json:"over" doc:"Stems over it"`
	Since  Date   `json:"since" doc:"Day on which the entry was made that took it over"`
	By     string `json:"by" doc:"That entry, in words" example:"the count of 2026-01-10"`
	Within bool   `json:"within_then" doc:"What was cut was within the allowance as it was known then: a later entry made it too much"`
}

// LandShare is what is set aside for a crew.
type LandShare struct {
	Crew string `json:"crew" doc:"Who it is set aside for"`
	From Date   `json:"from" doc:"First day"`
	To   Date   `json:"to" doc:"Last day"`
	Left int    `json:"left" doc:"Stems that are set aside still"`
}

// LandPermit is a paper about cutting as the page shows it.
type LandPermit struct {
	Number    string     `json:"number" doc:"Its number" example:"WV-2026-12"`
	Kind      PermitKind `json:"kind" doc:"permit, leave or consent"`
	Issuer    string     `json:"issuer" doc:"Who gave it"`
	ValidFrom Date       `json:"valid_from" doc:"First day it holds"`
	ValidTo   Date       `json:"valid_to,omitzero" doc:"Last day it holds"`
	Quantity  *Decimal   `json:"quantity,omitempty" doc:"Most that may be taken on it, over all its stands"`
	Left      *Decimal   `json:"left,omitempty" doc:"What is left of that"`
	Unit      PermitUnit `json:"unit,omitempty" doc:"What it counts"`
}

// PersonFields are the people the page names.
func (l *Land) PersonFields() []PersonField {
	var fields []PersonField
	for i := range l.Stands {
		s := &l.Stands[i]
		for j := range s.Cuts {
			fields = append(fields, PersonField{"by", &s.Cuts[j].By})
		}
		if s.NestLook != nil {
			fields = append(fields, s.NestLook.PersonFields()...)
		}
		if s.Cleaning != nil {
			fields = append(fields, s.Cleaning.PersonFields()...)
		}
	}
	return fields
}

// LandEntry is an entry of a ledger with what its batch tells of it.
type LandEntry struct {
	LedgerLine
	CorrectedKind LedgerKind // of the entry it corrects; empty where it corrects none
	Permit        string     // number
	RefusedBy     string     // the rule its batch was recorded against
	AwaitsReview  bool
}

// ReplacedSurvey is a survey that counts no more, and when that was entered.
type ReplacedSurvey struct {
	Survey
	ReplacedAt time.Time
}

// ReplacedDisturbance is a disturbance that counts no more, and when that was entered.
type ReplacedDisturbance struct {
	Disturbance
	ReplacedAt time.Time
}

// LandRecord is a stand with what is read for the page of a land manager: the entries of
// its ledger from one window before the period to its end, in order of day, then of
// entry, and the counts and disturbances that count no more.
type LandRecord struct {
	*StandRecord
	Entries              []LandEntry
	ReplacedSurveys      []ReplacedSurvey
	ReplacedDisturbances []ReplacedDisturbance
	Cleaning             *ToolCleaning
}
