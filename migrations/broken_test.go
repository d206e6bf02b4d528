package migrations_test

import "testing/fstest"

// brokenSteps are one step that works and one that fails half-way.
var brokenSteps = fstest.MapFS{
	"sqlite/00001_pots.sql":    &fstest.MapFile{Data: []byte(pots)},
	"sqlite/00002_trays.sql":   &fstest.MapFile{Data: []byte(trays)},
	"postgres/00001_pots.sql":  &fstest.MapFile{Data: []byte(pots)},
	"postgres/00002_trays.sql": &fstest.MapFile{Data: []byte(trays)},
}

const (
	pots  = "-- +goose Up\nCREATE TABLE pots (n INTEGER);\n"
	trays = "-- +goose Up\nCREATE TABLE trays (n INTEGER);\nINSERT INTO benches VALUES (1);\n"
)
