package api

import (
	"bytes"
	"net/url"
	"reflect"
	"strconv"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"withybed/models"
)

// answered is an answer that is only its body.
type answered[T any] struct{ Body T }

func answer[T any](body T, err error) (*answered[T], error) {
	if err != nil {
		return nil, err
	}
	return &answered[T]{Body: body}, nil
}

// shown is an answer with a record that has versions.
type shown[T any] struct {
	ETag string `header:"ETag" doc:"Version of the record, to be given back as If-Match with an edit" example:"\"3\""`
	Body T
}

func showing[T any](body T, version int, err error) (*shown[T], error) {
	if err != nil {
		return nil, err
	}
	return &shown[T]{ETag: ETag(version), Body: body}, nil
}

// made is an answer to a request that made or filled a record with a page.
type made[T any] struct {
	Location string `header:"Location" doc:"Where the record is shown" example:"/v1/batches/MB-03-2026-7"`
	ETag     string `header:"ETag" doc:"Version of the record, to be given back as If-Match with an edit" example:"\"1\""`
	Body     T
}

func making[T any](body T, version int, err error, path ...string) (*made[T], error) {
	if err != nil {
		return nil, err
	}
	return &made[T]{Location: pathOf(path...), ETag: ETag(version), Body: body}, nil
}

// pathOf is the path of a route with names in it, each escaped.
func pathOf(parts ...string) string {
	var path strings.Builder
	path.WriteString("/v1")
	for _, part := range parts {
		path.WriteString("/" + url.PathEscape(part))
	}
	return path.String()
}

// Paged is embedded in the input of every long list.
type Paged struct {
	Limit int    `query:"limit" minimum:"1" maximum:"200" default:"50" doc:"Most entries in one answer" example:"50"`
	After string `query:"after" maxLength:"1000" doc:"Where to go on, as next of the page before says" example:"WyJ0YXhhIiwiY29ybnVzIHNlcmljZWEiXQ"`

	asked url.URL // path and query of this request
}

// Resolve keeps the address of the request, from which the next page is named.
func (p *Paged) Resolve(ctx huma.Context) []error {
	p.asked = ctx.URL()
	return nil
}

func (p *Paged) page() models.Page { return models.Page{Limit: p.Limit, After: p.After} }

// listed answers with a page. What was asked for stays in the address of the next.
func listed[T any](p *Paged, list models.List[T], err error) (*answered[Page[T]], error) {
	if err != nil {
		return nil, err
	}
	next := ""
	if list.Next != "" {
		query := p.asked.Query()
		query.Set("after", list.Next)
		next = p.asked.EscapedPath() + "?" + query.Encode()
	}
	return &answered[Page[T]]{Body: NewPage(list.Items, next)}, nil
}

// whole answers with a list that is never long enough for pages.
func whole[T any](items []T, err error) (*answered[Page[T]], error) {
	return answer(NewPage(items, ""), err)
}

// Accepting is embedded in the input of a route that answers in several types.
type Accepting struct {
	accept string
}

// Resolve keeps the type of the answer, which was settled by what the request
// accepts.
func (a *Accepting) Resolve(ctx huma.Context) []error {
	a.accept = ctx.Header("Accept")
	return nil
}

// inType is an answer in the type that was settled.
type inType struct {
	ContentType string `header:"Content-Type" hidden:"true"`
	Vary        string `header:"Vary" doc:"That the answer depends on Accept" example:"Accept"`
	Body        []byte
}

// answerIn writes an answer as it is wanted: by one of the writers, or as JSON. Text of
// any type says how its letters are written.
func answerIn(a Accepting, answer any, writers map[string]func() ([]byte, error)) (out *inType, err error) {
	out = &inType{ContentType: a.accept, Vary: "Accept"}
	if strings.HasPrefix(a.accept, "text/") {
		out.ContentType += "; charset=utf-8"
	}
	if write := writers[a.accept]; write != nil {
		out.Body, err = write()
		return out, err
	}
	var body bytes.Buffer
	err = strictJSON.Marshal(&body, answer)
	out.Body = body.Bytes()
	return out, err
}

// givesAlso is an operation that answers T as JSON, and in other types.
func givesAlso[T any](s *Surface, op huma.Operation, others map[string]*huma.Schema) huma.Operation {
	content := map[string]*huma.MediaType{jsonType: {Schema: s.api.OpenAPI().Components.Schemas.Schema(reflect.TypeFor[T](), true, "")}}
	for kind, schema := range others {
		content[kind] = &huma.MediaType{Schema: schema}
	}
	op.Responses[strconv.Itoa(op.DefaultStatus)].Content = content
	return op
}

// The schemas of what is not JSON.
var (
	asText   = &huma.Schema{Type: huma.TypeString}
	asBinary = &huma.Schema{Type: huma.TypeString, Format: "binary"}
)
