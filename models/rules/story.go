package rules

import "withybed/models"

// Story is what a batch's entries add up to on a day. Replay tells it.
type Story struct {
	On    models.Date // the day it is told for: entries dated later are left out
	Tally models.Tally
	Stage models.Stage
	State models.State

	Waits []Wait  // cuttings not stuck yet: where, since when
	Found []Found // cuttings found rooted, and between which looks
	Tray  []Found // of those, the ones that still stand rooted in the tray, oldest first

	Checks    int         // checks that moved the counts
	LastCheck models.Date // last check of any kind, also one of a part of the tray
	LastFull  models.Date // last check that moved the counts
	LastLook  models.Date // last day roots were looked at in the whole tray, or cuttings potted
	Grade     *Grade      // the last look that graded roots, if potting did not empty it since

	QuietUntil models.Date // day to which a decision keeps it quiet
	EndedOn    models.Date // day it was closed
}

// Wait is cuttings that wait to be stuck, in one place since one day.
type Wait struct {
	In    models.MoveTo // soak, refrigerator or cold_store; empty is in hand
	Since models.Date
	Count int
}

// Found is cuttings found rooted by a look on day By that were not found by the
// look before it, on day After (the sticking where there was none).
type Found struct {
	After models.Date
	By    models.Date
	Count int
}

// Grade is what a look said of the roots of those looked at.
type Grade struct {
	On       models.Date
	Live     int // live cuttings looked at: the tray, or those examined
	Rooted   int // of these, rooted
	Ready    int // of these, with potting roots
	Overlong int // of these, with roots too long already
	Partial  bool
}
