package api

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
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
	var view models.DayView
	answer, err := c.sendSheet(ctx, sheet)
	if err != nil {
		return view, c.lost(ctx, err)
	}
	defer answer.Body.Close()
	if answer.StatusCode >= 300 {
		return view, c.readProblem(answer)
	}
	if err := json.NewDecoder(answer.Body).Decode(&view); err != nil {
		return view, c.lost(ctx, fmt.Errorf("read the answer: %w", err))
	}
	return view, nil
}

// sendSheet sends a sheet as it is, again under the same key where the
// connection is lost.
func (c *Client) sendSheet(ctx context.Context, sheet []byte) (*http.Response, error) {
	key := c.newKey()
	for try := 1; ; try++ {
		r, err := http.NewRequestWithContext(ctx, http.MethodPost, c.base+pathOf("days"), bytes.NewReader(sheet))
		if err != nil {
			return nil, err
		}
		r.Header = http.Header{"Idempotency-Key": {key}, "Content-Type": {csvType}, "Accept": {jsonType}}
		answer, err := c.http.Do(r)
		if err == nil || try >= lostTries || ctx.Err() != nil {
			return answer, err
		}
	}
}
