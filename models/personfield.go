package models

import (
	"fmt"
	"slices"
)

// NotListed is shown in place of a name that is no code on the list of people.
const NotListed = "not on the list"

// PersonField is a place in a request or a record that names a person: by a code,
// or by a text that is no code.
type PersonField struct {
	Name string // as the field is called in JSON
	Text *string
}

// SeesNames says that the caller may see people as records name them, in words
// too: the nursery itself and coordinators.
func (c Caller) SeesNames() bool { return c.Role == "" || c.Is(Coordinator) }

// PersonFields are the people a sticking names.
func (t *Tray) PersonFields() []PersonField { return []PersonField{{"stuck_by", &t.StuckBy}} }

// PersonFields are the people a new batch names, those of its sticking too.
func (r *NewBatch) PersonFields() []PersonField {
	return append([]PersonField{{"collected_by", &r.CollectedBy}, {"identified_by", &r.IdentifiedBy}}, r.Tray.PersonFields()...)
}

// PersonFields are the people a split names, arm by arm.
func (r *NewSplit) PersonFields() []PersonField {
	var fields []PersonField
	for i := range r.Arms {
		fields = append(fields, PersonField{fmt.Sprintf("arms[%d].stuck_by", i), &r.Arms[i].StuckBy})
	}
	return fields
}

// PersonFields are the people a request names.
func (r *NewCheck) PersonFields() []PersonField { return []PersonField{{"checked_by", &r.CheckedBy}} }

// PersonFields are the people a request names.
func (r *NewPotting) PersonFields() []PersonField { return []PersonField{{"potted_by", &r.PottedBy}} }

// PersonFields are the people a request names.
func (r *NewDecision) PersonFields() []PersonField { return []PersonField{{"by", &r.By}} }

// PersonFields are the people a request names.
func (r *NewReview) PersonFields() []PersonField { return []PersonField{{"by", &r.By}} }

// PersonFields are the people a request names.
func (r *NewSurvey) PersonFields() []PersonField {
	return []PersonField{{"surveyed_by", &r.SurveyedBy}}
}

// PersonFields are the people a request names.
func (r *NewDisturbance) PersonFields() []PersonField { return []PersonField{{"by", &r.By}} }

// PersonFields are the people an edit names.
func (e *StandEdit) PersonFields() []PersonField { return []PersonField{{"by", &e.By}} }

// PersonFields are the people a request names.
func (r *NewClosures) PersonFields() []PersonField { return []PersonField{{"by", &r.By}} }

// PersonFields are the people everything entered about a batch names.
func (r *BatchRecord) PersonFields() []PersonField {
	fields := []PersonField{{"collected_by", &r.CollectedBy}, {"identified_by", &r.IdentifiedBy}}
	if r.Sticking != nil {
		fields = append(fields, r.Sticking.PersonFields()...)
	}
	for i := range r.Checks {
		fields = append(fields, PersonField{"checked_by", &r.Checks[i].CheckedBy})
	}
	for i := range r.Pottings {
		fields = append(fields, PersonField{"potted_by", &r.Pottings[i].PottedBy})
	}
	for i := range r.Decisions {
		fields = append(fields, PersonField{"by", &r.Decisions[i].DecidedBy})
	}
	for i := range r.Reviews {
		fields = append(fields, PersonField{"by", &r.Reviews[i].ReviewedBy})
	}
	for i := range r.Corrections {
		fields = append(fields, r.Corrections[i].PersonFields()...)
	}
	for i := range r.Determinations {
		fields = append(fields, r.Determinations[i].PersonFields()...)
	}
	return fields
}

// Copy is the record once more, whose people fields can be rewritten without
// changing the first.
func (r *BatchRecord) Copy() *BatchRecord {
	c := *r
	if r.Sticking != nil {
		sticking := *r.Sticking
		c.Sticking = &sticking
	}
	c.Checks, c.Pottings = slices.Clone(r.Checks), slices.Clone(r.Pottings)
	c.Decisions, c.Reviews = slices.Clone(r.Decisions), slices.Clone(r.Reviews)
	c.Corrections, c.Determinations = slices.Clone(r.Corrections), slices.Clone(r.Determinations)
	return &c
}

// PersonFields are the people a line of the ledger names.
func (l *LedgerLine) PersonFields() []PersonField { return []PersonField{{"by", &l.EnteredBy}} }

// PersonFields are the people a survey names.
func (s *Survey) PersonFields() []PersonField {
	return []PersonField{{"surveyed_by", &s.SurveyedBy}}
}

// PersonFields are the people a disturbance names.
func (d *Disturbance) PersonFields() []PersonField { return []PersonField{{"by", &d.ReportedBy}} }

// PersonFields are the people that answers about a stand may name: those who may cut
// on its permits, and those who looked for nests.
func (r *StandRecord) PersonFields() []PersonField {
	var fields []PersonField
	for i := range r.Permits {
		fields = append(fields, peopleFields(r.Permits[i].People)...)
	}
	for i := range r.NestChecks {
		fields = append(fields, PersonField{"by", &r.NestChecks[i].CheckedBy})
	}
	return fields
}

// PersonFields are the people a stand as it is shown names.
func (v *StandView) PersonFields() []PersonField {
	fields := []PersonField{{"by", &v.HarvestRule.SetBy}}
	for i := range v.Rests {
		fields = append(fields, v.Rests[i].PersonFields()...)
	}
	if v.Salvage != nil {
		fields = append(fields, v.Salvage.PersonFields()...)
	}
	if v.NestCheck != nil {
		fields = append(fields, v.NestCheck.PersonFields()...)
	}
	if v.ToolCleaning != nil {
		fields = append(fields, v.ToolCleaning.PersonFields()...)
	}
	return fields
}

// PersonFields are the people the versions of a stand's rule and closures name.
func (v *StandVersions) PersonFields() []PersonField {
	var fields []PersonField
	for i := range v.HarvestRules {
		fields = append(fields, PersonField{"by", &v.HarvestRules[i].SetBy})
	}
	for i := range v.Closures {
		fields = append(fields, PersonField{"by", &v.Closures[i].SetBy})
	}
	return fields
}
