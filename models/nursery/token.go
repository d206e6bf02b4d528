package nursery

import (
	"context"
	"errors"
	"time"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// AddToken makes a token. Its secret is in the answer and kept nowhere, so that a
// request sent again is not answered but told that it was done.
func (n *Nursery) AddToken(ctx context.Context, o Once, req models.NewToken) (models.TokenView, error) {
	secret := ""
	view, err := once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.TokenView, error) {
		none := models.TokenView{}
		if err := tx.HoldTokens(); err != nil {
			return none, err
		}
		some, err := tx.AnyToken()
		if err != nil {
			return none, err
		}
		token, err := rules.EnterToken(req, !some, now.today, now.place)
		if err != nil {
			return none, err
		}
		if err := nameIsFree(tx, now, &token); err != nil {
			return none, err
		}
		managed, err := tx.ManagesLand(token.LandManager)
		if err != nil {
			return none, err
		}
		secret, token.Handle = rules.NewSecret(n.newSecret())
		token.ID, token.Hash, token.MadeBy, token.MadeAt = n.newID(), rules.HashOf(secret), now.caller.Name, now.at
		now.change.made(token.Handle)
		if err := tx.AddToken(token); err != nil {
			return none, err
		}
		return tokenView(&token, now, rules.TokenWarnings(&token, managed, now.today)), nil
	})
	if handle, _ := rules.HandleOf(secret); err == nil && handle != view.Handle {
		return models.TokenView{}, models.Errorf(models.Conflict, "token-already-shown",
			"the token %s was made by this request before, and its secret was shown then: revoke it and make another if nobody has it", view.Name)
	}
	view.Secret = secret
	return view, err
}

// nameIsFree refuses a name that a token has which still opens the door.
func nameIsFree(tx *store.Tx, now moment, token *models.Token) error {
	other, err := tx.CurrentToken(token.NameKey, now.at)
	if errors.Is(err, store.ErrNoRow) {
		return nil
	}
	if err != nil {
		return err
	}
	return models.Errorf(models.Conflict, "token-name-taken", "there is a token %s already, good until the end of %s: revoke it first, or choose another name", other.Name, other.EndsOn)
}

// RevokeToken ends a token, named by its handle or, while it opens the door, by
// its name. One that was revoked before stays as it is.
func (n *Nursery) RevokeToken(ctx context.Context, o Once, name string) (models.TokenView, error) {
	return once(ctx, n, o, name, func(tx *store.Tx, now moment) (models.TokenView, error) {
		none := models.TokenView{}
		if err := tx.HoldTokens(); err != nil {
			return none, err
		}
		token, err := findToken(tx, now, name)
		if err != nil {
			return none, err
		}
		if token.RevokedAt != nil {
			now.change.forget()
			return tokenView(&token, now, []string{"it was revoked before"}), nil
		}
		token.RevokedBy, token.RevokedAt = now.caller.Name, &now.at
		if err := tx.RevokeToken(token.ID, token.RevokedBy, now.at); err != nil {
			return none, err
		}
		left, err := tx.OpensFor(models.Coordinator, now.at)
		if err != nil {
			return none, err
		}
		warnings := []string{}
		if !left {
			warnings = append(warnings, "no coordinator's token is left: make one on the computer of the database, with withy token add NAME --role coordinator --local")
		}
		return tokenView(&token, now, warnings), nil
	})
}

func findToken(tx *store.Tx, now moment, name string) (models.Token, error) {
	token, err := tx.CurrentToken(models.NameKey(name), now.at)
	if errors.Is(err, store.ErrNoRow) {
		token, err = tx.TokenByHandle(models.NameKey(name))
	}
	if errors.Is(err, store.ErrNoRow) {
		return token, models.Errorf(models.NotFound, "no-such-token", "there is no token %q that opens the door, and none with that handle: see withy token list", rules.WithoutSecrets(name))
	}
	return token, err
}

// Tokens lists tokens, the newest first, without their secrets: all that were
// ever made, or those that open the door alone.
func (n *Nursery) Tokens(ctx context.Context, all bool, page models.Page) (models.List[models.TokenView], error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (list models.List[models.TokenView], err error) {
		var current time.Time
		if !all {
			current = now.at
		}
		tokens, err := tx.Tokens(current, page)
		return listOf(tokens, func(t models.Token) models.TokenView { return tokenView(&t, now, nil) }), err
	})
}

// TokensNeeded says whether the door asks for a token: from the first one on, for
// good.
func (n *Nursery) TokensNeeded(ctx context.Context) (needed bool, err error) {
	err = n.store.Read(ctx, func(tx *store.Tx) error {
		needed, err = tx.AnyToken()
		return err
	})
	return needed, err
}

// Token is the token of a secret, whatever its state. A secret that is none is
// Unauthenticated.
func (n *Nursery) Token(ctx context.Context, secret string) (token models.Token, err error) {
	unknown := models.Errorf(models.Unauthenticated, "token-unknown", "this token is not known here: see that it was copied whole, or ask the coordinator for one")
	handle, ok := rules.HandleOf(secret)
	if !ok {
		return token, unknown
	}
	err = n.store.Read(ctx, func(tx *store.Tx) error {
		token, err = tx.TokenByHandle(handle)
		return err
	})
	switch {
	case errors.Is(err, store.ErrNoRow):
		return models.Token{}, unknown
	case err != nil:
		return models.Token{}, err
	case !rules.Opens(&token, secret):
		return models.Token{}, unknown
	}
	return token, nil
}

func tokenView(t *models.Token, now moment, warnings []string) models.TokenView {
	return models.TokenView{
		Handle: t.Handle, Name: t.Name, Role: t.Role, LandManager: t.LandManager, State: t.StateAt(now.at),
		EndsOn: t.EndsOn, EndsAt: t.EndsAt, MadeBy: t.MadeBy, MadeAt: t.MadeAt,
		RevokedBy: t.RevokedBy, RevokedAt: t.RevokedAt, Warnings: listed(warnings),
	}
}
