package rules_test

import (
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
)

func TestCourse(t *testing.T) {
	stand := standOf(counted("2026-01-01", "800"), counted("2026-10-01", "400"), taken("2026-01-10", 12), taken("2026-02-01", 28), taken("2026-10-05", 3),
		shut(models.Closure{From: "04-15", To: "07-31", EveryYear: true, Kind: models.Closed}, models.Closure{From: "2026-08-01", To: "2026-08-09", Kind: models.NestCheck}),
		func(r *models.StandRecord) {
			r.Rests = append(r.Rests, models.Rest{StartsOn: date("2026-11-01"), Why: "worn"})
		})
	got := rules.Course(stand, date("2026-01-05"), date("2027-01-31"), date("2026-12-01"))
	want := models.Course{
		Stand: "TB-01", From: date("2026-01-05"), To: date("2027-01-31"), Today: date("2026-12-01"),
		Points: []models.CoursePoint{
			{On: date("2026-01-05"), Taken: 0, Limit: 40}, {On: date("2026-01-10"), Taken: 12, Limit: 40}, {On: date("2026-02-01"), Taken: 40, Limit: 40},
			{On: date("2026-10-01"), Taken: 40, Limit: 20}, {On: date("2026-10-05"), Taken: 43, Limit: 20},
			{On: date("2026-12-26"), Taken: 31, Limit: 20}, {On: date("2027-01-17"), Taken: 3, Limit: 20},
		},
		Surveys: []models.CourseSurvey{{On: date("2026-10-01"), Method: models.Census, LowerBound: models.MustDecimal("400")}},
		Shut: []models.CourseSpan{
			{From: date("2026-04-15"), To: date("2026-07-31"), State: models.StandClosed},
			{From: date("2026-08-01"), To: date("2026-08-09"), State: models.StandNestCheck},
			{From: date("2026-11-01"), To: date("2027-01-31"), State: models.StandAtRest},
		},
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("the course is\n%+v\nand not\n%+v", got, want)
	}
	bare := rules.Course(standOf(), date("2026-01-05"), date("2026-01-05"), date("2026-01-05"))
	if len(bare.Points) != 1 || bare.Points[0] != (models.CoursePoint{On: date("2026-01-05")}) || len(bare.Shut) != 0 {
		t.Errorf("of nothing: %+v", bare)
	}
}

// Read from the days of change, every day is what the answer about that day says.
func TestTheCourseIsWhatEveryDaySays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawStand(t).record()
		drawKept(t, r)
		from := base.Add(rapid.IntRange(-30, span).Draw(t, "from"))
		to := from.Add(rapid.IntRange(0, 120).Draw(t, "for"))
		course := rules.Course(r, from, to, from)
		next, at := 0, models.CoursePoint{}
		for day := from; !day.After(to); day = day.Add(1) {
			if next < len(course.Points) && course.Points[next].On == day {
				at = course.Points[next]
				next++
			}
			row := rules.BoardRow(r, day)
			a := rules.Allowance(r, rules.Cut{On: day, Stems: 1})
			if at.Taken != a.Taken || at.Limit != a.Limit {
				t.Fatalf("on %s %d of %d, and the day itself says %d of %d", day, at.Taken, at.Limit, a.Taken, a.Limit)
			}
			if said, is := spanOn(course.Shut, day), row.State; said != "" && said != is || said == "" && (is == models.StandClosed || is == models.StandNestCheck || is == models.StandAtRest) {
				t.Fatalf("on %s it is %q, and the day itself says %q", day, said, is)
			}
		}
		if next != len(course.Points) {
			t.Errorf("%d points, and %d of them within the days", len(course.Points), next)
		}
	})
}

func spanOn(spans []models.CourseSpan, day models.Date) models.StandState {
	for _, s := range spans {
		if !day.Before(s.From) && !day.After(s.To) {
			return s.State
		}
	}
	return ""
}
