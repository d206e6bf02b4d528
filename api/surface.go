package api

import (
	"context"
	"net/http"
	"reflect"

	"github.com/danielgtaylor/huma/v2"
)

// Surface is what routes are put on.
type Surface struct {
	api    huma.API
	deps   Deps
	keeper *keeper // who asks those that come in; nil where there is no nursery
}

// admitting is the layer that asks who comes in.
func (s *Surface) admitting(next http.Handler) http.Handler {
	if s.keeper == nil {
		return next
	}
	return s.keeper.admitting(next)
}

// Route puts one operation on the surface. A handler returns plain errors; they
// become problem documents here and nowhere else.
func Route[I, O any](s *Surface, op huma.Operation, handle func(context.Context, *I) (*O, error)) {
	deedOf(&op)                            // every operation says who may do it
	op.MaxBodyBytes = s.deps.BodyLimit + 1 // huma refuses a body that reaches its limit
	op.BodyReadTimeout = s.deps.BodyTime
	if op.Responses == nil {
		op.Responses = map[string]*huma.Response{}
	}
	op.Responses["default"] = s.problemResponse()
	huma.Register(s.api, op, func(ctx context.Context, in *I) (*O, error) {
		out, err := handle(ctx, in)
		if err != nil {
			return nil, problemOf(ctx, s.deps.Log, err)
		}
		return out, nil
	})
	s.takeMergePatch(op)
}

func (s *Surface) problemResponse() *huma.Response {
	schema := s.api.OpenAPI().Components.Schemas.Schema(reflect.TypeFor[Problem](), true, "Problem")
	return &huma.Response{
		Description: "What is wrong, as a problem document (RFC 9457)",
		Content:     map[string]*huma.MediaType{problemType: {Schema: schema}},
	}
}

// takeMergePatch lets an edit come under the media type of RFC 7396 as well.
func (s *Surface) takeMergePatch(op huma.Operation) {
	item := s.api.OpenAPI().Paths[op.Path]
	if op.Method != http.MethodPatch || item == nil || item.Patch.RequestBody == nil {
		return
	}
	content := item.Patch.RequestBody.Content
	if body, ok := content[jsonType]; ok {
		content[mergeType] = body
	}
}
