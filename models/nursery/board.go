package nursery

import (
	"context"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// BoardQuery asks for the board, of all stands or of some.
type BoardQuery struct {
	On          models.Date // today by default
	KnownOn     models.Date // by what was known at the end of that day; by what is known now by default
	Taxon       string
	Place       string
	LandManager string
}

// Board shows every stand with what is left of it on a day. It reads stands some at a
// time, and holds none.
func (n *Nursery) Board(ctx context.Context, q BoardQuery) (models.Board, error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (models.Board, error) {
		tx, now, err := asKnown(tx, now, q.KnownOn)
		if err != nil {
			return models.Board{}, err
		}
		board := models.Board{On: now.dayOr(q.On), Stands: []models.BoardRow{}}
		filter := models.StandFilter{Place: q.Place}
		if filter.LandManager, err = now.land(q.LandManager); err != nil {
			return board, err
		}
		if q.Taxon != "" {
			taxon, err := namedTaxon(tx, q.Taxon)
			if err != nil {
				return board, err
			}
			filter.TaxonID = taxon.ID
		}
		for stand, err := range tx.EachStandRecord(filter, rules.ExceededSince(board.On)) {
			if err != nil {
				return board, err
			}
			now.release(stand)
			board.Stands = append(board.Stands, rules.BoardRow(stand, board.On))
		}
		rules.SortBoard(board.Stands)
		return board, nil
	})
}

// land is whose land is asked about: anyone's, but for a land manager, who sees their
// own alone.
func (m *moment) land(asked string) (string, error) {
	if !m.caller.Is(models.Manager) {
		return asked, nil
	}
	own := m.caller.LandManager
	if asked != "" && models.NameKey(asked) != models.NameKey(own) {
		return "", models.Errorf(models.Forbidden, "not-for-role", "this token shows the land of %s alone: leave land_manager out", own)
	}
	return own, nil
}
