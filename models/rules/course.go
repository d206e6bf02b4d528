package rules

import "withybed/models"

// Course is what was taken of a stand in its window, against its limit, from one day to
// another, both included. It looks at the days on which something changes, and says
// nothing of those between, on which all stays as it is. The ledger of the stand has to
// reach one window before the first day.
func Course(stand *models.StandRecord, from, to, today models.Date) models.Course {
	h := newHistory(stand)
	course := models.Course{
		Stand: stand.Code, From: from, To: to, Today: today,
		Points: []models.CoursePoint{}, Surveys: []models.CourseSurvey{}, Shut: []models.CourseSpan{},
	}
	for _, day := range append([]models.Date{from}, h.changeDays(from, to)...) {
		point := models.CoursePoint{On: day, Taken: h.taken(day), Limit: h.limit(day)}
		if n := len(course.Points); n == 0 || course.Points[n-1].Taken != point.Taken || course.Points[n-1].Limit != point.Limit {
			course.Points = append(course.Points, point)
		}
		h.shut(&course, day)
	}
	for i := range h.Surveys {
		if s := &h.Surveys[i]; !s.SurveyedOn.Before(from) && !s.SurveyedOn.After(to) {
			course.Surveys = append(course.Surveys, models.CourseSurvey{On: s.SurveyedOn, Method: s.Method, LowerBound: s.LowerBound})
		}
	}
	return course
}

// shut goes on with the days on which a stand is not open: what holds on a day of change
// holds to the end, until another such day says otherwise.
func (h *history) shut(course *models.Course, day models.Date) {
	state, _ := h.stateOn(day)
	shut := state == models.StandClosed || state == models.StandNestCheck || state == models.StandAtRest
	if n := len(course.Shut); n > 0 && course.Shut[n-1].To == course.To {
		last := &course.Shut[n-1]
		if last.State == state {
			return
		}
		last.To = day.Add(-1)
	}
	if shut {
		course.Shut = append(course.Shut, models.CourseSpan{From: day, To: course.To, State: state})
	}
}
