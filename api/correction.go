package api

import (
	"context"

	"withybed/models"
)

func (h handlers) correctBatch(ctx context.Context, in *entryInput[models.NewCorrection]) (*made[models.BatchView], error) {
	return enter(ctx, in, "corrections", h.nursery.Correct)
}

func (h handlers) voidBatch(ctx context.Context, in *entryInput[models.NewVoid]) (*made[models.BatchView], error) {
	return enter(ctx, in, "voids", h.nursery.VoidBatch)
}

func (h handlers) determineBatch(ctx context.Context, in *entryInput[models.NewDetermination]) (*made[models.BatchView], error) {
	return enter(ctx, in, "determinations", h.nursery.Determine)
}

type correctSurveyInput struct {
	SurveyPath
	Keyed
	Body models.NewSurveyCorrection
}

func (h handlers) correctSurvey(ctx context.Context, in *correctSurveyInput) (*answered[models.SurveyCorrectionView], error) {
	return answer(h.nursery.CorrectSurvey(ctx, in.once("stands", in.Stand, "surveys", in.Survey, "corrections"), in.Stand, in.Survey, in.Body))
}

func (h handlers) listCorrections(ctx context.Context, in *standPageInput) (*answered[Page[models.CorrectionView]], error) {
	list, err := h.nursery.Corrections(ctx, in.Stand, in.page())
	return listed(&in.Paged, list, err)
}

type correctStandInput struct {
	StandPath
	Keyed
	Body models.NewStandCorrection
}

func (h handlers) correctStand(ctx context.Context, in *correctStandInput) (*answered[models.CorrectionView], error) {
	return answer(h.nursery.CorrectStand(ctx, in.once("stands", in.Stand, "corrections"), in.Stand, in.Body))
}

// Correct corrects a batch, or an entry about it.
func (c *Client) Correct(ctx context.Context, batch string, req models.NewCorrection) (models.BatchView, error) {
	return c.enter(ctx, batch, "corrections", req)
}

// VoidBatch makes a batch one that never was.
func (c *Client) VoidBatch(ctx context.Context, batch string, req models.NewVoid) (models.BatchView, error) {
	return c.enter(ctx, batch, "voids", req)
}

// Determine names a batch anew, with all that are of one harvest with it.
func (c *Client) Determine(ctx context.Context, batch string, req models.NewDetermination) (models.BatchView, error) {
	return c.enter(ctx, batch, "determinations", req)
}

// CorrectSurvey puts a survey in the place of one that was entered wrongly, or voids it.
func (c *Client) CorrectSurvey(ctx context.Context, stand, survey string, req models.NewSurveyCorrection) (models.SurveyCorrectionView, error) {
	view, _, err := post[models.SurveyCorrectionView](ctx, c, pathOf("stands", stand, "surveys", survey, "corrections"), req)
	return view, err
}

// CorrectStand voids a record of a stand.
func (c *Client) CorrectStand(ctx context.Context, stand string, req models.NewStandCorrection) (models.CorrectionView, error) {
	view, _, err := post[models.CorrectionView](ctx, c, pathOf("stands", stand, "corrections"), req)
	return view, err
}

// Corrections lists what was corrected at a stand, the latest entered first.
func (c *Client) Corrections(ctx context.Context, stand string) All[models.CorrectionView] {
	return pages[models.CorrectionView](ctx, c, pathOf("stands", stand, "corrections"), largePages())
}
