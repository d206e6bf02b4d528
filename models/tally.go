package models

// Stage is where the cuttings of a batch are.
type Stage string

// The stages, in their usual order.
const (
	StageCut     Stage = "cut"     // waiting in hand
	StageSoaking Stage = "soaking" // in water before sticking
	StageStored  Stage = "stored"  // in a refrigerator or cold store
	StageStuck   Stage = "stuck"   // in the medium, none found rooted
	StageRooting Stage = "rooting" // some found rooted
	StageEmptied Stage = "emptied" // nothing left to wait for
	StageEnded   Stage = "ended"   // closed by a decision
)

// Tally is where every cutting of a batch is on a day. Before sticking: made =
// in hand + soaking + refrigerator + cold store + lost + used + to sisters +
// stuck. After it: stuck = unrooted + rooted + lost + withdrawn + lost after
// rooting + potted.
type Tally struct {
	Made          int    `json:"made" doc:"Cuttings it began with"`
	InHand        int    `json:"in_hand" doc:"Waiting, neither soaking nor stored"`
	Soaking       int    `json:"soaking" doc:"In soak"`
	Refrigerator  int    `json:"refrigerator" doc:"In an ordinary refrigerator"`
	ColdStore     int    `json:"cold_store" doc:"In a cold store at -2 to 0.5 degrees Celsius"`
	LostWaiting   int    `json:"lost_before_sticking" doc:"Lost before they were stuck"`
	Used          int    `json:"used_unrooted" doc:"Staked, woven or given away unrooted"`
	ToSisters     int    `json:"to_sisters" doc:"Split off into sister batches before sticking"`
	Stuck         int    `json:"stuck" doc:"Stuck, the base of every rooting percent"`
	Unrooted      int    `json:"unrooted" doc:"Live and unrooted in the tray"`
	Rooted        int    `json:"rooted" doc:"Rooted in the tray"`
	PottingRoots  int    `json:"potting_roots" doc:"Of those rooted in the tray, known to have potting roots"`
	LostUnrooted  int    `json:"lost_before_rooting" doc:"Lost before they rooted"`
	LostRooted    int    `json:"lost_after_rooting" doc:"Lost after they rooted"`
	Withdrawn     int    `json:"withdrawn" doc:"Taken out unrooted, to look at, to give away or to stick again"`
	Potted        int    `json:"potted" doc:"Potted up"`
	EverRooted    int    `json:"ever_rooted" doc:"Rooted in the tray + potted + lost after rooting"`
	UnrootedAtEnd int    `json:"unrooted_at_close" doc:"Of the unrooted, those still there when the batch was closed"`
	LostByCause   Losses `json:"lost_by_cause" doc:"Every loss, by cause"`
}

// Live is how many cuttings stand alive in the tray.
func (t *Tally) Live() int { return t.Unrooted + t.Rooted }

// Waiting is how many cuttings are not stuck yet.
func (t *Tally) Waiting() int { return t.InHand + t.Soaking + t.Refrigerator + t.ColdStore }

// RootingCount is the rooting percent of one batch, which means nothing without
// its day.
type RootingCount struct {
	Stuck      int     `json:"stuck" doc:"Cuttings stuck"`
	EverRooted int     `json:"ever_rooted" doc:"Ever rooted"`
	Percent    float64 `json:"percent" doc:"Ever rooted as percent of stuck, never of survivors"`
	Lower      float64 `json:"lower" doc:"Lower end of the Wilson 95 % interval in percent, within this batch only"`
	Upper      float64 `json:"upper" doc:"Upper end of the Wilson 95 % interval in percent, within this batch only"`
	On         Date    `json:"on" doc:"Day it speaks of: the last look at roots or potting"`
}

// BracketStatus says whether a level of rooting was reached.
type BracketStatus string

// A level was reached between two looks, or not reached yet, or means nothing
// because none rooted.
const (
	Reached    BracketStatus = "reached"
	NotReached BracketStatus = "not_reached"
	Undefined  BracketStatus = "undefined"
)

// Bracket is when a level of rooting was reached: after day From and by day To,
// in days after sticking.
type Bracket struct {
	Status BracketStatus `json:"status" enum:"reached,not_reached,undefined" doc:"reached, not_reached or undefined"`
	From   *int          `json:"from" doc:"Days after sticking at the last look before it was reached"`
	To     *int          `json:"to" doc:"Days after sticking at the look that found it reached"`
}

// Levels are the days by which a tenth, half and nine tenths had rooted.
type Levels struct {
	T10 Bracket `json:"t10" doc:"A tenth"`
	T50 Bracket `json:"t50" doc:"Half"`
	T90 Bracket `json:"t90" doc:"Nine tenths"`
}

// DaysToRoot are observed brackets of the days to root, on two bases.
type DaysToRoot struct {
	OfStuck  Levels `json:"of_stuck" doc:"Shares of the cuttings stuck"`
	OfRooted Levels `json:"of_rooted" doc:"Shares of the cuttings found rooted so far"`
}
