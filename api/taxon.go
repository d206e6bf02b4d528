package api

import (
	"context"

	"withybed/models"
)

type listTaxaInput struct{ Paged }

func (h handlers) listTaxa(ctx context.Context, in *listTaxaInput) (*answered[Page[models.Taxon]], error) {
	list, err := h.nursery.Taxa(ctx, in.page())
	return listed(&in.Paged, list, err)
}

type addTaxonInput struct {
	Keyed
	Body models.NewTaxon
}

func (h handlers) addTaxon(ctx context.Context, in *addTaxonInput) (*made[models.Taxon], error) {
	taxon, err := h.nursery.AddTaxon(ctx, in.once("taxa"), in.Body)
	return making(taxon, taxon.Version, err, "taxa", taxon.ScientificName)
}

func (h handlers) showTaxon(ctx context.Context, in *TaxonPath) (*shown[models.Taxon], error) {
	taxon, err := h.nursery.Taxon(ctx, in.Taxon)
	return showing(taxon, taxon.Version, err)
}

type editTaxonInput struct {
	TaxonPath
	Guarded
	Body models.TaxonEdit
}

func (h handlers) editTaxon(ctx context.Context, in *editTaxonInput) (*shown[models.Taxon], error) {
	version, err := in.Version()
	if err != nil {
		return nil, err
	}
	taxon, err := h.nursery.EditTaxon(ctx, in.Taxon, version, in.Body)
	return showing(taxon, taxon.Version, err)
}

// AddTaxon adds a taxon.
func (c *Client) AddTaxon(ctx context.Context, req models.NewTaxon) (models.Taxon, error) {
	taxon, _, err := post[models.Taxon](ctx, c, pathOf("taxa"), req)
	return taxon, err
}

// Taxa lists the taxa by name.
func (c *Client) Taxa(ctx context.Context) All[models.Taxon] {
	return pages[models.Taxon](ctx, c, pathOf("taxa"), largePages())
}

// Taxon shows the taxon of a scientific name.
func (c *Client) Taxon(ctx context.Context, name string) (models.Taxon, error) {
	taxon, _, err := get[models.Taxon](ctx, c, pathOf("taxa", name), nil)
	return taxon, err
}

// EditTaxon changes a taxon by a merge patch of the version it was read at.
func (c *Client) EditTaxon(ctx context.Context, name string, version int, edit models.TaxonEdit) (models.Taxon, error) {
	taxon, _, err := patch[models.Taxon](ctx, c, pathOf("taxa", name), ETag(version), edit)
	return taxon, err
}
