package nursery

import (
	"context"
	"errors"
	"time"

	"withybed/models"
	"withybed/models/documents"
	"withybed/models/rules"
	"withybed/models/store"
)

// ClaimLetter takes the next letter whose time has come for a server to send. The
// letter is its own until the lease is over; after that another may take it, so
// a lease must outlast the sending. A letter that was never tried gets its
// message id, of the host of the sender's address. Found is false where none
// waits.
func (n *Nursery) ClaimLetter(ctx context.Context, by, host string, lease time.Duration) (letter models.Letter, found bool, err error) {
	letter, err = write(ctx, n, func(tx *store.Tx, now moment) (models.Letter, error) {
		l, err := tx.NextLetter(now.at)
		if err != nil {
			return l, err
		}
		until := now.at.Add(lease)
		l.HeldBy, l.HeldUntil = by, &until
		l.Tries++
		if l.MessageID == "" {
			l.MessageID = l.ID + "@" + host
		}
		return l, tx.MarkLetter(l)
	})
	if errors.Is(err, store.ErrNoRow) {
		return models.Letter{}, false, nil
	}
	return letter, err == nil, err
}

// MarkSent notes that a letter was taken by the relay, or stands in the folder. It
// is stale where the server's lease ended and another took the letter, or where
// its address was erased meanwhile.
func (n *Nursery) MarkSent(ctx context.Context, id, by string) error {
	return n.settleLetter(ctx, id, by, func(l *models.Letter, at time.Time) {
		l.SentAt, l.Trouble = &at, ""
	})
}

// MarkFailed notes what the try of a letter met. It is tried again later, the
// longer the more tries it had, unless it was refused for good or is five days
// old: then it is given up, and kept. It is stale as MarkSent is.
func (n *Nursery) MarkFailed(ctx context.Context, id, by, trouble string, forGood bool) error {
	return n.settleLetter(ctx, id, by, func(l *models.Letter, at time.Time) {
		l.Trouble = documents.OneLine(trouble, troubleLength)
		if rules.GivesUp(l, forGood, at) {
			l.GivenUpAt = &at
			return
		}
		l.TryAt = rules.NextTry(l.Tries, at)
	})
}

// troubleLength is how much is kept of what a try met, in characters.
const troubleLength = 500

// settleLetter ends the hold of a server on a letter.
func (n *Nursery) settleLetter(ctx context.Context, id, by string, note func(l *models.Letter, at time.Time)) error {
	_, err := write(ctx, n, func(tx *store.Tx, now moment) (models.Letter, error) {
		l, err := tx.Letter(id)
		if errors.Is(err, store.ErrNoRow) || err == nil && (l.HeldBy != by || l.State() != models.LetterWaiting) {
			return l, errNotHeld
		}
		if err != nil {
			return l, err
		}
		l.HeldBy, l.HeldUntil = "", nil
		note(&l, now.at)
		return l, tx.MarkLetter(l)
	})
	return err
}

var errNotHeld = models.Errorf(models.Stale, "stale", "the letter is not this server's to mark any more: another took it when the lease was over, or its address was erased")

// Letters lists letters, the latest made first; of one state alone if it is not
// empty.
func (n *Nursery) Letters(ctx context.Context, state models.LetterState, page models.Page) (models.List[models.LetterView], error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (list models.List[models.LetterView], err error) {
		letters, err := tx.Letters(state, page)
		if err != nil {
			return list, err
		}
		return listOf(letters, letterView), nil
	})
}

func letterView(l models.Letter) models.LetterView {
	return models.LetterView{
		ID: l.ID, State: l.State(), Address: l.Address, Subject: l.Subject, MadeAt: l.MadeAt, TryAt: l.TryAt,
		Tries: l.Tries, SentAt: l.SentAt, GivenUpAt: l.GivenUpAt, Trouble: l.Trouble,
	}
}
