package api

import (
	"context"

	"withybed/models"
)

type listChangesInput struct {
	By string `query:"by" maxLength:"80" doc:"Only changes of this maker, as made_by spells it" example:"Olga P"`
	Paged
}

func (h handlers) listChanges(ctx context.Context, in *listChangesInput) (*answered[Page[models.Change]], error) {
	list, err := h.nursery.Changes(ctx, in.By, in.page())
	return listed(&in.Paged, list, err)
}

// Changes lists who changed what, the latest first; of one maker alone if by is
// not empty, and up to most of them if it is not 0.
func (c *Client) Changes(ctx context.Context, by string, most int) All[models.Change] {
	return upTo(most, pages[models.Change](ctx, c, pathOf("changes"), inPages(asking("by", by), models.Page{Limit: most})))
}
