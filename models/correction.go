package models

import (
	"strings"
	"time"
)

// Subject is what a correction is about.
type Subject string

// KeptSubjects are the records of stands that are voided one by one.
var KeptSubjects = []Subject{OfSurvey, OfOthersCut, OfDisturbance, OfRest, OfSalvage, OfNestCheck, OfToolCleaning}

// Known says that the word is one of the records of stands.
func (s Subject) Known() bool { return oneOf(s, KeptSubjects) }

// Words is the subject as it stands in a sentence.
func (s Subject) Words() string {
	switch s {
	case OfOthersCut:
		return "cut of others"
	case OfNestCheck:
		return "look for nests"
	case OfToolCleaning:
		return "cleaning of tools"
	}
	return string(s)
}

// The subjects. A batch and its entries are corrected in place, with what they said
// before kept in the correction; the others are replaced by a new record, or void.
const (
	OfBatch        Subject = "batch"
	OfSticking     Subject = "sticking"
	OfMove         Subject = "move"
	OfSplit        Subject = "split"
	OfCheck        Subject = "check"
	OfPotting      Subject = "potting"
	OfDecision     Subject = "decision"
	OfSurvey       Subject = "survey"
	OfOthersCut    Subject = "others_cut"
	OfDisturbance  Subject = "disturbance"
	OfRest         Subject = "rest"
	OfSalvage      Subject = "salvage"
	OfNestCheck    Subject = "nest_check"
	OfToolCleaning Subject = "tool_cleaning"
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
	AboutEntry  int            `json:"entry,omitempty" doc:"Number of the entry of the batch that was corrected; none where it was the batch itself"`
	Entry       int            `json:"-"`
	EnteredAt   time.Time      `json:"entered_at" doc:"When it was corrected, UTC"`
}

// PersonFields are the people a correction names, but for those in what it changed.
func (c *Correction) PersonFields() []PersonField { return []PersonField{{"by", &c.CorrectedBy}} }

// NamesPerson says that a field of what a correction changed names a person.
func NamesPerson(field string) bool {
	return field == "by" || strings.HasSuffix(field, "_by") && field != "cut_by" && field != "replaced_by"
}

// CorrectionView is a correction as a list shows it.
type CorrectionView struct {
	Stand string `json:"stand" doc:"Code of the stand"`
	Batch string `json:"batch,omitempty" doc:"Code of the batch, where it is about one"`
	Correction
	Warnings []string `json:"warnings" doc:"What to look at again"`
}

// Amended says of a record that a correction stands against it.
type Amended struct {
	Void       bool   `json:"void,omitempty" doc:"It never was: it counts no more"`
	ReplacedBy string `json:"replaced_by,omitempty" doc:"Identifier of the record that stands in its place"`
}

// CutForm is what a request says of the cut of a batch, without its sticking.
type CutForm struct {
	Stand          string   `json:"stand"`
	CollectedOn    Date     `json:"collected_on"`
	StemsCut       int      `json:"stems_cut"`
	Cuttings       int      `json:"cuttings"`
	CollectedBy    string   `json:"collected_by"`
	ParentPlants   *int     `json:"parent_plants,omitempty"`
	Parents        []Parent `json:"parents,omitempty"`
	Permit         string   `json:"permit,omitempty"`
	PermitQuantity *Decimal `json:"permit_quantity,omitempty"`
	Share          string   `json:"share,omitempty"`
	Details
}

// NewCorrection is the request that corrects a batch, or an entry about it.
type NewCorrection struct {
	Entry      int     `json:"entry,omitempty" minimum:"0" maximum:"10000000" doc:"Number of the entry that is corrected, as the history of the batch counts them; the cut itself where it is left out or 0" example:"3"`
	Changes    Changes `json:"changes,omitzero" doc:"What was said wrongly, as it should have been said (RFC 7396): of the cut, or of the entry"`
	Void       bool    `json:"void,omitempty" doc:"The entry never was: take it out. A whole batch is voided by its own way" example:"false"`
	Why        string  `json:"why" minLength:"1" maxLength:"2000" doc:"Why it is corrected" example:"counted again from the bundle"`
	By         string  `json:"by,omitempty" maxLength:"80" doc:"Who corrects it" example:"OP"`
	AlreadyCut bool    `json:"already_cut,omitempty" doc:"The stems are gone: record the corrected cut even against a rule, to be reviewed" example:"false"`
	Reason     string  `json:"reason,omitempty" maxLength:"2000" doc:"Why they were cut; needed with already_cut" example:"two crews cut on the same morning"`
	Version    int     `json:"version,omitempty" minimum:"0" maximum:"10000000" doc:"Version of the batch that was looked at; without one it may have been any" example:"3"`
}

// PersonFields are the people a correction names.
func (r *NewCorrection) PersonFields() []PersonField {
	return append([]PersonField{{"by", &r.By}}, prefixed("changes.", r.Changes.PersonFields())...)
}

func prefixed(prefix string, fields []PersonField) []PersonField {
	for i := range fields {
		fields[i].Name = prefix + fields[i].Name
	}
	return fields
}

// NewVoid is the request that voids a batch: it never was.
type NewVoid struct {
	Why string `json:"why" minLength:"1" maxLength:"2000" doc:"Why it never was" example:"logged twice"`
	By  string `json:"by,omitempty" maxLength:"80" doc:"Who voids it" example:"OP"`
}

// PersonFields are the people a request names.
func (r *NewVoid) PersonFields() []PersonField { return []PersonField{{"by", &r.By}} }

// NewSurveyCorrection is the request that corrects a survey: it is counted anew from
// what the paper says, or it never was.
type NewSurveyCorrection struct {
	Survey *NewSurvey `json:"survey,omitempty" doc:"The survey as it should have been entered, the whole of it"`
	Void   bool       `json:"void,omitempty" doc:"It never was" example:"false"`
	Why    string     `json:"why" minLength:"1" maxLength:"2000" doc:"Why it is corrected" example:"two plots were left out"`
	By     string     `json:"by,omitempty" maxLength:"80" doc:"Who corrects it" example:"OP"`
}

// PersonFields are the people a request names.
func (r *NewSurveyCorrection) PersonFields() []PersonField {
	fields := []PersonField{{"by", &r.By}}
	if r.Survey != nil {
		fields = append(fields, prefixed("survey.", r.Survey.PersonFields())...)
	}
	return fields
}

// SurveyCorrectionView answers the correction of a survey.
type SurveyCorrectionView struct {
	CorrectionView
	Survey *SurveyView `json:"survey,omitempty" doc:"The survey that stands in its place"`
}

// NewStandCorrection is the request that voids a record of a stand: it never was.
type NewStandCorrection struct {
	Subject   Subject `json:"subject" enum:"survey,others_cut,disturbance,rest,salvage,nest_check,tool_cleaning" doc:"What is voided" example:"others_cut"`
	SubjectID string  `json:"subject_id" minLength:"1" maxLength:"80" doc:"Its identifier, as the list of such records shows it" example:"0198c5a0-7d1e-7c3a-9f00-2b6f1d3e4a51"`
	Why       string  `json:"why" minLength:"1" maxLength:"2000" doc:"Why it never was" example:"it was the stand upstream"`
	By        string  `json:"by,omitempty" maxLength:"80" doc:"Who voids it" example:"OP"`
}

// PersonFields are the people a request names.
func (r *NewStandCorrection) PersonFields() []PersonField { return []PersonField{{"by", &r.By}} }

// Determination is a batch named anew: who said which taxon it is, when and how
// sure. An empty qualifier is a plain name; cf. and aff. are qualifiers.
type Determination struct {
	ID           string    `json:"-"`
	BatchID      string    `json:"-"`
	TaxonID      string    `json:"-"`
	BeforeID     string    `json:"-"`
	Taxon        string    `json:"taxon" gorm:"-" doc:"Scientific name it was given"`
	Before       string    `json:"before" gorm:"-" doc:"Scientific name it had"`
	Qualifier    Qualifier `json:"qualifier,omitempty" doc:"How sure: cf., aff. or ?, or nothing for a plain name"`
	DeterminedOn Date      `json:"on" doc:"Day it was named"`
	DeterminedBy string    `json:"by" doc:"Who named it"`
	Note         string    `json:"note,omitempty" doc:"What it was told by"`
	Entry        int       `json:"-"`
	EnteredAt    time.Time `json:"entered_at" doc:"When it was entered, UTC"`
}

// PersonFields are the people a determination names.
func (d *Determination) PersonFields() []PersonField { return []PersonField{{"by", &d.DeterminedBy}} }

// Qualifier is how a name is hedged.
type Qualifier string

// The qualifiers: to be compared with the taxon, close to it and not it, and doubtful.
const (
	Compare  Qualifier = "cf."
	Affinity Qualifier = "aff."
	Doubtful Qualifier = "?"
)

// Qualifiers lists every qualifier.
var Qualifiers = []Qualifier{Compare, Affinity, Doubtful}

// Known says that the word is a qualifier.
func (q Qualifier) Known() bool { return oneOf(q, Qualifiers) }

// QualifiedName is a scientific name with its qualifier, which stands before the
// epithet: Salix cf. scouleriana.
func QualifiedName(name string, q Qualifier) string {
	genus, epithet, two := strings.Cut(name, " ")
	switch {
	case q == "":
		return name
	case !two:
		return string(q) + " " + name
	}
	return genus + " " + string(q) + " " + epithet
}

// NewDetermination is the request that names a batch, with all that is of one harvest
// with it, anew.
type NewDetermination struct {
	Taxon          string         `json:"taxon" minLength:"1" maxLength:"80" doc:"Scientific name of the taxon it is" example:"Salix scouleriana"`
	On             Date           `json:"on" doc:"Day it was named" example:"2026-05-02"`
	By             string         `json:"by" minLength:"1" maxLength:"80" doc:"Who named it" example:"OP"`
	Qualifier      Qualifier      `json:"qualifier,omitempty" enum:"cf.,aff.,?" doc:"How the name is hedged; a plain name without one" example:"cf."`
	Identification Identification `json:"identification,omitempty" enum:"confirmed,unconfirmed,qualified" doc:"How sure the name is; confirmed by default, and qualified with a qualifier" example:"confirmed"`
	Note           string         `json:"note,omitempty" maxLength:"2000" doc:"What it was told by" example:"leaves and catkins seen in May"`
}

// PersonFields are the people a request names.
func (r *NewDetermination) PersonFields() []PersonField { return []PersonField{{"by", &r.By}} }
