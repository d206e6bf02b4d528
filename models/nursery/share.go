package nursery

import (
	"context"
	"errors"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// AddShare sets stems of a stand aside for a crew, if the stand can bear them on every
// day of the share.
func (n *Nursery) AddShare(ctx context.Context, o Once, code string, req models.NewShare) (models.ShareView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.ShareView, error) {
		none := models.ShareView{}
		record, err := findStand(tx, now, code, firstDay(req.From, now.today))
		if err != nil {
			return none, err
		}
		unlisted, err := now.settle(req.PersonFields())
		if err != nil {
			return none, err
		}
		share, warnings, err := rules.EnterShare(record, req, now.today)
		if err != nil {
			return none, err
		}
		share.ID, share.EnteredAt = n.newID(), now.at
		entry := rules.SetAside(&share)
		entry.ID, entry.EnteredAt = n.newID(), now.at
		now.change.made(share.ID)
		if err := tx.AddShare(share); err != nil {
			return none, err
		}
		if err := tx.AddLedgerEntries([]models.LedgerEntry{entry}); err != nil {
			return none, err
		}
		view := shareView(models.KeptShare{
			OpenShare: models.OpenShare{Share: share, Left: share.Stems, LeftParents: share.Parents}, Stand: record.Code,
		}, now.today)
		view.Leave = rules.LeaveFor(record, &share)
		view.Warnings = append(append(view.Warnings, warnings...), unlisted...)
		return view, now.veil(view.PersonFields())
	})
}

// firstDay is the earlier of a day and today, from which a ledger is read; today
// without a day.
func firstDay(day, today models.Date) models.Date {
	if day.IsZero() || day.After(today) {
		return today
	}
	return day
}

// ReturnShare returns all that is left of a crew share to its stand, named by its
// identifier or its crew.
func (n *Nursery) ReturnShare(ctx context.Context, o Once, code, share string, req models.NewShareReturn) (models.ShareView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.ShareView, error) {
		none := models.ShareView{}
		record, err := findStand(tx, now, code, now.today)
		if err != nil {
			return none, err
		}
		unlisted, err := now.settle(req.PersonFields())
		if err != nil {
			return none, err
		}
		found, err := findShare(tx, record, share)
		if err != nil {
			return none, err
		}
		entry, err := rules.ReturnShare(found, req)
		if err != nil {
			return none, err
		}
		entry.ID, entry.EnteredAt = n.newID(), now.at
		now.change.made(found.ID)
		if err := tx.EndShare(found.ID, now.today); err != nil {
			return none, err
		}
		if err := tx.AddLedgerEntries([]models.LedgerEntry{entry}); err != nil {
			return none, err
		}
		view := returnedView(record.Code, found, now.today)
		view.Warnings = append(view.Warnings, unlisted...)
		return view, now.veil(view.PersonFields())
	})
}

func returnedView(stand string, s *models.OpenShare, today models.Date) models.ShareView {
	kept := models.KeptShare{OpenShare: *s, Stand: stand, Returned: s.Left}
	kept.Left, kept.LeftParents, kept.EndedOn = 0, 0, today
	return shareView(kept, today)
}

// findShare finds the crew share of a path among those on which batches can draw. One
// that has ended is there, and cannot be returned.
func findShare(tx *store.Tx, record *models.StandRecord, text string) (*models.OpenShare, error) {
	found, err := rules.FindShare(record, models.Clean(text), models.Date{})
	if err != nil || found != nil {
		return found, err
	}
	ended, err := tx.ShareOf(record.ID, text)
	switch {
	case errors.Is(err, store.ErrNoRow):
		return nil, models.Errorf(models.NotFound, "no-such-share", "nothing is set aside under %q at %s: list its shares to see those there are", text, record.Code)
	case err != nil:
		return nil, err
	}
	return nil, models.Errorf(models.Conflict, "share-ended", "the share of %s to %s has ended already: what was left of it was returned or released", ended.Crew, ended.ToDay)
}

// Shares lists the crew shares of a stand, ended ones too, the latest entered first.
func (n *Nursery) Shares(ctx context.Context, code string, page models.Page) (models.List[models.ShareView], error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (list models.List[models.ShareView], err error) {
		record, err := findStand(tx, now, code, now.today)
		if err != nil {
			return list, err
		}
		shares, err := tx.SharesOf(record.ID, page)
		if err != nil {
			return list, err
		}
		return shareList(shares, rules.Misfits(record, now.today), now)
	})
}

// HeldShares lists what is set aside at all stands, the shares that end first at the
// top.
func (n *Nursery) HeldShares(ctx context.Context, page models.Page) (models.List[models.ShareView], error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (list models.List[models.ShareView], err error) {
		shares, err := tx.HeldShares(now.caller.LandManager, rules.OverUpTo(now.today).Add(1), page)
		if err != nil {
			return list, err
		}
		var codes []string
		for _, s := range shares.Items {
			codes = append(codes, models.NameKey(s.Stand))
		}
		records, err := tx.StandRecords(codes, now.today)
		if err != nil {
			return list, err
		}
		misfits := map[string]string{}
		for _, record := range records {
			now.release(record)
			for id, text := range rules.Misfits(record, now.today) {
				misfits[id] = text
			}
		}
		return shareList(shares, misfits, now)
	})
}

func shareList(shares models.List[models.KeptShare], misfits map[string]string, now moment) (models.List[models.ShareView], error) {
	list := listOf(shares, func(s models.KeptShare) models.ShareView {
		view := shareView(s, now.today)
		view.Misfit = misfits[s.ID]
		return view
	})
	return list, veilAll(list.Items, now.veil)
}

// shareView shows a share. One that is over and not released yet is shown as released.
func shareView(s models.KeptShare, today models.Date) models.ShareView {
	if s.EndedOn.IsZero() && rules.ShareOver(&s.Share, today) {
		s.Released, s.Left, s.LeftParents, s.EndedOn = s.Released+s.Left, 0, 0, rules.HeldUntil(&s.Share).Add(1)
	}
	return models.ShareView{
		Stand: s.Stand, Share: s.Share, Left: s.Left, LeftParents: s.LeftParents,
		Drawn: s.Stems - s.Left - s.Returned - s.Released, Returned: s.Returned, Released: s.Released,
		LogUntil: rules.HeldUntil(&s.Share), Unreturned: s.Left > 0 && today.After(s.ToDay), Warnings: []string{},
	}
}

// ReleaseShares releases what is left of the crew shares that are over at stands that
// nobody has touched since, and says whether there were any.
func (n *Nursery) ReleaseShares(ctx context.Context) (bool, error) { return n.releaseShares(ctx) }

func (n *Nursery) releaseShares(ctx context.Context) (bool, error) {
	return write(ctx, n, func(tx *store.Tx, now moment) (bool, error) {
		codes, err := tx.StandsOfShares(rules.OverUpTo(now.today))
		if err != nil {
			return false, err
		}
		records, err := tx.StandRecords(codes, models.Date{})
		if err != nil {
			return false, err
		}
		now.change.forget() // nobody asked for it by name
		now.release(records...)
		return len(now.releases.over) > 0, nil
	})
}
