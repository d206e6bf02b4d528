package api

import (
	"context"

	"withybed/models"
	"withybed/models/rules"
)

// TokenPath is embedded in the input of every route about one token.
type TokenPath struct {
	Token string `path:"token" minLength:"1" maxLength:"80" doc:"Handle of the token, or its name while it opens the door" example:"k7m2qd4x"`
}

type listTokensInput struct {
	All bool `query:"all" doc:"Also those that have ended or were revoked" example:"false"`
	Paged
}

func (h handlers) listTokens(ctx context.Context, in *listTokensInput) (*answered[Page[models.TokenView]], error) {
	list, err := h.nursery.Tokens(ctx, in.All, in.page())
	return listed(&in.Paged, list, err)
}

type addTokenInput struct {
	Keyed
	Body models.NewToken
}

func (h handlers) addToken(ctx context.Context, in *addTokenInput) (*answered[models.TokenView], error) {
	return answer(h.nursery.AddToken(ctx, in.once("tokens"), in.Body))
}

type revokeTokenInput struct {
	Keyed
	TokenPath
}

func (h handlers) revokeToken(ctx context.Context, in *revokeTokenInput) (*answered[models.TokenView], error) {
	name := withoutSecret(in.Token)
	return answer(h.nursery.RevokeToken(ctx, in.once("tokens", name, "revocations"), name))
}

// withoutSecret is the handle of what turns out to be a whole secret: whoever
// finds one may well paste it to have it revoked, and it is not to be kept.
func withoutSecret(name string) string {
	if handle, whole := rules.HandleOf(name); whole {
		return handle
	}
	return name
}

// AddToken makes a token; its secret is in the answer and nowhere else.
func (c *Client) AddToken(ctx context.Context, req models.NewToken) (models.TokenView, error) {
	view, _, err := post[models.TokenView](ctx, c, pathOf("tokens"), req)
	return view, err
}

// Tokens lists the tokens that open the door, or all that were ever made, the
// newest first.
func (c *Client) Tokens(ctx context.Context, all bool) All[models.TokenView] {
	return pages[models.TokenView](ctx, c, pathOf("tokens"), inPages(asking("all", yes(all)), models.Page{}))
}

// RevokeToken ends a token, named by its handle or its name. Of a whole secret only
// the handle is sent.
func (c *Client) RevokeToken(ctx context.Context, name string) (models.TokenView, error) {
	view, _, err := post[models.TokenView](ctx, c, pathOf("tokens", withoutSecret(name), "revocations"), nil)
	return view, err
}
