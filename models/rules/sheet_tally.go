package rules

import (
	"fmt"

	"withybed/models"
)

const (
	leastTags      = 4
	mostTallyBoxes = 200 // on a page, large enough for a cold hand
)

// stemsPerBox is how many stems a tally box stands for on a sheet of so many: 1
// up to 200, a handful of 5 up to 1,000 and a bundle beyond.
func stemsPerBox(stems int) int {
	for _, per := range []int{1, 5} {
		if stems <= per*mostTallyBoxes {
			return per
		}
	}
	return models.BundleStems
}

// bundleTags are numbers for the tags of a crew's bundles on a day: the crew, the
// month and day, and a count from 1, as in C-0117-1. There is one for every 25
// stems and at least 4, since bundles are often smaller. A record number is
// unique to a stand and day without regard to case; the crew stands in it as it is
// called, so that no two crews share one: read from its end, the number gives the
// count, the day and the crew.
func bundleTags(crew string, on models.Date, stems int) []string {
	month, day := on.MonthDay()
	tags := make([]string, max(leastTags, (stems+models.BundleStems-1)/models.BundleStems))
	for i := range tags {
		tags[i] = fmt.Sprintf("%s-%02d%02d-%d", crew, month, day, i+1)
	}
	return tags
}

// cautionsFor is what a crew is told before it goes, the gravest first. It is the
// usual care of the trade, and gives way to what is in force on the spot.
func cautionsFor(sheet *models.Sheet) []string {
	manager := "the land manager"
	if sheet.LandManager != "" {
		manager += " (" + sheet.LandManager + ")"
	}
	cautions := []string{
		"Local law, " + manager + " and the permit decide, not this page. Ask first.",
		"This may be a gathering place of the peoples of the land: ask them, keep out where they say so, and put no place on a shared map.",
		"Never alone. Tell someone where you are and when you are back.",
		"In water never above the knee, and never in swift water. Cold tires hands and judgement: warm up, and go home early.",
		"Look out for traffic where you park and cross.",
		"Sharp tools: cut away from yourself, keep your distance, close and sheathe them to walk.",
		"Know the plants here that burn or itch, poison oak, poison ivy and giant hogweed among them, and keep off. Look for ticks when you are back.",
	}
	if sheet.StopAt == 0 {
		return cautions
	}
	return append(cautions,
		"A nest, or a bird that scolds and stays: stop, step back, tell the lead.",
		"Not sure of the plant? Cut nothing of it: take a photograph or one twig for the lead.",
		"Clean tools and boots between stands, before you come and when you leave: sickness travels on both. Leave sick plants alone, and say where they stand.",
		"Bundles of at most "+fmt.Sprint(models.BundleStems)+", butts one way, tagged before they leave the plant. Keep them shaded, moist and cool.",
	)
}
