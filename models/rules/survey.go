package rules

import (
	"errors"
	"fmt"
	"slices"

	"withybed/models"
	"withybed/models/stats"
)

// EnterSurvey makes the survey of a request: its estimate, standard error and
// one-sided lower bound in stems, rounded down to four places. Warnings say what
// to look at again. Identifier, stand and time of entry are left to the caller.
func EnterSurvey(req models.NewSurvey, confidence models.Decimal, today models.Date) (models.Survey, []string, error) {
	var f models.Faults
	checkPast(&f, "surveyed_on", req.SurveyedOn, today)
	checkText(&f, "surveyed_by", req.SurveyedBy, models.MaxName)
	checkText(&f, "stem_definition", req.StemDefinition, models.MaxNote)
	checkMethodFields(&f, &req)
	if err := f.Err(); err != nil {
		return models.Survey{}, nil, err
	}
	survey := models.Survey{
		SurveyedOn: req.SurveyedOn, Method: req.Method, CountedByTwo: req.CountedByTwo,
		StemDefinition: models.Clean(req.StemDefinition), SurveyedBy: models.Clean(req.SurveyedBy),
		Confidence: confidence,
	}
	if survey.StemDefinition == "" {
		survey.StemDefinition = models.DefaultStemDefinition
	}
	warnings, err := estimate(&survey, &req)
	return survey, warnings, err
}

// checkMethodFields wants the fields of the method, and no other's: a number that
// the estimate would pass over in silence is a slip.
func checkMethodFields(f *models.Faults, req *models.NewSurvey) {
	if !req.Method.Known() {
		f.Add("invalid", "method", req.Method, "is %q, and must be %s", req.Method, models.OneOf(models.Methods))
		return
	}
	for _, g := range methodFields(req) {
		belongs := slices.Contains(g.with, req.Method)
		if g.is && !belongs {
			f.Add("invalid", g.field, nil, "does not go with the method %s", req.Method)
		}
		if !g.is && belongs && g.field != "plants" {
			f.Add("invalid", g.field, nil, "is missing: the method %s needs it", req.Method)
		}
	}
	checkOptionalCount(f, "plants", req.Plants, 1)
	checkOptionalCount(f, "stems", req.Stems, 0)
	checkOptionalCount(f, "low", req.Low, 0)
	checkOptionalCount(f, "high", req.High, 0)
	if req.Plots != nil {
		checkKnown(f, "plots.placement", req.Plots.Placement, models.Placements)
		checkCounts(f, "plots.counts", req.Plots.Counts)
	}
	if req.Clumps != nil {
		checkClumps(f, req)
	}
}

// methodField is a field of a request, whether it is given, and the methods it
// goes with.
type methodField struct {
	field string
	is    bool
	with  []models.Method
}

func methodFields(req *models.NewSurvey) []methodField {
	return []methodField{
		{"plants", req.Plants != nil, []models.Method{models.Census}},
		{"stems", req.Stems != nil, []models.Method{models.Census}},
		{"plots", req.Plots != nil, []models.Method{models.PlotCount, models.ClumpsFromPlots}},
		{"clumps", req.Clumps != nil, []models.Method{models.ClumpCount, models.ClumpsFromPlots}},
		{"low", req.Low != nil, []models.Method{models.Ocular}},
		{"high", req.High != nil, []models.Method{models.Ocular}},
	}
}

func checkClumps(f *models.Faults, req *models.NewSurvey) {
	checkOptionalCount(f, "clumps.total", req.Clumps.Total, 0)
	checkCounts(f, "clumps.stems_on_sample", req.Clumps.StemsOnSample)
	switch given := req.Clumps.Total != nil; {
	case req.Method == models.ClumpCount && !given:
		f.Add("invalid", "clumps.total", nil, "is missing: how many clumps does the stand have")
	case req.Method == models.ClumpsFromPlots && given:
		f.Add("invalid", "clumps.total", nil, "does not go with clumps_from_plots, which estimates it")
	}
}

func checkCounts(f *models.Faults, field string, counts []int) {
	for i, n := range counts {
		checkCount(f, fmt.Sprintf("%s[%d]", field, i), n, 0)
	}
}

func estimate(s *models.Survey, req *models.NewSurvey) ([]string, error) {
	switch req.Method {
	case models.Census:
		return estimateCensus(s, req), nil
	case models.Ocular:
		return nil, estimateOcular(s, req)
	}
	return estimateSample(s, req)
}

func estimateCensus(s *models.Survey, req *models.NewSurvey) (warnings []string) {
	s.Plants, s.Stems = req.Plants, req.Stems
	exact := 0.0
	s.Estimate, s.StandardError, s.LowerBound = float64(*req.Stems), &exact, models.DecimalOf(*req.Stems)
	if req.Plants != nil && *req.Plants > *req.Stems {
		warnings = append(warnings, fmt.Sprintf("%s with only %s between them: were clumps counted as plants?",
			models.Counted(*req.Plants, "plant"), models.Counted(*req.Stems, "stem")))
	}
	return warnings
}

func estimateOcular(s *models.Survey, req *models.NewSurvey) error {
	if *req.Low > *req.High {
		return models.InvalidField("invalid", "low", *req.Low, "is %d, above the high end of %d", *req.Low, *req.High)
	}
	s.Low, s.High = req.Low, req.High
	s.Estimate = float64(*req.Low+*req.High) / 2
	s.LowerBound = models.DecimalOf(*req.Low)
	return nil
}

// estimateSample takes plots and clumps to the estimators of totals.
func estimateSample(s *models.Survey, req *models.NewSurvey) (warnings []string, err error) {
	if req.Plots != nil {
		plots := *req.Plots
		if plots.Placement == "" {
			plots.Placement = models.Random
			warnings = append(warnings, "the placement of the plots was not given and is taken as random: "+
				"if they were chosen by eye, enter the survey again with placement chosen")
		}
		s.Plots = &plots
	}
	s.Clumps = req.Clumps
	var total stats.Total
	switch req.Method {
	case models.PlotCount:
		total, err = stats.TotalFromPlots(statsPlots(s.Plots), s.Confidence.Float())
	case models.ClumpCount:
		s.Plants = s.Clumps.Total
		total, err = stats.TotalFromClumps(*s.Clumps.Total, s.Clumps.StemsOnSample, s.Confidence.Float())
	default:
		total, err = stats.TotalFromClumpsInPlots(statsPlots(s.Plots), s.Clumps.StemsOnSample, s.Confidence.Float())
	}
	if err != nil {
		return nil, sampleFault(err)
	}
	if total.Estimate > models.MaxCount {
		return nil, tooManyStems(s, total.Estimate)
	}
	s.Estimate, s.StandardError = total.Estimate, &total.StandardError
	s.LowerBound = models.FloorDecimal(total.LowerBound)
	return warnings, nil
}

// tooManyStems names the number that a sample was multiplied by.
func tooManyStems(s *models.Survey, estimate float64) error {
	if s.Plots == nil {
		return models.InvalidField("invalid", "clumps.total", *s.Clumps.Total,
			"gives %.0f stems, and at most %d can be: check the number of clumps and the stems on them", estimate, models.MaxCount)
	}
	return models.InvalidField("invalid", "plots.stand_area_m2", s.Plots.StandAreaM2,
		"gives %.0f stems, and at most %d can be: check the areas and counts", estimate, models.MaxCount)
}

func statsPlots(p *models.Plots) stats.Plots {
	return stats.Plots{PlotArea: p.PlotAreaM2, StandArea: p.StandAreaM2, Counts: p.Counts}
}

// sampleFault names the field that an estimator could not work with.
func sampleFault(err error) error {
	fields := []struct {
		is    error
		field string
		code  string
	}{
		{stats.ErrPlotArea, "plots.plot_area_m2", "invalid"},
		{stats.ErrStandArea, "plots.stand_area_m2", "invalid"},
		{stats.ErrPlotsBeyondStand, "plots.plot_area_m2", "plots-beyond-stand"},
		{stats.ErrPlotCount, "plots.counts", "invalid"},
		{stats.ErrTooFewPlots, "plots.counts", "too-few-plots"},
		{stats.ErrTooFewClumps, "clumps.stems_on_sample", "too-few-clumps"},
		{stats.ErrSampleBeyondClumps, "clumps.stems_on_sample", "sample-beyond-clumps"},
		{stats.ErrStemCount, "clumps.stems_on_sample", "invalid"},
		{stats.ErrTooLarge, "plots", "invalid"},
	}
	for _, known := range fields {
		if errors.Is(err, known.is) {
			return models.InvalidField(known.code, known.field, nil, "cannot be: %s", err)
		}
	}
	return err
}

// EnterDisturbance makes the disturbance of a request.
func EnterDisturbance(req models.NewDisturbance, today models.Date) (models.Disturbance, error) {
	var f models.Faults
	checkPast(&f, "on", req.On, today)
	checkText(&f, "by", req.By, models.MaxName)
	if !slices.Contains(models.Disturbances, req.Kind) {
		f.Add("invalid", "kind", req.Kind, "is %q, and must be %s", req.Kind, models.OneOf(models.Disturbances))
	}
	return models.Disturbance{HappenedOn: req.On, Kind: req.Kind, ReportedBy: models.Clean(req.By)}, f.Err()
}

// WithDisturbance puts a disturbance that was entered last among others, in order of
// day.
func WithDisturbance(events []models.Disturbance, entered models.Disturbance) []models.Disturbance {
	at := len(events)
	for at > 0 && events[at-1].HappenedOn.After(entered.HappenedOn) {
		at--
	}
	return slices.Insert(slices.Clone(events), at, entered)
}

// WithSurvey puts a survey that was entered last among others, in order of day.
func WithSurvey(surveys []models.Survey, entered models.Survey) []models.Survey {
	at := len(surveys)
	for at > 0 && surveys[at-1].SurveyedOn.After(entered.SurveyedOn) {
		at--
	}
	return slices.Insert(slices.Clone(surveys), at, entered)
}
