package documents_test

import (
	"bytes"
	"image/png"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/documents"
)

// course is one with everything that is drawn.
func course() models.Course {
	return models.Course{
		Stand: "MB-03 <Ö>", From: day("2025-07-01"), To: day("2027-06-30"), Today: day("2026-01-17"),
		Points: []models.CoursePoint{
			{On: day("2025-07-01"), Taken: 4, Limit: 0}, {On: day("2025-09-12"), Taken: 4, Limit: 33}, {On: day("2025-11-15"), Taken: 24, Limit: 33},
			{On: day("2026-01-16"), Taken: 36, Limit: 33}, {On: day("2026-10-31"), Taken: 16, Limit: 33}, {On: day("2027-01-01"), Taken: 0, Limit: 33},
		},
		Surveys: []models.CourseSurvey{{On: day("2025-09-12"), Method: models.PlotCount, LowerBound: models.MustDecimal("663.2")}},
		Shut: []models.CourseSpan{
			{From: day("2026-02-01"), To: day("2026-04-14"), State: models.StandNestCheck},
			{From: day("2026-04-15"), To: day("2026-07-31"), State: models.StandClosed},
			{From: day("2027-02-01"), To: day("2027-06-30"), State: models.StandAtRest},
		},
	}
}

func TestCoursePicture(t *testing.T) {
	svg, err := documents.CoursePicture(course(), documents.SVG)
	if err != nil {
		t.Fatal(err)
	}
	text := textOf(t, svg)
	for _, want := range []string{
		"Stems taken in the window of MB-03 <Ö>, and its limit", "last day of the window", "stems taken, with those set aside", "limit", "over the limit", "3 over", "4 over",
		"closed", "closed until nests were looked for", "at rest", "counted", "today, 2026-01-17", "2025-07-01",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("nothing says %q", want)
		}
	}
	again, err := documents.CoursePicture(course(), documents.SVG)
	if err != nil || !bytes.Equal(svg, again) {
		t.Errorf("the same course gives another picture: %v", err)
	}
	wantGolden(t, "course.svg", string(svg))
	pixels, err := documents.CoursePicture(course(), documents.PNG)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := png.Decode(bytes.NewReader(pixels)); err != nil {
		t.Error(err)
	}
	if _, err := documents.CoursePicture(course(), "gif"); err == nil {
		t.Error("a gif was drawn")
	}
}

// Only what there is is explained, and the least there can be is drawn too.
func TestThePictureOfABareCourse(t *testing.T) {
	bare := models.Course{Stand: "MB-03", From: day("2026-01-17"), To: day("2026-01-17"), Today: day("2026-01-18"), Points: []models.CoursePoint{{On: day("2026-01-17")}}}
	svg, err := documents.CoursePicture(bare, documents.SVG)
	if err != nil {
		t.Fatal(err)
	}
	text := textOf(t, svg)
	for _, never := range []string{"over the limit", "closed", "at rest", "counted", "today", "NaN"} {
		if strings.Contains(text, never) || strings.Contains(string(svg), "NaN") {
			t.Errorf("it says %q", never)
		}
	}
}
