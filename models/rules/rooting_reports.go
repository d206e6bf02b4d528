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
	return eachPool(batches, by, func(p Pool) (models.RateGroup, error) { return RateOf(ctx, p, draw) })
}

// CurveReport is the curve of each group of batches. It fails as RateReport does.
func CurveReport(ctx context.Context, batches []Watched, by []string, draw stats.Drawing) (models.CurveReport, error) {
	return eachPool(batches, by, func(p Pool) (models.RootingCurve, error) { return CurveOf(ctx, p, draw) })
}

// DaysReport is the days to root of each group of batches. It fails as RateReport
// does.
func DaysReport(ctx context.Context, batches []Watched, by []string, draw stats.Drawing) (models.DaysReport, error) {
	return eachPool(batches, by, func(p Pool) (models.DaysGroup, error) { return DaysOf(ctx, p, draw) })
}

// FitReport is the fits of all batches pooled, and of each group where they are
// grouped. It fails as RateReport does.
func FitReport(ctx context.Context, batches []Watched, by []string) (models.FitReport, error) {
	groups, err := eachPool(batches, by, func(p Pool) (models.FitGroup, error) { return fitGroup(ctx, p) })
	switch {
	case err != nil:
		return models.FitReport{}, err
	case len(groups.By) == 0:
		return models.FitReport{By: groups.By, FitGroup: groups.Groups[0]}, nil
	}
	all := Pool{Key: models.RootingKey{}, Batches: batches}
	pooled, err := fitGroup(ctx, all)
	return models.FitReport{By: groups.By, Groups: groups.Groups, FitGroup: pooled}, err
}

// fitGroup is the fits of a pool, and over what it goes.
func fitGroup(ctx context.Context, p Pool) (models.FitGroup, error) {
	g, err := FitOf(ctx, p)
	if err != nil {
		return g, err
	}
	g.Notes = append(g.Notes, judgePool(&p, stats.Drawing{}).poolingNotes(ctx)...)
	return g, ctx.Err()
}

// eachPool works on every group of batches in turn.
func eachPool[G any](batches []Watched, by []string, work func(Pool) (G, error)) (report models.GroupReport[G], err error) {
	if report.By, err = groupingNames(by); err != nil {
		return report, err
	}
	pools, err := Pools(batches, report.By)
	if err != nil {
		return report, err
	}
	report.Groups = []G{}
	for p := range pools {
		group, err := work(p)
		if err != nil {
			return models.GroupReport[G]{}, err
		}
		report.Groups = append(report.Groups, group)
	}
	return report, nil
}
