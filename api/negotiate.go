package api

import (
	"maps"
	"mime"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humagin"

	"withybed/models"
)

const (
	jsonType  = "application/json"
	mergeType = "application/merge-patch+json"
)

// negotiate settles the types of body and answer before huma reads the request,
// by what the operation takes and gives: huma knows no wildcards in Accept, no
// capitals in Content-Type, and takes any type that ends in +json.
func (s *Surface) negotiate(ctx huma.Context, next func(huma.Context)) {
	c := humagin.Unwrap(ctx)
	header := c.Request.Header
	answer := prefer(header.Get("Accept"), answerTypes(ctx.Operation())...)
	if answer == "" {
		writeProblem(c.Writer, c.Request, shapeError(http.StatusNotAcceptable, "", nil))
		return
	}
	header.Set("Accept", answer)
	if packed := header.Get("Content-Encoding"); packed != "" && !strings.EqualFold(packed, "identity") {
		writeProblem(c.Writer, c.Request, notRead("Content-Encoding", packed))
		return
	}
	if given := header.Get("Content-Type"); given != "" && ctx.Operation().RequestBody != nil {
		body := bodyType(ctx.Operation(), given)
		if body == "" {
			writeProblem(c.Writer, c.Request, notRead("Content-Type", given))
			return
		}
		header.Set("Content-Type", body)
	}
	next(ctx)
}

// notRead is the error for a body that a header says is written in a way that
// is not read here.
func notRead(header, given string) *models.Error {
	err := shapeError(http.StatusUnsupportedMediaType, "", nil)
	err.Fields = []models.Field{{Name: header, Detail: "is not read here", Value: given}}
	return err
}

// answerTypes are the types in which an operation answers when all is well.
func answerTypes(op *huma.Operation) []string {
	var types []string
	for status, response := range op.Responses {
		if strings.HasPrefix(status, "2") {
			types = slices.AppendSeq(types, maps.Keys(response.Content))
		}
	}
	slices.Sort(types)
	if i := slices.Index(types, jsonType); i > 0 || len(types) == 0 {
		types = append([]string{jsonType}, types...)
	}
	return types
}

// bodyType is the type huma is to read a body as, or empty if it is not one of
// the operation's.
func bodyType(op *huma.Operation, given string) string {
	media, params, err := mime.ParseMediaType(given)
	charset := strings.ToLower(params["charset"])
	if err != nil || (charset != "" && charset != "utf-8" && charset != "utf8") {
		return ""
	}
	if _, ok := op.RequestBody.Content[media]; !ok {
		return ""
	}
	if media == mergeType {
		return jsonType
	}
	return media
}

// prefer is the one of the offered types that an Accept header likes best
// (RFC 9110, 12.5.1), the first of them if it likes several or names none, and
// empty if it takes none.
func prefer(accept string, offers ...string) string {
	if strings.TrimSpace(accept) == "" {
		return offers[0]
	}
	best, bestQ := "", 0.0
	for _, offer := range offers {
		if q := quality(accept, offer); q > bestQ {
			best, bestQ = offer, q
		}
	}
	return best
}

// quality is the weight the most exact range of an Accept header gives a type.
func quality(accept, offer string) float64 {
	weight, exactness := 0.0, -1
	family, _, _ := strings.Cut(offer, "/")
	ranks := map[string]int{"*/*": 0, family + "/*": 1, offer: 2}
	for part := range strings.SplitSeq(accept, ",") {
		media, params, err := mime.ParseMediaType(part)
		if err != nil {
			continue
		}
		rank, ok := ranks[media]
		if !ok || rank <= exactness {
			continue
		}
		exactness, weight = rank, 1
		if q, err := strconv.ParseFloat(params["q"], 64); err == nil {
			weight = q
		}
	}
	return weight
}
