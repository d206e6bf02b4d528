// Package testdata holds the example nursery: a made-up valley with its stands,
// surveys and two cutting seasons, as the requests that would enter it.
package testdata

import "embed"

// Files holds example/*.json, the bodies of requests in the order in which they
// are sent, and day.csv, the day sheet of one Saturday.
//
//go:embed example/*.json day.csv
var Files embed.FS
