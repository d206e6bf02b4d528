package api

import (
	"context"

	"withybed/models"
	"withybed/models/documents"
	"withybed/models/nursery"
)

type courseInput struct {
	StandPath
	From models.Date `query:"from" doc:"First day; two growth years before the last by default" example:"2024-07-01"`
	To   models.Date `query:"to" doc:"Last day; the end of this growth year by default" example:"2026-06-30"`
	Known
	Accepting
}

func (h handlers) course(ctx context.Context, in *courseInput) (*inType, error) {
	course, err := h.nursery.Course(ctx, in.Stand, nursery.CourseQuery{From: in.From, To: in.To, KnownOn: in.KnownOn})
	if err != nil {
		return nil, err
	}
	return orDrawn(in.Accepting, course, func(f documents.Format) ([]byte, error) { return documents.CoursePicture(course, f) })
}

// Course answers what was taken of a stand in its window, against its limit, over days.
func (c *Client) Course(ctx context.Context, stand string, q nursery.CourseQuery) (models.Course, error) {
	course, _, err := get[models.Course](ctx, c, pathOf("stands", stand, "plot"), asking("from", q.From.String(), "to", q.To.String(), "known_on", q.KnownOn.String()))
	return course, err
}
