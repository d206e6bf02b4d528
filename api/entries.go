package api

import (
	"context"

	"withybed/models"
	"withybed/models/nursery"
)

// entryInput is the input of every route that enters something about one batch.
type entryInput[T any] struct {
	BatchPath
	Keyed
	Body T
}

// entering is a use case that enters something about one batch.
type entering[T any] func(context.Context, nursery.Once, string, T) (models.BatchView, error)

func enter[T any](ctx context.Context, in *entryInput[T], what string, use entering[T]) (*made[models.BatchView], error) {
	view, err := use(ctx, in.once("batches", in.Batch, what), in.Batch, in.Body)
	return making(view, view.Version, err, "batches", view.Code)
}

func (h handlers) stick(ctx context.Context, in *entryInput[models.NewSticking]) (*made[models.BatchView], error) {
	return enter(ctx, in, "stickings", h.nursery.Stick)
}

func (h handlers) move(ctx context.Context, in *entryInput[models.NewMove]) (*made[models.BatchView], error) {
	return enter(ctx, in, "moves", h.nursery.Move)
}

func (h handlers) split(ctx context.Context, in *entryInput[models.NewSplit]) (*answered[models.SplitView], error) {
	return answer(h.nursery.Split(ctx, in.once("batches", in.Batch, "splits"), in.Batch, in.Body))
}

func (h handlers) review(ctx context.Context, in *entryInput[models.NewReview]) (*made[models.BatchView], error) {
	return enter(ctx, in, "reviews", h.nursery.Review)
}

func (h handlers) check(ctx context.Context, in *entryInput[models.NewCheck]) (*made[models.BatchView], error) {
	return enter(ctx, in, "checks", h.nursery.Check)
}

func (h handlers) pot(ctx context.Context, in *entryInput[models.NewPotting]) (*made[models.BatchView], error) {
	return enter(ctx, in, "pottings", h.nursery.Pot)
}

func (h handlers) decide(ctx context.Context, in *entryInput[models.NewDecision]) (*made[models.BatchView], error) {
	return enter(ctx, in, "decisions", h.nursery.Decide)
}

// Stick sticks the cuttings of a batch.
func (c *Client) Stick(ctx context.Context, batch string, req models.NewSticking) (models.BatchView, error) {
	return c.enter(ctx, batch, "stickings", req)
}

// Move puts cuttings to soak or into a store, or records them as used or lost,
// before they are stuck.
func (c *Client) Move(ctx context.Context, batch string, req models.NewMove) (models.BatchView, error) {
	return c.enter(ctx, batch, "moves", req)
}

// Split splits sister batches off a batch.
func (c *Client) Split(ctx context.Context, batch string, req models.NewSplit) (models.SplitView, error) {
	view, _, err := post[models.SplitView](ctx, c, pathOf("batches", batch, "splits"), req)
	return view, err
}

// Review answers a batch that was cut against a rule.
func (c *Client) Review(ctx context.Context, batch string, req models.NewReview) (models.BatchView, error) {
	return c.enter(ctx, batch, "reviews", req)
}

// Check enters a look at a tray.
func (c *Client) Check(ctx context.Context, batch string, req models.NewCheck) (models.BatchView, error) {
	return c.enter(ctx, batch, "checks", req)
}

// Pot pots rooted cuttings up.
func (c *Client) Pot(ctx context.Context, batch string, req models.NewPotting) (models.BatchView, error) {
	return c.enter(ctx, batch, "pottings", req)
}

// Decide enters a decision about a batch.
func (c *Client) Decide(ctx context.Context, batch string, req models.NewDecision) (models.BatchView, error) {
	return c.enter(ctx, batch, "decisions", req)
}

func (c *Client) enter(ctx context.Context, batch, what string, req any) (models.BatchView, error) {
	view, _, err := post[models.BatchView](ctx, c, pathOf("batches", batch, what), req)
	return view, err
}
