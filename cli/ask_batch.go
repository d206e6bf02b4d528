package cli

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/pflag"

	"withybed/api"
	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/rules"
)

// batchNeeds are the flags a batch cannot do without.
var batchNeeds = []string{"stand", "stems-cut", "cuttings", "collected-by"}

// askMissing asks for what a batch cannot do without and was not given, and shows
// all of it before it is sent.
func (l *batchLog) askMissing(ctx context.Context, c *api.Client) error {
	err := l.askStand(ctx, c)
	if err == nil {
		err = l.askDay(ctx)
	}
	if err == nil {
		err = l.settleDay(ctx, c)
	}
	if err == nil {
		err = l.askCounts(ctx, c)
	}
	if err == nil {
		err = l.askWhetherRight(ctx)
	}
	if errors.Is(err, context.Canceled) {
		l.note("nothing was recorded")
	}
	return err
}

func (l *batchLog) askStand(ctx context.Context, c *api.Client) error {
	if l.set.Changed("stand") {
		return nil
	}
	names, all, err := standsToChoose(ctx, c)
	if err != nil {
		return err
	}
	var codes []string
	for _, name := range names {
		code, _, _ := strings.Cut(name, " ")
		codes = append(codes, code)
	}
	switch {
	case len(names) == 0 && all:
		return errors.New("there is no stand yet to cut from: enter the first one with withy stand add")
	case all:
		l.say("Stands: %s.", strings.Join(names, ", "))
	case len(names) > 0:
		l.say("Stands: %s, and more: withy stand list.", strings.Join(names, ", "))
	}
	return l.askFor(ctx, &question{
		flag: "stand", title: "Stand", help: "its code", known: codes,
		check: func(text string) error {
			if all {
				return oneOfCodes(text, codes)
			}
			return said(text)
		},
	})
}

// standsShown is how many stands are listed to choose from.
const standsShown = 20

// standsToChoose are the codes of stands with their names, and whether those are
// all. A server that cannot be reached gives none, and the code is typed unseen; one
// that refuses is not asked in vain.
func standsToChoose(ctx context.Context, c *api.Client) (names []string, all bool, err error) {
	for stand, err := range c.Stands(ctx, nursery.StandQuery{}) {
		if known := models.AsError(err); known != nil && known.Kind != models.Unavailable {
			return nil, false, err
		}
		if err != nil || len(names) == standsShown {
			return names, false, ctx.Err()
		}
		names = append(names, stand.Code+" ("+stand.Name+spentWords(&stand)+")")
	}
	return names, true, nil
}

// spentWords mark a stand of which too much was taken.
func spentWords(stand *models.StandView) string {
	if stand.Exceeded == "" {
		return ""
	}
	return "; over its limit"
}

func oneOfCodes(text string, codes []string) error {
	for _, code := range codes {
		if models.NameKey(code) == models.NameKey(text) {
			return nil
		}
	}
	return fmt.Errorf("%q is not there%s", text, meant(rules.Near(text, codes)))
}

func (l *batchLog) askDay(ctx context.Context) error {
	if l.set.Changed("on") {
		return nil
	}
	return l.askFor(ctx, &question{
		flag: "on", title: "Day of the cut", help: "as 2026-01-17, or yesterday; Enter for today", known: []string{"today", "yesterday"},
		check: orNothing(func(text string) error {
			_, err := parseDay(strings.TrimSpace(text))
			return err
		}),
	})
}

// settleDay settles the day that is shown and sent.
func (l *batchLog) settleDay(ctx context.Context, c *api.Client) error {
	on, err := l.dayOf(ctx, c, l.on.orToday())
	l.on = day{date: on}
	return err
}

func (l *batchLog) askCounts(ctx context.Context, c *api.Client) error {
	all := []*question{
		{flag: "stems-cut", title: "Stems cut", help: "taken off the stand", check: countFrom(1)},
		{flag: "cuttings", title: "Cuttings", help: "made from them", check: countFrom(1)},
		l.askPlants(ctx, c),
		{flag: "collected-by", title: "Collected by", help: "who cut; initials do", check: said},
		{flag: "record-number", title: "Tag on the bundle", help: "the number written on it; Enter leaves it out", check: orNothing(said)},
	}
	var missing []*question
	for _, q := range all {
		if !l.set.Changed(q.flag) {
			missing = append(missing, q)
		}
	}
	return l.askFor(ctx, missing...)
}

// askPlants asks for the plants cut from, which can be left out unless plants were
// counted.
func (l *batchLog) askPlants(ctx context.Context, c *api.Client) *question {
	q := &question{flag: "parent-plants", title: "Parent plants", help: "plants or clumps cut from; Enter leaves it out", check: orNothing(countFrom(1))}
	if l.plantsCounted(ctx, c) {
		q.help, q.check = "plants or clumps cut from; the survey counted them, so it is needed", countFrom(1)
	}
	return q
}

// plantsCounted says that the survey in force on the day counted plants, as far as
// it is known.
func (l *batchLog) plantsCounted(ctx context.Context, c *api.Client) bool {
	if l.set.Changed("parent-plants") {
		return false
	}
	for survey, err := range c.Surveys(ctx, l.req.Stand) {
		if err != nil {
			return false
		}
		if !l.on.date.Before(survey.SurveyedOn) {
			_, counted := survey.PlantsCounted()
			return counted
		}
	}
	return false
}

// askFor asks, and sets the flags as if the answers had been given with them.
func (l *batchLog) askFor(ctx context.Context, questions ...*question) error {
	if err := l.ask(ctx, questions...); err != nil {
		return err
	}
	for _, q := range questions {
		answer := strings.TrimSpace(q.answer)
		if answer == "" {
			continue
		}
		if err := l.set.Set(q.flag, answer); err != nil {
			return usagef("--%s %s", q.flag, err)
		}
	}
	return nil
}

func (l *batchLog) askWhetherRight(ctx context.Context) error {
	l.say("%s", l.toBeLogged())
	yes, err := l.confirm(ctx, "Log it?")
	if err == nil && !yes {
		return context.Canceled
	}
	return err
}

// toBeLogged is what will be sent: the batch in a sentence, and the flags that say
// more of it.
func (l *batchLog) toBeLogged() string {
	r := &l.req
	text := fmt.Sprintf("To be logged: %s cut at %s on %s%s", models.Counted(r.StemsCut, "stem"), r.Stand, l.on.date, by(r.CollectedBy))
	if r.ParentPlants != nil {
		text += " from " + many(*r.ParentPlants, "plant", "plants")
	}
	text += ", " + models.Counted(r.Cuttings, "cutting") + " made."
	var more []string
	l.set.Visit(func(f *pflag.Flag) {
		if !shownInWords[f.Name] {
			more = append(more, "--"+f.Name+" "+f.Value.String())
		}
	})
	if len(more) > 0 {
		text += " With " + strings.Join(more, ", ") + "."
	}
	return text
}

// shownInWords are the flags that toBeLogged tells in its sentence, and those that
// say nothing of the batch.
var shownInWords = map[string]bool{
	"stand": true, "on": true, "stems-cut": true, "cuttings": true, "parent-plants": true, "collected-by": true,
	"server": true, "token": true, "json": true,
}

// Each of these says what is wrong with an answer.

func said(text string) error {
	if strings.TrimSpace(text) == "" {
		return errors.New("cannot be left empty")
	}
	return nil
}

func countFrom(least int) func(string) error {
	return func(text string) error {
		if err := said(text); err != nil {
			return err
		}
		n, err := parseCount(strings.TrimSpace(text))
		if err == nil && n < least {
			err = fmt.Errorf("is %d, and must be %d or more", n, least)
		}
		return err
	}
}

func orNothing(check func(string) error) func(string) error {
	return func(text string) error {
		if strings.TrimSpace(text) == "" {
			return nil
		}
		return check(text)
	}
}
