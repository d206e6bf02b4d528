package models

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"
)

// Sex is the sex of a donor plant. A cutting keeps it.
type Sex string

// The sexes; not determined is a word of its own.
const (
	Female        Sex = "female"
	Male          Sex = "male"
	NotDetermined Sex = "not_determined"
)

// Sexes lists every word.
var Sexes = []Sex{Female, Male, NotDetermined}

// Known says that the word is one of them.
func (s Sex) Known() bool { return oneOf(s, Sexes) }

// Parent is what a batch took of one tagged plant or clump.
type Parent struct {
	Tag      string `json:"tag" minLength:"1" maxLength:"40" doc:"The plant's tag, one within its stand whatever the case" example:"D-07"`
	Stems    int    `json:"stems" minimum:"1" maximum:"10000000" doc:"Stems cut from it" example:"2"`
	Cuttings int    `json:"cuttings,omitempty" minimum:"0" maximum:"10000000" doc:"Cuttings made from these" example:"6"`
	Sex      Sex    `json:"sex,omitempty" enum:"female,male,not_determined" doc:"Sex of the plant; not determined by default" example:"female"`
}

// ParentTally is a Parent as it is kept. One that was replaced by a correction says
// when.
type ParentTally struct {
	ID      string
	BatchID string
	StandID string
	TakenOn Date
	TagKey  string
	Parent
	ReplacedAt *time.Time
	EnteredAt  time.Time
}

// ParentDay is the stems taken from one tagged plant of a stand on a day.
type ParentDay struct {
	TakenOn Date
	TagKey  string
	Tag     string
	Stems   int
	Batches int // that it was cut for
}

// ParseParent reads what was cut from a plant as TAG=STEMS[/CUTTINGS][:SEX], such as
// D-07=2/6:female. A tag may hold any sign.
func ParseParent(text string) (Parent, error) {
	tag, given, found := cutLast(text, "=")
	counts, sex, sexed := strings.Cut(given, ":")
	stems, cuttings, pieces := strings.Cut(counts, "/")
	p := Parent{Tag: Clean(tag), Sex: Sex(strings.ReplaceAll(NameKey(sex), "-", "_"))}
	var err error
	switch {
	case !found || p.Tag == "":
		return p, errors.New("lacks a tag or its stems: write both, as in D-07=2 or D-07=2/6:female")
	case sexed && !p.Sex.Known():
		return p, fmt.Errorf("has the sex %q, and it must be %s", Clean(sex), OneOf(Sexes))
	}
	if p.Stems, err = strconv.Atoi(Clean(stems)); err != nil {
		return p, fmt.Errorf("has %q stems, and must have a whole number of them, as in D-07=2", Clean(stems))
	}
	if pieces {
		if p.Cuttings, err = strconv.Atoi(Clean(cuttings)); err != nil {
			return p, fmt.Errorf("has %q cuttings, and must have a whole number of them, as in D-07=2/6", Clean(cuttings))
		}
	}
	return p, nil
}

// cutLast cuts a text around the last place of a sign.
func cutLast(text, sign string) (before, after string, found bool) {
	if i := strings.LastIndex(text, sign); i >= 0 {
		return text[:i], text[i+len(sign):], true
	}
	return text, "", false
}

// ParseParents reads several, with semicolons between them.
func ParseParents(text string) ([]Parent, error) {
	parents := []Parent{}
	for part := range strings.SplitSeq(text, ";") {
		if Clean(part) == "" {
			continue
		}
		p, err := ParseParent(part)
		if err != nil {
			return nil, fmt.Errorf("names %q, which %w", Clean(part), err)
		}
		parents = append(parents, p)
	}
	return parents, nil
}

// PlantTaken is what was cut of one tagged plant of a stand over some days.
type PlantTaken struct {
	Tag      string  `json:"tag" doc:"The plant's tag" example:"D-07"`
	Stems    int     `json:"stems" doc:"Stems cut from it" example:"3"`
	Cuttings int     `json:"cuttings" doc:"Cuttings told to be made from these" example:"9"`
	Batches  int     `json:"batches" doc:"Batches it was cut for" example:"2"`
	LastOn   Date    `json:"last_on" doc:"Day it was cut last"`
	Sex      Sex     `json:"sex" doc:"Its sex, as far as it was ever told"`
	Share    float64 `json:"share" doc:"Its stems as a share of all that batches took of the stand in these days" example:"0.125"`
}

// StandParents is what batches took of the tagged plants of a stand over some days.
type StandParents struct {
	Stand            string       `json:"stand" doc:"Code of the stand" example:"RS-1"`
	From             Date         `json:"from" doc:"First day looked at"`
	To               Date         `json:"to" doc:"Last day looked at"`
	Stems            int          `json:"stems" doc:"Stems that batches took of the stand in these days"`
	Untagged         int          `json:"untagged" doc:"Stems of these whose plant is not known by a tag"`
	Plants           []PlantTaken `json:"plants" doc:"The plants known by their tags, the most cut from first"`
	EffectiveParents *float64     `json:"effective_parents" doc:"How many plants of equal share would vary as little as these: (Σc)² ÷ Σc² over their cuttings, or stems where cuttings are not told; null without plants" example:"9.3"`
	Warnings         []string     `json:"warnings" doc:"What to look at again"`
}
