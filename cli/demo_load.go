package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"strings"

	"withybed/api"
	"withybed/models"
	"withybed/testdata"
)

// exampleSurveys are the counts of one stand, and what befell it.
type exampleSurveys struct {
	Stand        string                  `json:"stand"`
	Surveys      []models.NewSurvey      `json:"surveys"`
	Disturbances []models.NewDisturbance `json:"disturbances"`
}

// exampleBatch is a batch with what was entered about it and its sisters later.
type exampleBatch struct {
	Batch string          `json:"batch"` // the code it is to get
	Log   models.NewBatch `json:"log"`
	Then  []exampleEntry  `json:"then"`
}

// exampleEntry is the body of a request to a path under /v1/batches.
type exampleEntry struct {
	Path string          `json:"path"`
	Body json.RawMessage `json:"body"`
}

// example is the example nursery as requests, in the order they are sent.
type example struct {
	nursery models.NurseryEdit
	taxa    []models.NewTaxon
	stands  []models.NewStand
	surveys []exampleSurveys
	batches []exampleBatch
}

func readExample() (x example, err error) {
	for _, file := range []struct {
		name string
		into any
	}{
		{"nursery", &x.nursery}, {"taxa", &x.taxa}, {"stands", &x.stands}, {"surveys", &x.surveys}, {"batches", &x.batches},
	} {
		text, err := testdata.Files.ReadFile("example/" + file.name + ".json")
		if err != nil {
			return x, err
		}
		if err := strictly(text, file.into); err != nil {
			return x, fmt.Errorf("read %s.json of the example: %w", file.name, err)
		}
	}
	return x, nil
}

// strictly reads JSON and refuses fields that are not known: a slip in the
// example is not to pass in silence.
func strictly(text []byte, into any) error {
	decoder := json.NewDecoder(bytes.NewReader(text))
	decoder.DisallowUnknownFields()
	return decoder.Decode(into)
}

// loader enters the example through a client.
type loader struct {
	*api.Client
	warned func(what string, warnings []string) // told what the door warns of
	passed func(done, of int)                   // told after each batch
}

func (l *loader) load(ctx context.Context, x example) error {
	for _, step := range []func(context.Context, example) error{l.settle, l.addStands, l.addSurveys, l.logBatches} {
		if err := step(ctx, x); err != nil {
			return fmt.Errorf("load the example: %w", err)
		}
	}
	return nil
}

func (l *loader) settle(ctx context.Context, x example) error {
	view, err := l.Nursery(ctx)
	if err != nil {
		return err
	}
	_, err = l.EditNursery(ctx, view.Version, x.nursery)
	return err
}

func (l *loader) addStands(ctx context.Context, x example) error {
	for _, taxon := range x.taxa {
		if _, err := l.AddTaxon(ctx, taxon); err != nil {
			return err
		}
	}
	for _, stand := range x.stands {
		if _, err := l.AddStand(ctx, stand); err != nil {
			return err
		}
	}
	return nil
}

func (l *loader) addSurveys(ctx context.Context, x example) error {
	for _, of := range x.surveys {
		for _, survey := range of.Surveys {
			view, err := l.AddSurvey(ctx, of.Stand, survey)
			if err != nil {
				return err
			}
			l.warned(of.Stand, view.Warnings)
		}
		for _, event := range of.Disturbances {
			if _, err := l.AddDisturbance(ctx, of.Stand, event); err != nil {
				return err
			}
		}
	}
	return nil
}

func (l *loader) logBatches(ctx context.Context, x example) error {
	for i, batch := range x.batches {
		view, err := l.LogBatch(ctx, batch.Log)
		if err != nil {
			return fmt.Errorf("%s: %w", batch.Batch, err)
		}
		if view.Code != batch.Batch {
			return fmt.Errorf("batch %s got the code %s", batch.Batch, view.Code)
		}
		l.warned(batch.Batch, view.Warnings)
		for _, entry := range batch.Then {
			if err := l.enter(ctx, entry); err != nil {
				return fmt.Errorf("%s: %w", entry.Path, err)
			}
		}
		l.passed(i+1, len(x.batches))
	}
	return nil
}

// enter sends what was entered about a batch later.
func (l *loader) enter(ctx context.Context, entry exampleEntry) error {
	batch, what, _ := strings.Cut(entry.Path, "/")
	send, known := exampleEntries[what]
	if !known {
		return fmt.Errorf("there is no entry %q", what)
	}
	view, err := send(ctx, l.Client, batch, entry.Body)
	if err == nil {
		l.warned(entry.Path, view.Warnings)
	}
	return err
}

type sendEntry func(ctx context.Context, c *api.Client, batch string, body []byte) (models.BatchView, error)

// exampleEntries send each kind of entry, by the end of its path.
var exampleEntries = map[string]sendEntry{
	"moves":     entryOf((*api.Client).Move),
	"stickings": entryOf((*api.Client).Stick),
	"checks":    entryOf((*api.Client).Check),
	"pottings":  entryOf((*api.Client).Pot),
	"decisions": entryOf((*api.Client).Decide),
	"splits": entryOf(func(c *api.Client, ctx context.Context, batch string, req models.NewSplit) (models.BatchView, error) {
		view, err := c.Split(ctx, batch, req)
		return view.Batch, err
	}),
}

func entryOf[R any](send func(*api.Client, context.Context, string, R) (models.BatchView, error)) sendEntry {
	return func(ctx context.Context, c *api.Client, batch string, body []byte) (models.BatchView, error) {
		var req R
		if err := strictly(body, &req); err != nil {
			return models.BatchView{}, err
		}
		return send(c, ctx, batch, req)
	}
}
