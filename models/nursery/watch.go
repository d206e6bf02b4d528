package nursery

import (
	"strings"

	"withybed/models"
	"withybed/models/documents"
	"withybed/models/rules"
)

// watch is how a stand stood before a write that changes what its rules read, so that
// people can be told at once what no longer holds by it.
type watch struct {
	exceeded string            // what rules.Exceeded said
	misfits  map[string]string // what rules.Misfits said
}

func (m *moment) watch(stand *models.StandRecord) watch {
	return watch{exceeded: rules.Exceeded(stand, m.today), misfits: rules.Misfits(stand, m.today)}
}

// warnings are what became of a stand: that it is over its limit, and the crew shares
// that no longer fit by the write.
func (w watch) warnings(now moment, stand *models.StandRecord) []string {
	warnings := rules.NewMisfits(stand, w.misfits, now.today)
	if exceeded := rules.Exceeded(stand, now.today); exceeded != "" {
		warnings = append(warnings, exceeded)
	}
	return warnings
}

// occasions are the letters that a write calls for which is known by the entry it made:
// that the stand went over its limit by it, and that crew shares no longer fit.
func (w watch) occasions(now moment, stand *models.StandRecord, entry string) []occasion {
	list := exceededOccasion(now, w.exceeded, stand, entry)
	if notice, some := misfitNotice(stand, w.misfits, now.today); some {
		list = append(list, misfitOccasion(now, []models.StandNotice{notice}, stand.ID, entry))
	}
	return list
}

// misfitOccasion tells of crew shares that no longer fit.
func misfitOccasion(now moment, notices []models.StandNotice, by ...string) occasion {
	return standOccasion(strings.Join(append([]string{"misfit"}, by...), " "), func() documents.Message {
		return documents.MisfitLetter(now.Name, notices)
	})
}

// misfitNotice is the word about the crew shares of a stand that no longer fit, where
// they did before.
func misfitNotice(stand *models.StandRecord, before map[string]string, today models.Date) (notice models.StandNotice, some bool) {
	texts := rules.NewMisfits(stand, before, today)
	if len(texts) == 0 {
		return models.StandNotice{}, false
	}
	return models.StandNotice{Stand: stand.Code, Name: stand.Name, Text: strings.Join(texts, "; and "), Crossed: true}, true
}
