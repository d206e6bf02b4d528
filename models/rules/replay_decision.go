package rules

import "withybed/models"

func (p *replay) decide(d *models.Decision) error {
	switch d.Action {
	case models.Keep:
		p.QuietUntil = d.UntilDay
	case models.Discard:
		return p.discard(d.DecidedOn)
	case models.CloseBatch:
		p.EndedOn = d.DecidedOn
		p.Tally.UnrootedAtEnd = p.Tally.Unrooted
	}
	return nil
}

// discard throws out the unrooted ones of the tray, or before sticking those
// that wait.
func (p *replay) discard(on models.Date) error {
	if !p.stuck() {
		return p.discardWaiting(on)
	}
	n := p.Tally.Unrooted
	if n == 0 {
		return models.InvalidField("nothing-left", "action", models.Discard,
			"cannot be: no unrooted cuttings stood in the tray on %s", p.counted)
	}
	if err := p.wantAfterSticking("action", n, on); err != nil {
		return err
	}
	p.Tally.Unrooted = 0
	p.Tally.LostUnrooted += n
	p.Tally.LostByCause[models.Discarded] += n
	p.counted = on
	p.regrade()
	return nil
}

func (p *replay) discardWaiting(on models.Date) error {
	n := p.Tally.Waiting()
	if n == 0 {
		return models.InvalidField("nothing-left", "action", models.Discard, "cannot be: no cuttings wait to be stuck on %s", on)
	}
	p.setWaits(nil)
	p.Tally.LostWaiting += n
	p.Tally.LostByCause[models.Discarded] += n
	return nil
}
