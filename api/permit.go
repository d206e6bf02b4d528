package api

import (
	"context"

	"withybed/models"
	"withybed/models/nursery"
)

type listPermitsInput struct {
	Stand string      `query:"stand" maxLength:"24" doc:"Only permits that cover this stand, by code" example:"MB-03"`
	On    models.Date `query:"on" doc:"Only permits that hold on this day" example:"2026-11-20"`
	Paged
}

func (h handlers) listPermits(ctx context.Context, in *listPermitsInput) (*answered[Page[models.PermitView]], error) {
	list, err := h.nursery.Permits(ctx, nursery.PermitQuery{Stand: in.Stand, On: in.On, Page: in.page()})
	return listed(&in.Paged, list, err)
}

type addPermitInput struct {
	Keyed
	Body models.NewPermit
}

func (h handlers) addPermit(ctx context.Context, in *addPermitInput) (*made[models.PermitView], error) {
	view, err := h.nursery.AddPermit(ctx, in.once("permits"), in.Body)
	return making(view, view.Version, err, "permits", view.Number)
}

func (h handlers) showPermit(ctx context.Context, in *PermitPath) (*shown[models.PermitView], error) {
	view, err := h.nursery.Permit(ctx, in.Permit)
	return showing(view, view.Version, err)
}

type editPermitInput struct {
	PermitPath
	Guarded
	Body models.PermitEdit
}

func (h handlers) editPermit(ctx context.Context, in *editPermitInput) (*shown[models.PermitView], error) {
	version, err := in.Version()
	if err != nil {
		return nil, err
	}
	view, err := h.nursery.EditPermit(ctx, in.Permit, version, in.Body)
	return showing(view, view.Version, err)
}

// AddPermit puts a permit, leave or consent on file.
func (c *Client) AddPermit(ctx context.Context, req models.NewPermit) (models.PermitView, error) {
	view, _, err := post[models.PermitView](ctx, c, pathOf("permits"), req)
	return view, err
}

// Permits lists permits by number, up to q.Limit of them if it is not 0.
func (c *Client) Permits(ctx context.Context, q nursery.PermitQuery) All[models.PermitView] {
	query := asking("stand", q.Stand, "on", q.On.String())
	return upTo(q.Limit, pages[models.PermitView](ctx, c, pathOf("permits"), inPages(query, q.Page)))
}

// Permit shows the permit of a number.
func (c *Client) Permit(ctx context.Context, number string) (models.PermitView, error) {
	view, _, err := get[models.PermitView](ctx, c, pathOf("permits", number), nil)
	return view, err
}

// EditPermit changes a permit by a merge patch of the version it was read at.
func (c *Client) EditPermit(ctx context.Context, number string, version int, edit models.PermitEdit) (models.PermitView, error) {
	view, _, err := patch[models.PermitView](ctx, c, pathOf("permits", number), ETag(version), edit)
	return view, err
}
