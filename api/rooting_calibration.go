package api

import (
	"context"
	"strconv"

	"withybed/models"
	"withybed/models/documents"
	"withybed/models/nursery"
)

type calibrationInput struct {
	WatchedBatches
	Origins int `query:"origins" minimum:"1" maximum:"10000" default:"100" doc:"How many looks to make forecasts from, the newest; more take longer" example:"100"`

	Accepting
}

func (h handlers) rootingCalibration(ctx context.Context, in *calibrationInput) (*inType, error) {
	report, err := h.nursery.RootingCalibration(ctx, nursery.CalibrationQuery{RootingPick: in.pick(), Origins: in.Origins})
	if err != nil {
		return nil, err
	}
	return orDrawn(in.Accepting, report, func(f documents.Format) ([]byte, error) { return documents.CalibrationPicture(report, f) })
}

// RootingCalibration answers how good forecasts were.
func (c *Client) RootingCalibration(ctx context.Context, q nursery.CalibrationQuery) (models.Calibration, error) {
	return rooting[models.Calibration](ctx, c, "calibration", q.RootingPick, "origins", strconv.Itoa(q.Origins))
}
