package models

// Course is what was taken of a stand in its window, against its limit, over days.
type Course struct {
	Stand   string         `json:"stand" doc:"Code of the stand" example:"MB-03"`
	From    Date           `json:"from" doc:"First day"`
	To      Date           `json:"to" doc:"Last day; days to come are told as if nothing more were entered"`
	Today   Date           `json:"today" doc:"The day it was asked on"`
	Points  []CoursePoint  `json:"points" doc:"The first day, and every day on which one of both changes; until the next they stay as they are"`
	Surveys []CourseSurvey `json:"surveys" doc:"The counts of these days"`
	Shut    []CourseSpan   `json:"shut" doc:"When the stand is not open"`
}

// CoursePoint is what a window holds that ends on a day.
type CoursePoint struct {
	On    Date `json:"on" doc:"The day"`
	Taken int  `json:"taken" doc:"Stems of the window that ends on it, with those set aside for crews"`
	Limit int  `json:"limit" doc:"Stems the stand cap allows in it"`
}

// CourseSurvey is a count.
type CourseSurvey struct {
	On         Date    `json:"on" doc:"Day of the count"`
	Method     Method  `json:"method" doc:"How it was counted"`
	LowerBound Decimal `json:"lower_bound" doc:"Its lower bound in stems"`
}

// CourseSpan are days on which a stand is closed, to be looked over for nests, or at
// rest.
type CourseSpan struct {
	From  Date       `json:"from" doc:"First day"`
	To    Date       `json:"to" doc:"Last day"`
	State StandState `json:"state" doc:"closed, nest_check or rest"`
}
