package cli

import (
	"strings"

	"withybed/models"
	"withybed/models/rules"
)

// keyColumns are the columns of what groups are grouped by: one, so that there is
// room for the numbers.
func keyColumns(by []string) []column {
	switch len(by) {
	case 0:
		return nil
	case 1:
		return []column{textCol(strings.ToUpper(by[0]))}
	}
	return []column{textCol("GROUP")}
}

func keyCells(by []string, key models.RootingKey) []string {
	switch len(by) {
	case 0:
		return nil
	case 1:
		return []string{words(key[by[0]])} // the title says what it is a value of
	}
	return []string{keyWords(by, key)}
}

// keyWords names a group.
func keyWords(by []string, key models.RootingKey) string {
	if len(by) == 0 {
		return "all batches"
	}
	var parts []string
	for _, name := range by {
		parts = append(parts, keyPart(name, key[name]))
	}
	return strings.Join(parts, ", ")
}

// keyPart is a value of a group that can be understood without what it is a value
// of.
func keyPart(name, value string) string {
	switch {
	case value == rules.NotRecorded:
		return strings.Replace(name, "heated", "heat", 1) + " " + value
	case name == "treatment" && value == models.NoTreatment:
		return "no treatment"
	case name == "heated" && value == "yes":
		return "heated"
	case name == "heated":
		return "unheated"
	case name == "mist" && value == "yes":
		return "under mist"
	case name == "mist":
		return "without mist"
	}
	return words(value)
}

// eachGroup shows groups one below the other, and says how many batches nobody has
// looked at.
func (s *session) eachGroup(on models.Date, n int, counts func(int) *models.RootingCounts, show func(int)) {
	unseen, shown := 0, 0
	for i := range n {
		unseen += counts(i).WithoutChecks
		if counts(i).Batches == 0 {
			continue
		}
		if shown > 0 {
			s.say("")
		}
		shown++
		show(i)
	}
	if shown == 0 {
		s.tell("%s", noneSeen(on))
	}
	s.sayUnseen(unseen)
}
