package api

import (
	"context"
	"fmt"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humagin"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/rules"
)

// deedKey is where an operation keeps what kind of deed it is.
const deedKey = "deed"

// schemeName is how the OpenAPI document calls the tokens.
const schemeName = "token"

// bearer says that an operation takes a token, which is not needed as long as
// there is none.
var bearer = []map[string][]string{{schemeName: {}}, {}}

var schemes = map[string]*huma.SecurityScheme{
	schemeName: {Type: "http", Scheme: "bearer",
		Description: "A token made with withy token add. Until the first one is made, this computer alone may come in, without one."},
}

// open marks an operation that asks nobody who they are.
func open(op huma.Operation) huma.Operation {
	op.Metadata = map[string]any{deedKey: models.Deed("")}
	return op
}

// deedOf is the kind of deed of an operation, empty for an open one. An operation
// that does not say is a fault of ours: it must not stay open by oversight.
func deedOf(op *huma.Operation) models.Deed {
	deed, said := op.Metadata[deedKey].(models.Deed)
	if !said {
		panic(fmt.Errorf("the operation %s does not say who may do it", op.OperationID))
	}
	return deed
}

// allowed refuses callers whose role may not do what an operation does, before
// anything of their request is read.
func (s *Surface) allowed(ctx huma.Context, next func(huma.Context)) {
	c := humagin.Unwrap(ctx)
	if err := access(c.Request.Context(), deedOf(ctx.Operation())); err != nil {
		sendProblem(c.Writer, problemOf(c.Request.Context(), s.deps.Log, err))
		return
	}
	next(ctx)
}

// access refuses a caller whose role may not do a deed.
func access(ctx context.Context, deed models.Deed) error {
	if deed == "" {
		return nil
	}
	return rules.Access(nursery.CallerIn(ctx), deed)
}
