package api

import (
	"context"

	"withybed/models"
	"withybed/models/nursery"
)

type listBatchesInput struct {
	Stand    string             `query:"stand" maxLength:"80" doc:"Only batches of this stand, by code" example:"MB-03"`
	Taxon    string             `query:"taxon" maxLength:"80" doc:"Only batches of this taxon, by scientific name" example:"Cornus sericea"`
	Bench    string             `query:"bench" maxLength:"80" doc:"Only batches stuck on this bench, written as it was entered" example:"B2"`
	Kind     models.CuttingKind `query:"kind" enum:"hardwood,semi_hardwood,softwood,root_cutting,live_stake,pole,whip,fascine" doc:"Only this kind of cutting" example:"hardwood"`
	From     models.Date        `query:"from" doc:"Collected on this day or later" example:"2025-11-01"`
	To       models.Date        `query:"to" doc:"Collected on this day or earlier" example:"2026-02-15"`
	ToReview bool               `query:"to_review" doc:"Only batches cut against a rule that nobody has looked at yet" example:"false"`
	Active   bool               `query:"active" doc:"Only batches of which something can still fall due" example:"true"`
	Void     bool               `query:"void" doc:"Only batches that are void; without it they are left out" example:"false"`
	Paged
}

func (h handlers) listBatches(ctx context.Context, in *listBatchesInput) (*answered[Page[models.BatchSummary]], error) {
	list, err := h.nursery.Batches(ctx, nursery.BatchQuery{
		Stand: in.Stand, Taxon: in.Taxon, Bench: in.Bench, Kind: in.Kind, From: in.From, To: in.To,
		ToReview: in.ToReview, Active: in.Active, Void: in.Void, Page: in.page(),
	})
	return listed(&in.Paged, list, err)
}

type logBatchInput struct {
	Keyed
	Body models.NewBatch
}

func (h handlers) logBatch(ctx context.Context, in *logBatchInput) (*made[models.BatchView], error) {
	view, err := h.nursery.LogBatch(ctx, in.once("batches"), in.Body)
	return making(view, view.Version, err, "batches", view.Code)
}

func (h handlers) showBatch(ctx context.Context, in *BatchPath) (*shown[models.BatchView], error) {
	view, err := h.nursery.Batch(ctx, in.Batch)
	return showing(view, view.Version, err)
}

// LogBatch logs a cutting batch, and sticks it at once where the request says so.
func (c *Client) LogBatch(ctx context.Context, req models.NewBatch) (models.BatchView, error) {
	view, _, err := post[models.BatchView](ctx, c, pathOf("batches"), req)
	return view, err
}

// Batches lists batches, the latest collected first, up to q.Limit of them if it
// is not 0.
func (c *Client) Batches(ctx context.Context, q nursery.BatchQuery) All[models.BatchSummary] {
	query := asking("stand", q.Stand, "taxon", q.Taxon, "bench", q.Bench, "kind", string(q.Kind),
		"from", q.From.String(), "to", q.To.String(), "to_review", yes(q.ToReview), "active", yes(q.Active), "void", yes(q.Void))
	return upTo(q.Limit, pages[models.BatchSummary](ctx, c, pathOf("batches"), inPages(query, q.Page)))
}

// Batch shows a batch whole.
func (c *Client) Batch(ctx context.Context, code string) (models.BatchView, error) {
	view, _, err := get[models.BatchView](ctx, c, pathOf("batches", code), nil)
	return view, err
}
