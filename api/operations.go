package api

import (
	"net/http"
	"reflect"
	"strconv"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"withybed/models"
)

// words are what the document says of an operation.
type words struct {
	summary     string
	description string
	answer      string // what comes back when all is well
	problems    string // codes it may answer besides those of any request, by spaces
}

func reads(deed models.Deed, id, path string) huma.Operation {
	return operation(deed, http.MethodGet, id, path, http.StatusOK)
}

func adds(deed models.Deed, id, path string) huma.Operation {
	return operation(deed, http.MethodPost, id, path, http.StatusCreated)
}

func edits(deed models.Deed, id, path string) huma.Operation {
	return operation(deed, http.MethodPatch, id, path, http.StatusOK)
}

// reminds is an operation that adds something or finds it.
func reminds(s *Surface, deed models.Deed, id, path string) huma.Operation {
	op := adds(deed, id, path)
	schema := s.api.OpenAPI().Components.Schemas.Schema(reflect.TypeFor[models.ReminderView](), true, "")
	op.Responses["200"] = &huma.Response{
		Description: "The reminder that was made before",
		Content:     map[string]*huma.MediaType{jsonType: {Schema: schema}},
	}
	return op
}

func operation(deed models.Deed, method, id, path string, status int) huma.Operation {
	told := operations[id]
	subject, _, _ := strings.Cut(strings.TrimPrefix(path, "/v1/"), "/")
	return huma.Operation{
		OperationID: id, Method: method, Path: path, DefaultStatus: status, Tags: []string{subject},
		Summary: told.summary, Description: told.description + possible(told.problems),
		Responses: map[string]*huma.Response{strconv.Itoa(status): {Description: told.answer}},
		Security:  bearer,
		Metadata:  map[string]any{deedKey: deed},
	}
}

// possible tells the problems an operation may answer with.
func possible(problems string) string {
	codes := strings.Fields(problems)
	if len(codes) == 0 {
		return ""
	}
	return " Problems it may answer with: " + strings.Join(codes, ", ") + "."
}
