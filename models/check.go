package models

import (
	"encoding/json"
	"errors"
	"strings"
	"time"
)

// Cause is what cuttings were lost to.
type Cause string

// The causes of loss.
const (
	RottedBase      Cause = "rotted_base"
	BlackBase       Cause = "black_base" // suspected disease
	Mould           Cause = "mould"
	Dried           Cause = "dried"
	Heat            Cause = "heat"
	Frost           Cause = "frost"
	UpsideDown      Cause = "stuck_upside_down"
	LeafedCollapsed Cause = "leafed_out_and_collapsed"
	Eaten           Cause = "eaten"
	KnockedOut      Cause = "knocked_out"
	Broken          Cause = "broken_at_potting"
	DiedPotted      Cause = "died_after_potting"
	Culled          Cause = "culled_weak"
	Destroyed       Cause = "destroyed_sample"
	Stolen          Cause = "stolen"
	Discarded       Cause = "discarded"
	OtherCause      Cause = "other"
)

// Causes lists every cause of loss.
var Causes = []Cause{
	RottedBase, BlackBase, Mould, Dried, Heat, Frost, UpsideDown, LeafedCollapsed, Eaten,
	KnockedOut, Broken, DiedPotted, Culled, Destroyed, Stolen, Discarded, OtherCause,
}

// Known says that the word is a cause of loss.
func (c Cause) Known() bool { return oneOf(c, Causes) }

// Words is the cause as it stands in a sentence.
func (c Cause) Words() string { return strings.ReplaceAll(string(c), "_", " ") }

// ParseCause reads a cause with spaces or dashes in place of underscores.
func ParseCause(text string) (Cause, bool) {
	c := Cause(strings.NewReplacer(" ", "_", "-", "_").Replace(NameKey(text)))
	return c, c.Known()
}

// UnmarshalText reads a cause in either spelling, and keeps any other word as it
// is for the rules to refuse.
func (c *Cause) UnmarshalText(text []byte) error {
	known, ok := ParseCause(string(text))
	if *c = known; !ok {
		*c = Cause(text)
	}
	return nil
}

// Losses are counts of lost cuttings by cause.
type Losses map[Cause]int

// UnmarshalJSON reads losses by cause, adding up what is given of one cause in
// two spellings.
func (l *Losses) UnmarshalJSON(data []byte) error {
	var given map[string]int
	if err := json.Unmarshal(data, &given); err != nil || given == nil {
		return err
	}
	*l = Losses{}
	for word, n := range given {
		var cause Cause
		_ = cause.UnmarshalText([]byte(word)) // reads every word
		before := (*l)[cause]
		if (*l)[cause] = before + n; (n > 0) != ((*l)[cause] > before) && n != 0 {
			return errors.New("counts more than there are numbers for")
		}
	}
	return nil
}

// Sum is the losses of every cause together.
func (l Losses) Sum() int {
	sum := 0
	for _, n := range l {
		sum += n
	}
	return sum
}

// LookMethod is how roots were looked for.
type LookMethod string

// The ways of looking for roots.
const (
	Look     LookMethod = "look"
	Tug      LookMethod = "tug"
	Lift     LookMethod = "lift"
	ClearJar LookMethod = "clear_jar"
)

// LookMethods lists every way.
var LookMethods = []LookMethod{Look, Tug, Lift, ClearJar}

// Known says that the word is one of the ways.
func (m LookMethod) Known() bool { return oneOf(m, LookMethods) }

// Check is one look at a tray: what stands in it now, and what was lost since
// the look before. Rooted nil means that roots were not examined. Examined, when
// given, is how many were looked at: such a check moves no count.
type Check struct {
	ID           string
	BatchID      string
	CheckedOn    Date
	Rooted       *int
	PottingRoots *int // of the rooted, three or more roots of 2.5 cm
	Overlong     *int // of the potting roots, too long
	Unrooted     *int
	Lost         Losses `gorm:"serializer:json"`
	LostRooted   Losses `gorm:"serializer:json"`
	Withdrawn    int
	CheckedBy    string
	Method       LookMethod
	Examined     *int
	Note         string
	Entry        int
	EnteredAt    time.Time
}

// NewCheck is the request that enters a check.
type NewCheck struct {
	CheckedOn    Date       `json:"checked_on" doc:"Day of the look" example:"2026-02-07"`
	Rooted       *int       `json:"rooted,omitempty" minimum:"0" maximum:"10000000" doc:"Rooted cuttings in the tray now; leave out if roots were not examined" example:"31"`
	PottingRoots *int       `json:"potting_roots,omitempty" minimum:"0" maximum:"10000000" doc:"Of the rooted ones, those with three or more roots of 2.5 cm or longer" example:"18"`
	Overlong     *int       `json:"overlong,omitempty" minimum:"0" maximum:"10000000" doc:"Of those with potting roots, those whose roots are too long already" example:"0"`
	Unrooted     *int       `json:"unrooted,omitempty" minimum:"0" maximum:"10000000" doc:"Live unrooted cuttings in the tray now; worked out if left out, and must balance if given" example:"38"`
	Lost         Losses     `json:"lost,omitempty" doc:"Lost since the last check, by cause. Where lost_rooted is left out, a shortfall of rooted ones is taken out of these" example:"{\"rotted_base\":3}"`
	LostRooted   *Losses    `json:"lost_rooted,omitempty" doc:"Of the rooted ones, lost since the last check, by cause" example:"{\"eaten\":1}"`
	Withdrawn    int        `json:"withdrawn,omitempty" minimum:"0" maximum:"10000000" doc:"Taken out unrooted since the last check, to look at or to give away: no loss" example:"0"`
	CheckedBy    string     `json:"checked_by,omitempty" maxLength:"80" doc:"Who looked" example:"RQ"`
	Method       LookMethod `json:"method,omitempty" enum:"look,tug,lift,clear_jar" doc:"How roots were looked for" example:"tug"`
	Examined     *int       `json:"examined,omitempty" minimum:"1" maximum:"10000000" doc:"How many were looked at, when only some were: the counts are then of those and move nothing" example:"10"`
	Note         string     `json:"note,omitempty" maxLength:"2000" doc:"Anything else" example:"first leaves open"`
}
