package api

import (
	"context"
	"net/http"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"withybed/models"
)

const csvType = "text/csv"

type logDayInput struct {
	Keyed
	RawBody []byte `contentType:"text/csv"`
}

// takesSheet is an operation whose body is a day sheet.
func takesSheet(op huma.Operation) huma.Operation {
	op.RequestBody = &huma.RequestBody{
		Description: "The sheet. Its columns, in any order: " + strings.Join(models.DayColumns(), ", ") + ".",
	}
	return op
}

func (h handlers) logDay(ctx context.Context, in *logDayInput) (*answered[models.DayView], error) {
	return answer(h.nursery.LogDay(ctx, in.once("days"), in.RawBody))
}

// LogDay logs a day sheet of batches: all of them or none.
func (c *Client) LogDay(ctx context.Context, sheet []byte) (models.DayView, error) {
	header := http.Header{"Idempotency-Key": {c.newKey()}, "Content-Type": {csvType}}
	view, _, err := send[models.DayView](ctx, c, call{
		method: http.MethodPost, path: pathOf("days"), body: sheet, header: header, tries: lostTries,
	})
	return view, err
}
