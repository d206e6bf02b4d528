package jobs

import (
	"context"
	"errors"
	"fmt"
	"net/mail"
	"strings"
	"time"

	"withybed/models"
	"withybed/models/nursery"
)

// The times of the mail.
const (
	mailEvery = 15 * time.Second // alerts go at once, or nearly so
	lease     = 3 * time.Minute  // for how long a letter is this server's to send; longer than Patience
	endTime   = 8 * time.Second  // for a letter under way to be answered while the server is being stopped
	markTime  = 10 * time.Second // to note what became of a letter while the server is being stopped
)

// Post takes a letter to where it is read. An error that is a Refused will be the
// same the next time; after any other the letter may be sent again, under the same
// message id.
type Post interface {
	Send(ctx context.Context, l models.Letter) error
}

// Refused is a letter that was refused for good.
type Refused struct{ Err error }

// Error is what was answered.
func (r Refused) Error() string { return r.Err.Error() }

// Unwrap is the error within.
func (r Refused) Unwrap() error { return r.Err }

// Mail sends the letters that wait in the outbox of a nursery.
type Mail struct {
	// Watch is told of every letter that was tried whether it was sent; nil watches
	// nothing.
	Watch func(sent bool)

	nursery *nursery.Nursery
	post    Post
	from    mail.Address
	by      string
}

// NewMail sends the letters of a nursery by a post, from an address, under a name
// that no other sender at the same database bears.
func NewMail(n *nursery.Nursery, post Post, from mail.Address, by string) *Mail {
	return &Mail{nursery: n, post: post, from: from, by: by}
}

// MessageID is the message id of a letter that was never tried, by its id and the
// sender's address.
func MessageID(id string, from mail.Address) string { return id + "@" + hostOf(from) }

func hostOf(address mail.Address) string {
	return address.Address[strings.LastIndexByte(address.Address, '@')+1:]
}

// Job sends what waits, every few seconds.
func (m *Mail) Job() Job {
	return Job{Name: "mail", Every: mailEvery, Run: func(ctx context.Context) (bool, error) {
		done, err := m.Deliver(ctx)
		if err == nil && done.Failed > 0 {
			err = fmt.Errorf("%s could not be sent: withy mail list says why", models.Counted(done.Failed, "letter"))
		}
		return done.Sent > 0, err
	}}
}

// Delivered says how many letters a run of the mail sent, and how many it could
// not send.
type Delivered struct {
	Sent   int `json:"sent"`
	Failed int `json:"failed"`
}

// Deliver sends one letter after the other until none waits, or ctx ends.
func (m *Mail) Deliver(ctx context.Context) (done Delivered, err error) {
	for ctx.Err() == nil {
		letter, found, err := m.nursery.ClaimLetter(ctx, m.by, hostOf(m.from), lease)
		if err != nil || !found {
			return done, err
		}
		if err := m.deliver(ctx, letter, &done); err != nil {
			return done, err
		}
	}
	return done, nil
}

// deliver sends a letter and notes what became of it, even if ctx ends meanwhile:
// a letter that was sent and not marked would be sent again. One whose address was
// erased while it was under way has no mark to make.
func (m *Mail) deliver(ctx context.Context, letter models.Letter, done *Delivered) error {
	err := m.sendAndMark(ctx, letter, done)
	if e := models.AsError(err); e != nil && e.Kind == models.Stale {
		return nil
	}
	return err
}

func (m *Mail) sendAndMark(ctx context.Context, letter models.Letter, done *Delivered) error {
	sending, stop := outlast(ctx, endTime)
	defer stop()
	met := m.post.Send(sending, letter)
	if m.Watch != nil {
		m.Watch(met == nil)
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), markTime)
	defer cancel()
	if met == nil {
		done.Sent++
		return m.nursery.MarkSent(ctx, letter.ID, m.by)
	}
	done.Failed++
	return m.nursery.MarkFailed(ctx, letter.ID, m.by, met.Error(), errors.As(met, new(Refused)))
}

// outlast is a context that ends some time after another.
func outlast(ctx context.Context, by time.Duration) (context.Context, context.CancelFunc) {
	longer, cancel := context.WithCancel(context.WithoutCancel(ctx))
	stop := context.AfterFunc(ctx, func() { time.AfterFunc(by, cancel) })
	return longer, func() {
		stop()
		cancel()
	}
}
