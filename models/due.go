package models

import (
	"encoding/json"
	"time"
)

// Flag is what a batch asks for.
type Flag string

// The flags.
const (
	FlagStick  Flag = "stick"
	FlagSoak   Flag = "soak"
	FlagStore  Flag = "store"
	FlagCheck  Flag = "check"
	FlagPotUp  Flag = "pot_up"
	FlagDecide Flag = "decide"
)

// Flags list every flag; what is lost soonest comes first.
var Flags = []Flag{FlagSoak, FlagStore, FlagStick, FlagPotUp, FlagDecide, FlagCheck}

// Words is the flag as it stands in a sentence.
func (f Flag) Words() string {
	if f == FlagPotUp {
		return "pot up"
	}
	return string(f)
}

// DueItem is one thing a batch asks for, with its reason.
type DueItem struct {
	Batch  string `json:"batch" doc:"Code of the batch"`
	Taxon  string `json:"taxon" doc:"Scientific name"`
	Flag   Flag   `json:"flag" enum:"stick,soak,store,check,pot_up,decide" doc:"What it asks for"`
	Reason string `json:"reason" doc:"Why, with the numbers"`
	Bench  string `json:"bench" doc:"Bench it stands on; empty before sticking"`
	Count  int    `json:"count" doc:"Cuttings concerned"`
	Urgent bool   `json:"urgent" doc:"Should not wait for another day"`
	Since  Date   `json:"since" doc:"First day it was due"`
}

// DueList answers what is due on a day.
type DueList struct {
	On    Date      `json:"on" doc:"The day asked about"`
	Items []DueItem `json:"items" doc:"What is due, the most urgent first, by bench"`
}

// FlagSpan is a line of the history of flags: from when to when a flag stood.
type FlagSpan struct {
	ID        string `json:"-"`
	BatchID   string `json:"-"`
	Flag      Flag   `json:"flag" doc:"What the batch asked for"`
	RaisedOn  Date   `json:"raised_on" doc:"Day it was first written"`
	ClearedOn Date   `json:"cleared_on,omitzero" doc:"Day it was found gone"`
	Reason    string `json:"reason" doc:"Why it was raised"`
}

// StandNotice is a word about a stand in a reminder.
type StandNotice struct {
	Stand   string `json:"stand" doc:"Code of the stand"`
	Name    string `json:"name" doc:"Name of the stand"`
	Text    string `json:"text" doc:"What to know, with the numbers"`
	Crossed bool   `json:"crossed" doc:"It came about since the reminder before"`
}

// PermitNotice is a word about a permit in a reminder.
type PermitNotice struct {
	Permit  string `json:"permit" doc:"Number of the permit"`
	EndsOn  Date   `json:"ends_on" doc:"Last day it holds"`
	Text    string `json:"text" doc:"What to know, with the numbers"`
	Crossed bool   `json:"crossed" doc:"It came about since the reminder before"`
}

// ReviewNotice is a batch to review in a reminder.
type ReviewNotice struct {
	Batch string `json:"batch" doc:"Code of the batch"`
	Text  string `json:"text" doc:"What it was recorded against, and why"`
}

// Reminder is what the nursery is told once a week. Its week runs from one
// reminder hour to the next.
type Reminder struct {
	ID         string    `json:"id" doc:"Identifier of the reminder"`
	Week       Date      `json:"week" doc:"Day on which its week begins, at the reminder hour"`
	On         Date      `json:"on" gorm:"column:speaks_of" doc:"The day it speaks of"`
	MadeAt     time.Time `json:"made_at" doc:"When it was made, UTC"`
	CoversFrom Date      `json:"covers_from" doc:"First week it stands for; earlier than week where weeks were missed"`
	Scheduled  bool      `json:"scheduled" doc:"Made by the schedule, not asked for"`
	Body       Notices   `json:"body" gorm:"serializer:json" doc:"What it says"`
	Text       string    `json:"text" doc:"The same in words, to print or send"`
}

// Notices is what a reminder says.
type Notices struct {
	Review   []ReviewNotice `json:"review" doc:"Batches to review"`
	PotUp    []DueItem      `json:"pot_up" doc:"Batches to pot up, by bench"`
	Due      []DueItem      `json:"due" doc:"What else is due"`
	Coming   []DueItem      `json:"coming" doc:"What falls due before the next reminder"`
	Stands   []StandNotice  `json:"stands" doc:"Stands at 80 and 100 percent of a limit"`
	Expiring []StandNotice  `json:"expiring" doc:"Surveys that are about to expire, or have"`
	Permits  []PermitNotice `json:"permits" doc:"Permits that are about to end, or have since the reminder before"`
	Shares   []StandNotice  `json:"shares" doc:"Crew shares that are past their last day, with something left that was not returned"`
}

// UnmarshalJSON reads notices. Those of before permits and crew shares were kept speak of
// none.
func (n *Notices) UnmarshalJSON(data []byte) error {
	type plain Notices
	read := plain{Permits: []PermitNotice{}, Shares: []StandNotice{}}
	err := json.Unmarshal(data, &read)
	*n = Notices(read)
	return err
}

// Empty says that there is nothing to say.
func (n *Notices) Empty() bool {
	return len(n.Review)+len(n.PotUp)+len(n.Due)+len(n.Coming)+len(n.Stands)+len(n.Expiring)+len(n.Permits)+len(n.Shares) == 0
}

// NewReminder is the request that makes or finds the reminder of a week.
type NewReminder struct {
	On Date `json:"on,omitzero" doc:"A day of the week wanted, taken at its reminder hour; this instant by default" example:"2026-01-19"`
}

// ReminderView answers who asked for a reminder: Made is false where it was
// made before and only found.
type ReminderView struct {
	Reminder
	Made bool `json:"made" doc:"True if this request made it, false if it was there"`
}
