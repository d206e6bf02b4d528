package rules

import (
	"context"
	"slices"

	"withybed/models"
	"withybed/models/stats"
)

// Having are the batches that have some values, compared without case and extra
// spaces; NotRecorded picks those without one. The names are those of Groupings.
func Having(batches []Watched, values map[string]string) []Watched {
	return slices.DeleteFunc(slices.Clone(batches), func(w Watched) bool {
		for name, value := range values {
			has := w.Keys[name]
			if has == "" {
				has = NotRecorded
			}
			if models.NameKey(has) != models.NameKey(value) {
				return true
			}
		}
		return false
	})
}

// RateReport is the rate of each group of batches. It fails with a models.Error,
// kind Invalid, code unknown-grouping, and where ctx ends.
func RateReport(ctx context.Context, batches []Watched, by []string, draw stats.Drawing) (models.RateReport, error) {
	names, groups, err := eachPool(batches, by, func(p Pool) (models.RateGroup, error) { return RateOf(ctx, p, draw) })
	return models.RateReport{By: names, Groups: groups}, err
}

// CurveReport is the curve of each group of batches. It fails as RateReport does.
func CurveReport(ctx context.Context, batches []Watched, by []string, draw stats.Drawing) (models.CurveReport, error) {
	names, groups, err := eachPool(batches, by, func(p Pool) (models.RootingCurve, error) { return CurveOf(ctx, p, draw) })
	return models.CurveReport{By: names, Groups: groups}, err
}

// DaysReport is the days to root of each group of batches. It fails as RateReport
// does.
func DaysReport(ctx context.Context, batches []Watched, by []string, draw stats.Drawing) (models.DaysReport, error) {
	names, groups, err := eachPool(batches, by, func(p Pool) (models.DaysGroup, error) { return DaysOf(ctx, p, draw) })
	return models.DaysReport{By: names, Groups: groups}, err
}

// FitReport is the fits of all batches pooled, and of each group where they are
// grouped. It fails as RateReport does.
func FitReport(ctx context.Context, batches []Watched, by []string) (models.FitReport, error) {
	names, groups, err := eachPool(batches, by, func(p Pool) (models.FitGroup, error) { return fitGroup(p), ctx.Err() })
	if err != nil || len(names) == 0 {
		return models.FitReport{By: []string{}, FitGroup: firstOf(groups)}, err
	}
	all := Pool{Key: models.RootingKey{}, Batches: batches}
	return models.FitReport{By: names, Groups: groups, FitGroup: fitGroup(all)}, ctx.Err()
}

func firstOf(groups []models.FitGroup) (first models.FitGroup) {
	if len(groups) > 0 {
		first = groups[0]
	}
	return first
}

// fitGroup is the fits of a pool, and over what it goes.
func fitGroup(p Pool) models.FitGroup {
	g := FitOf(p)
	g.Notes = append(g.Notes, judgePool(&p, stats.Drawing{}).poolingNotes()...)
	return g
}

// eachPool works on every group of batches in turn.
func eachPool[T any](batches []Watched, by []string, work func(Pool) (T, error)) (names []string, groups []T, err error) {
	if names, err = groupingNames(by); err != nil {
		return nil, nil, err
	}
	pools, err := Pools(batches, names)
	if err != nil {
		return nil, nil, err
	}
	groups = make([]T, len(pools))
	for i, p := range pools {
		if groups[i], err = work(p); err != nil {
			return nil, nil, err
		}
	}
	return names, groups, nil
}
