package store

import (
	"gorm.io/gorm"

	"withybed/models"
)

// AddShare writes a crew share; its first entry of the ledger comes after it.
func (tx *Tx) AddShare(s models.Share) error {
	return tx.add("add crew share "+s.ID, "crew_shares", &s)
}

// EndShare notes of a crew share that nothing can be drawn on it from a day on. One that
// has ended stays as it is.
func (tx *Tx) EndShare(id string, on models.Date) error {
	return explain("end crew share "+id, tx.db.Exec("UPDATE crew_shares SET ended_on = ? WHERE id = ? AND ended_on IS NULL", on, id).Error)
}

// ShareOf is a crew share of a stand, ended or not, or ErrNoRow.
func (tx *Tx) ShareOf(standID, id string) (models.Share, error) {
	return take[models.Share]("read crew share "+id, tx.db.Table("crew_shares").Where("stand_id = ? AND id = ?", standID, id))
}

// SharesOf lists the crew shares of a stand with what became of them, the latest
// entered first.
func (tx *Tx) SharesOf(standID string, page models.Page) (models.List[models.KeptShare], error) {
	after, going, err := oneKey("shares", page)
	if err != nil {
		return models.List[models.KeptShare]{}, err
	}
	query := tx.shareRows().Where("crew_shares.stand_id = ?", standID).Order("crew_shares.id DESC").Limit(page.Size() + 1)
	if going {
		query = query.Where("crew_shares.id < ?", after)
	}
	list, err := keptShares("list the crew shares of stand "+standID, query)
	return pageOf(list, page, func(s models.KeptShare) string { return cursorOf("shares", s.ID) }), err
}

// HeldShares lists the crew shares of all stands of which something is set aside still,
// those whose last day comes first at the top. Those whose last day is before since are
// left out; of one land manager alone if it is not empty.
func (tx *Tx) HeldShares(landManager string, since models.Date, page models.Page) (models.List[models.KeptShare], error) {
	none := models.List[models.KeptShare]{}
	day, id, going, err := dayAndID("held shares", page)
	if err != nil {
		return none, err
	}
	query := tx.shareRows().Where("crew_shares.id IN (SELECT id FROM crew_shares WHERE ended_on IS NULL AND to_day >= ?)", since).
		Having("SUM(ledger.stems) <> 0").Order("crew_shares.to_day, crew_shares.id").Limit(page.Size() + 1)
	if landManager != "" {
		spelt, err := tx.spellings("land_manager", landManager)
		if err != nil {
			return none, err
		}
		query = query.Where("stands.land_manager IN (?)", spelt)
	}
	if going {
		query = query.Where("(crew_shares.to_day, crew_shares.id) > (?, ?)", day, id)
	}
	list, err := keptShares("list what is set aside", query)
	return pageOf(list, page, func(s models.KeptShare) string { return cursorOf("held shares", s.ToDay.String(), s.ID) }), err
}

// StandsOfShares are the codes, as compared, of the stands that have crew shares which
// ended on a day or before, and on which batches can draw still.
func (tx *Tx) StandsOfShares(endedBy models.Date) ([]string, error) {
	return tx.codesOf("id IN (SELECT stand_id FROM crew_shares WHERE ended_on IS NULL AND to_day <= ?)", endedBy)
}

// StandsHolding are the codes, as compared, of the stands of a taxon that have crew
// shares on which batches can draw.
func (tx *Tx) StandsHolding(taxonID string) ([]string, error) {
	return tx.codesOf("taxon_id = ? AND id IN (SELECT stand_id FROM crew_shares WHERE ended_on IS NULL)", taxonID)
}

// CoveredHolding are the codes, as compared, of those of some stands that have crew
// shares on which batches can draw.
func (tx *Tx) CoveredHolding(standIDs []string) ([]string, error) {
	return tx.codesOf("id IN (SELECT stand_id FROM crew_shares WHERE ended_on IS NULL AND stand_id IN (?))", standIDs)
}

func (tx *Tx) codesOf(condition string, value any) ([]string, error) {
	var codes []string
	err := tx.db.Table("stands").Where(condition, value).Order("code_key").Pluck("code_key", &codes).Error
	return codes, explain("read the stands of crew shares", err)
}

// shareRow is a crew share with the sums of its entries.
type shareRow struct {
	models.Share
	StandCode  string
	StemsLeft  int
	PlantsLeft int
	Returned   int
	Released   int
}

func (tx *Tx) shareRows() *gorm.DB {
	return tx.db.Table("crew_shares").Select(columnsOf[models.Share](tx, "crew_shares")+`, stands.code AS stand_code,
			SUM(ledger.stems) AS stems_left, SUM(ledger.parents) AS plants_left,
			-SUM(CASE WHEN ledger.kind = ? THEN ledger.stems ELSE 0 END) AS returned,
			-SUM(CASE WHEN ledger.kind = ? THEN ledger.stems ELSE 0 END) AS released`, models.ShareReturned, models.ShareReleased).
		Joins("JOIN stands ON stands.id = crew_shares.stand_id").
		Joins("JOIN ledger ON ledger.share_id = crew_shares.id").
		Group("crew_shares.id, stands.code")
}

func keptShares(op string, query *gorm.DB) ([]models.KeptShare, error) {
	rows, err := find[shareRow](op, query)
	list := make([]models.KeptShare, len(rows))
	for i, r := range rows {
		list[i] = models.KeptShare{
			OpenShare: models.OpenShare{Share: r.Share, Left: r.StemsLeft, LeftParents: r.PlantsLeft},
			Stand:     r.StandCode, Returned: r.Returned, Released: r.Released,
		}
	}
	return list, err
}
