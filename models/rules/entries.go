package rules

import (
	"math"
	"strings"

	"withybed/models"
)

// The makers of entries (Stick, MoveCuttings, SplitArms, Check, Pot, Decide,
// Review) look at a request, and at the record of its batch with the new entry
// in it, and answer with the entry, without identifiers, number and time of
// entry, or with every fault found. They change neither record nor request. Those
// that end in As make the entry of a slot: a corrected one keeps its own.

// slot is the place of an entry in a record: its number, and the identifier that
// decides between entries of one number.
type slot struct {
	number int
	id     string
}

// newSlot is the slot of an entry that a record does not have yet.
func newSlot(r *models.BatchRecord) slot { return slot{number: r.Version + 1} }

// fits says whether a record with the entry of a slot in it still replays to the end.
func fits(with *models.BatchRecord, s slot, field string, on models.Date) error {
	if with.Void {
		return models.InvalidField("batch-void", field, on, "cannot be: batch %s is void, and nothing more is entered about it", with.Code)
	}
	_, at, err := replayTo(with, endOfTime)
	if err == nil || at.number == s.number {
		return err
	}
	return models.InvalidField("later-entry", field, on,
		"is %s, and with it the %s of %s (entry %d) could not be: %s", on, at.what, at.on, at.number, whatIsWrong(err))
}

// told is what a record added up to on a day, for warnings; nil where, without an
// entry that is being corrected, it does not replay so far.
func told(r *models.BatchRecord, on models.Date) *Story {
	story, err := Replay(r, on)
	if err != nil {
		return nil
	}
	return story
}

// whatIsWrong is an error's fields as the end of a sentence.
func whatIsWrong(err error) string {
	var parts []string
	for _, f := range models.AsError(err).Fields {
		parts = append(parts, f.Name+" "+f.Detail)
	}
	return strings.Join(parts, "; ")
}

// trayOf is the tray of a request with its texts in order and the strength of
// its auxin in ppm. The names of its fields follow a prefix, such as "arms[0].".
func trayOf(f *models.Faults, prefix string, t models.Tray) models.Tray {
	for _, text := range []struct {
		name string
		text *string
	}{
		{"medium", &t.Medium}, {"container", &t.Container}, {"bench", &t.Bench}, {"stuck_by", &t.StuckBy},
	} {
		*text.text = models.Clean(*text.text)
		checkText(f, prefix+text.name, *text.text, models.MaxName)
	}
	if t.Treatment != nil {
		treatment := treatmentOf(f, prefix+"treatment.", *t.Treatment)
		t.Treatment = &treatment
	}
	if h := t.BottomHeat; h != nil && h.Celsius != 0 {
		checkMeasure(f, prefix+"bottom_heat", &h.Celsius, 5, 45)
	}
	return t
}

func treatmentOf(f *models.Faults, prefix string, t models.Treatment) models.Treatment {
	t.Name, t.Wound, t.Auxin = models.NamedTreatment(t.Name).Name, models.Clean(t.Wound), models.Clean(t.Auxin)
	checkText(f, prefix+"name", t.Name, models.MaxName)
	checkText(f, prefix+"wound", t.Wound, models.MaxName)
	checkText(f, prefix+"auxin", t.Auxin, models.MaxName)
	checkKnown(f, prefix+"auxin_form", t.AuxinForm, models.AuxinForms)
	checkMeasure(f, prefix+"soak_days", t.SoakDays, 0, longestSoak)
	checkMeasure(f, prefix+"auxin_ppm", t.AuxinPPM, 0, 10*models.PPMPerPercent)
	checkMeasure(f, prefix+"auxin_percent", t.AuxinPercent, 0, 10)
	checkMeasure(f, prefix+"willow_water_g_per_l", t.WillowWaterGPerL, 0, 2000)
	checkMeasure(f, prefix+"willow_water_hours", t.WillowWaterHours, 0, 720)
	t.AuxinPPM = ppmOf(f, prefix, t)
	t.AuxinPercent = nil
	return t
}

// ppmOf is the strength of the auxin in ppm, however it was given: 0.3 % is
// 3,000 ppm. Two strengths that differ are a fault.
func ppmOf(f *models.Faults, prefix string, t models.Treatment) *float64 {
	if t.AuxinPercent == nil {
		return t.AuxinPPM
	}
	const thousandths = 1000
	ppm := math.Round(*t.AuxinPercent*models.PPMPerPercent*thousandths) / thousandths
	if t.AuxinPPM != nil && math.Abs(*t.AuxinPPM-ppm) > 0.5 {
		f.Add("contradiction", prefix+"auxin_percent", *t.AuxinPercent,
			"is %g %%, which is %g ppm, but auxin_ppm is %g: give one of the two", *t.AuxinPercent, ppm, *t.AuxinPPM)
	}
	return &ppm
}
