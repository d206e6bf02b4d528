package api

import (
	"context"

	"withybed/models"
	"withybed/models/nursery"
)

type listStandsInput struct {
	Taxon string `query:"taxon" maxLength:"80" doc:"Only stands of this taxon, by scientific name" example:"Cornus sericea"`
	Place string `query:"place" maxLength:"80" doc:"Only stands at this place, compared without case" example:"Mallow Bend"`
	Exactly
	Paged
}

// Exactly is embedded in the input of routes that show stands.
type Exactly struct {
	Exact bool `query:"exact" doc:"Show coordinates as they are kept, not coarsened to the sensitivity of the stand" example:"false"`
}

func (h handlers) listStands(ctx context.Context, in *listStandsInput) (*answered[Page[models.StandView]], error) {
	query := nursery.StandQuery{Taxon: in.Taxon, Place: in.Place, Exact: in.Exact, Page: in.page()}
	list, err := h.nursery.Stands(ctx, query)
	return listed(&in.Paged, list, err)
}

type addStandInput struct {
	Keyed
	Body models.NewStand
}

func (h handlers) addStand(ctx context.Context, in *addStandInput) (*made[models.StandView], error) {
	view, err := h.nursery.AddStand(ctx, in.once("stands"), in.Body)
	return making(view, view.Version, err, "stands", view.Code)
}

type showStandInput struct {
	StandPath
	Exactly
}

func (h handlers) showStand(ctx context.Context, in *showStandInput) (*shown[models.StandView], error) {
	view, err := h.nursery.Stand(ctx, in.Stand, in.Exact)
	return showing(view, view.Version, err)
}

type editStandInput struct {
	StandPath
	Guarded
	Body models.StandEdit
}

func (h handlers) editStand(ctx context.Context, in *editStandInput) (*shown[models.StandView], error) {
	version, err := in.Version()
	if err != nil {
		return nil, err
	}
	view, err := h.nursery.EditStand(ctx, in.Stand, version, in.Body)
	return showing(view, view.Version, err)
}

func (h handlers) standVersions(ctx context.Context, in *StandPath) (*answered[models.StandVersions], error) {
	return answer(h.nursery.Versions(ctx, in.Stand))
}

// AddStand adds a stand.
func (c *Client) AddStand(ctx context.Context, req models.NewStand) (models.StandView, error) {
	view, _, err := post[models.StandView](ctx, c, pathOf("stands"), req)
	return view, err
}

// Stands lists stands by code, up to q.Limit of them if it is not 0.
func (c *Client) Stands(ctx context.Context, q nursery.StandQuery) All[models.StandView] {
	query := asking("taxon", q.Taxon, "place", q.Place, "exact", yes(q.Exact))
	return upTo(q.Limit, pages[models.StandView](ctx, c, pathOf("stands"), inPages(query, q.Page)))
}

// Stand shows a stand, with its coordinates as they are kept if exact.
func (c *Client) Stand(ctx context.Context, code string, exact bool) (models.StandView, error) {
	view, _, err := get[models.StandView](ctx, c, pathOf("stands", code), asking("exact", yes(exact)))
	return view, err
}

// EditStand changes a stand by a merge patch of the version it was read at.
func (c *Client) EditStand(ctx context.Context, code string, version int, edit models.StandEdit) (models.StandView, error) {
	view, _, err := patch[models.StandView](ctx, c, pathOf("stands", code), ETag(version), edit)
	return view, err
}

// StandVersions shows every version of a stand's harvest rule and closures.
func (c *Client) StandVersions(ctx context.Context, code string) (models.StandVersions, error) {
	versions, _, err := get[models.StandVersions](ctx, c, pathOf("stands", code, "versions"), nil)
	return versions, err
}
