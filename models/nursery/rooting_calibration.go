package nursery

import (
	"context"

	"withybed/models"
	"withybed/models/rules"
)

// CalibrationQuery picks the batches whose forecasts are replayed, and how many.
type CalibrationQuery struct {
	RootingPick
	Origins int                // looks from which forecasts are made, the newest; 0 is all
	Told    func(done, of int) // is told how far it is; nil tells nobody
}

// RootingCalibration answers how good forecasts were: each look is forecast from
// anew, with what had been entered by the end of its day and nothing else, and held
// against the looks that came later. It takes long where much is replayed, and holds
// nobody up.
func (n *Nursery) RootingCalibration(ctx context.Context, q CalibrationQuery) (models.Calibration, error) {
	p, err := n.past(ctx, q.RootingPick, nil)
	if err != nil {
		return models.Calibration{}, err
	}
	thresholds := &p.settings.Thresholds
	today, err := watchAll(ctx, p.records, p.on, thresholds)
	if err != nil {
		return models.Calibration{}, err
	}
	report, err := rules.Calibrate(ctx, today, rules.RecordPast(p.records, thresholds, p.place),
		rules.CalibrationAsk{Origins: q.Origins, Shown: p.shown(today), Told: q.Told})
	report.On = p.on
	return report, err
}
