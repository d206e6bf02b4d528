package nursery

import (
	"context"
	"encoding/json"
	"fmt"

	"withybed/models"
	"withybed/models/store"
)

type callerKey struct{}

// As is a context in which a caller asks. Without one it is the nursery itself,
// which may do everything and of which no record of changes is kept.
func As(ctx context.Context, caller models.Caller) context.Context {
	return context.WithValue(ctx, callerKey{}, caller)
}

// CallerIn is who asks in a context; the zero Caller is the nursery itself.
func CallerIn(ctx context.Context) models.Caller {
	caller, _ := ctx.Value(callerKey{}).(models.Caller)
	return caller
}

// change is the line that a write leaves in the record of changes, unless it
// turns out that it changes nothing.
type change struct {
	models.Change
	nothing bool
}

func (n *Nursery) changeBy(now moment) *change {
	caller := now.caller
	if caller.Request == "" {
		return nil
	}
	return &change{Change: models.Change{
		ID: n.newID(), MadeAt: now.at, MadeBy: caller.Name, TokenID: caller.Token, Role: caller.Role,
		Request: caller.Request, RequestID: caller.RequestID,
	}}
}

// forget keeps no line: nothing was changed.
func (c *change) forget() {
	if c != nil {
		c.nothing = true
	}
}

// made keeps the names of what was added.
func (c *change) made(names ...string) {
	if c != nil {
		c.Detail = map[string]any{"made": names}
	}
}

// tell keeps what an edit changes, as it was sent.
func (c *change) tell(edit any) error {
	if c == nil {
		return nil
	}
	text, err := json.Marshal(edit)
	if err != nil {
		return fmt.Errorf("keep what was changed: %w", err)
	}
	return json.Unmarshal(text, &c.Detail)
}

func keepChange(tx *store.Tx, c *change) error {
	if c == nil || c.nothing {
		return nil
	}
	return tx.AddChange(c.Change)
}

// Changes lists who changed what, the latest first; of one maker alone if by is
// not empty.
func (n *Nursery) Changes(ctx context.Context, by string, page models.Page) (models.List[models.Change], error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (models.List[models.Change], error) {
		return tx.Changes(by, page)
	})
}
