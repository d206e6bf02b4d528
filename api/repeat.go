package api

import (
	"context"
	"encoding/json"
	"net/http"
)

// Kept is a POST that was put by, with the key it was to be sent under.
type Kept struct {
	Key         string
	Path        string // from the server's address on, escaped: /v1/batches
	ContentType string
	Body        []byte
}

// Repeat sends a POST that was put by, under the key it had, and gives the answer
// as it came: done once, it is answered as the first time.
func (c *Client) Repeat(ctx context.Context, k Kept) (json.RawMessage, error) {
	header := http.Header{"Idempotency-Key": {k.Key}, "Content-Type": {k.ContentType}}
	answer, _, err := send[json.RawMessage](ctx, c, call{
		method: http.MethodPost, path: k.Path, body: k.Body, header: header, tries: lostTries,
	})
	return answer, err
}
