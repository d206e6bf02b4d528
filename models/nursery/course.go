package nursery

import (
	"context"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// CourseQuery asks what was taken of a stand over days.
type CourseQuery struct {
	From    models.Date // the growth year two years before the last by default
	To      models.Date // the end of this growth year by default
	KnownOn models.Date // by what was known at the end of that day; by what is known now by default
}

// Course answers what was taken of a stand in its window, against its limit, over days.
func (n *Nursery) Course(ctx context.Context, code string, q CourseQuery) (models.Course, error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (models.Course, error) {
		tx, now, err := asKnown(tx, now, q.KnownOn)
		if err != nil {
			return models.Course{}, err
		}
		from, to, err := rules.CourseDays(q.From, q.To, now.today)
		if err != nil {
			return models.Course{}, err
		}
		record, err := findStand(tx, now, code, from)
		if err != nil {
			return models.Course{}, err
		}
		return rules.Course(record, from, to, now.today), nil
	})
}
