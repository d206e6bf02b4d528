package api

import (
	"context"

	"withybed/models"
)

type listMailInput struct {
	Paged
	State models.LetterState `query:"state" enum:"waiting,sent,given_up" doc:"Only letters that have come so far"`
}

func (h handlers) listMail(ctx context.Context, in *listMailInput) (*answered[Page[models.LetterView]], error) {
	list, err := h.nursery.Letters(ctx, in.State, in.page())
	return listed(&in.Paged, list, err)
}

// Letters lists the letters, the latest made first; of one state alone if it is
// not empty, and at most so many if most is not 0.
func (c *Client) Letters(ctx context.Context, state models.LetterState, most int) All[models.LetterView] {
	query := inPages(asking("state", string(state)), models.Page{Limit: most})
	return upTo(most, pages[models.LetterView](ctx, c, pathOf("mail"), query))
}
