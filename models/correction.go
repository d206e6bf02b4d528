package models

import "time"

// Subject is what a correction is about.
type Subject string

// The subjects. A batch and its entries are corrected in place, with what they said
// before kept in the correction; the others are replaced by a new record, or void.
const (
	OfBatch       Subject = "batch"
	OfSticking    Subject = "sticking"
	OfMove        Subject = "move"
	OfSplit       Subject = "split"
	OfCheck       Subject = "check"
	OfPotting     Subject = "potting"
	OfDecision    Subject = "decision"
	OfSurvey      Subject = "survey"
	OfOthersCut   Subject = "others_cut"
	OfDisturbance Subject = "disturbance"
	OfRest        Subject = "rest"
	OfSalvage     Subject = "salvage"
	OfNestCheck   Subject = "nest_check"
)

// Correction is a record that says another one was wrong: what it said before, what
// it says after, who says so and why. Nothing it corrects is erased. Before and
// After hold the fields that differ, by their JSON names.
type Correction struct {
	ID          string         `json:"id" doc:"Identifier of the correction"`
	StandID     string         `json:"-"`
	BatchID     *string        `json:"-"`
	Subject     Subject        `json:"subject" doc:"What was corrected"`
	SubjectID   string         `json:"subject_id" doc:"Identifier of what was corrected"`
	Void        bool           `json:"void" doc:"It never was: it counts no more"`
	ReplacedBy  *string        `json:"replaced_by,omitempty" doc:"Identifier of the record that stands in its place"`
	Before      map[string]any `json:"before" gorm:"serializer:json" doc:"What it said, for the fields that changed"`
	After       map[string]any `json:"after" gorm:"serializer:json" doc:"What it says now"`
	Why         string         `json:"why" doc:"Why it was corrected"`
	CorrectedBy string         `json:"by" doc:"Who corrected it"`
	Entry       int            `json:"-"`
	EnteredAt   time.Time      `json:"entered_at" doc:"When it was corrected, UTC"`
}

// Determination is a batch named anew: who said which taxon it is, when and how
// sure. An empty qualifier is a plain name; cf. and aff. are qualifiers.
type Determination struct {
	ID           string    `json:"-"`
	BatchID      string    `json:"-"`
	TaxonID      string    `json:"-"`
	BeforeID     string    `json:"-"`
	Taxon        string    `json:"taxon" gorm:"-" doc:"Scientific name it was given"`
	Before       string    `json:"before" gorm:"-" doc:"Scientific name it had"`
	Qualifier    string    `json:"qualifier,omitempty" doc:"How sure: cf., aff. or ?, or nothing for a plain name"`
	DeterminedOn Date      `json:"on" doc:"Day it was named"`
	DeterminedBy string    `json:"by" doc:"Who named it"`
	Note         string    `json:"note,omitempty" doc:"What it was told by"`
	Entry        int       `json:"-"`
	EnteredAt    time.Time `json:"entered_at" doc:"When it was entered, UTC"`
}
