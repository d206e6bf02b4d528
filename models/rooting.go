package models

// RateMethod is how a rooting rate was worked out.
type RateMethod string

// The methods. OneBatch holds within that batch only. CrudeClosed counts batches
// that were all watched long enough. AtDay is read off the curve while some are
// still open.
const (
	OneBatch    RateMethod = "one_batch"
	CrudeClosed RateMethod = "crude_closed"
	AtDay       RateMethod = "npmle_at_day"
)

// RootingRate is a rate of rooting with its limits, as shares of those stuck. A
// rate without its day means nothing.
type RootingRate struct {
	Estimate *float64   `json:"estimate" doc:"Share of the cuttings stuck that had rooted by the day; null where nobody has looked"`
	Lower    *float64   `json:"lower" doc:"Lower limit; null where there is none"`
	Upper    *float64   `json:"upper" doc:"Upper limit; null where there is none"`
	Level    float64    `json:"level" doc:"Confidence of the limits" example:"0.95"`
	Method   RateMethod `json:"method" doc:"How it was worked out: one_batch, crude_closed or npmle_at_day"`
	Day      *int       `json:"day" doc:"Days after sticking of which it speaks"`
	Deff     *float64   `json:"deff" doc:"Design effect: how many times the variance is larger because batches differ"`
	NEff     *float64   `json:"n_eff" doc:"Effective number of cuttings"`
	DF       *int       `json:"df" doc:"Degrees of freedom of the limits; null where they are normal ones"`

	RhoAssumed bool `json:"rho_assumed" doc:"True where none or all rooted in two batches or more: that tells nothing of how far batches differ, and the limits reckon with the usual correlation of two cuttings of a batch, 0.08"`
}

// RootingCounts are the summed counts of some batches. Batches without a look at
// their roots are in no other number.
type RootingCounts struct {
	Cuttings      int `json:"cuttings" doc:"Cuttings stuck"`
	Batches       int `json:"batches" doc:"Batches whose roots were looked at, and those that died before"`
	WithoutChecks int `json:"batches_without_checks" doc:"Batches of whose roots nobody knows anything, in no other number here"`
	Rooted        int `json:"rooted" doc:"Ever found rooted"`
	Lost          int `json:"lost" doc:"Lost before they rooted"`
	Withdrawn     int `json:"withdrawn" doc:"Taken out unrooted: no loss"`
	Open          int `json:"open" doc:"Neither rooted, lost nor withdrawn"`
}

// RootingKey says what the batches of a group have in common, by what they are
// grouped by; empty where all are pooled.
type RootingKey map[string]string

// RateGroup is the rooting rate of a group of batches.
type RateGroup struct {
	Key RootingKey `json:"key" doc:"What its batches have in common"`
	RootingCounts
	Closed         int            `json:"batches_closed" doc:"Batches watched long enough to count as final, whatever had rooted"`
	Rate           RootingRate    `json:"rate" doc:"The rate, discards counted as losses"`
	RateCensored   *RootingRate   `json:"rate_discards_as_censored,omitempty" doc:"The rate if those discarded had been left standing unseen; only where some were discarded"`
	DaysToRoot     CurveDays      `json:"days_to_root" doc:"Days by which shares had rooted, without limits"`
	Overdispersion Overdispersion `json:"overdispersion" doc:"How much batches differ from each other"`
	Notes          []string       `json:"notes" doc:"What to know before using the numbers"`
}

// Overdispersion is the beta-binomial variation between batches.
type Overdispersion struct {
	Mu                    *float64 `json:"mu" doc:"Mean rate over batches"`
	Theta                 *float64 `json:"theta" doc:"1 / (a + b) of the beta distribution of rates"`
	Rho                   *float64 `json:"rho" doc:"Correlation of two cuttings of a batch: theta / (1 + theta)"`
	LogLikelihood         *float64 `json:"log_likelihood" doc:"Log-likelihood with binomial coefficients"`
	LogLikelihoodBinomial *float64 `json:"log_likelihood_binomial" doc:"The same if batches did not differ"`
	TaroneZ               *float64 `json:"tarone_z" doc:"Tarone's statistic of no difference between batches"`
	TaroneP               *float64 `json:"tarone_p" doc:"Its one-sided p"`
	Status                string   `json:"status" enum:"estimated,no_overdispersion,not_estimable" doc:"estimated, no_overdispersion or not_estimable"`
	Reason                string   `json:"reason,omitempty" doc:"Why it cannot be estimated"`
	Batches               int      `json:"batches" doc:"Batches it was worked out from"`
	LeftOut               int      `json:"batches_left_out" doc:"Batches left out because they are still open"`
}

// CurveStep is a stretch of days in which a share of the cuttings came to an end.
// Nothing is known of when within it.
type CurveStep struct {
	Cause string  `json:"cause" enum:"rooted,lost,unresolved" doc:"rooted, lost, or unresolved: not seen to end"`
	From  int     `json:"from" doc:"After this day"`
	To    *int    `json:"to" doc:"By this day; null where it was not seen"`
	Mass  float64 `json:"mass" doc:"Share of the cuttings stuck"`
}

// CurvePoint is the curve at the end of a day. The lower share was found by then;
// the upper may have been there already.
type CurvePoint struct {
	Day         int         `json:"day" doc:"Days after sticking"`
	RootedLower float64     `json:"rooted_lower" doc:"Share rooted by then for sure"`
	RootedUpper float64     `json:"rooted_upper" doc:"Share that may have rooted by then"`
	LostLower   float64     `json:"lost_lower" doc:"Share lost by then for sure"`
	LostUpper   float64     `json:"lost_upper" doc:"Share that may have been lost by then"`
	AtRisk      int         `json:"at_risk" doc:"Cuttings that were unrooted before the day in batches looked at on that day or later"`
	Limits      *[2]float64 `json:"limits" doc:"Limits of the share rooted; null where there are none, and after tau"`
}

// CurveLevel is the stretch of days in which a level of rooting was reached.
type CurveLevel struct {
	Bracket
	Limits *[2]*int `json:"limits" doc:"Limits of the day; the upper is null where it was not reached"`
}

// CurveLevels are the days by which a tenth, half and nine tenths had rooted.
type CurveLevels struct {
	T10 CurveLevel `json:"t10" doc:"A tenth"`
	T50 CurveLevel `json:"t50" doc:"Half"`
	T90 CurveLevel `json:"t90" doc:"Nine tenths"`
}

// CurveDays are the days to root on two bases.
type CurveDays struct {
	OfStuck  CurveLevels `json:"of_stuck" doc:"Shares of the cuttings stuck"`
	OfRooted CurveLevels `json:"of_rooted" doc:"Shares of those rooted by tau"`
}

// Resampling says how limits were drawn, so that they can be drawn again.
type Resampling struct {
	Method     string `json:"method" enum:"batches,within_batch,none" doc:"batches: whole batches drawn again; within_batch: one batch, limits hold within it only; none"`
	Replicates int    `json:"replicates" doc:"How many times"`
	Seed       uint64 `json:"seed" doc:"Seed of the random numbers"`
}

// RootingCurve is the curve of a group of batches.
type RootingCurve struct {
	Key RootingKey `json:"key" doc:"What its batches have in common"`
	RootingCounts
	LogLikelihood float64      `json:"log_likelihood" doc:"Without multinomial constants"`
	Gap           float64      `json:"gap" doc:"How much higher the log-likelihood could be at most"`
	Unique        bool         `json:"unique" doc:"Whether the masses are the only ones with that likelihood"`
	Tau           *int         `json:"tau" doc:"Last day with enough cuttings under watch; nothing is said beyond it. Null without checks"`
	Steps         []CurveStep  `json:"steps" doc:"Where the shares lie; they sum to 1"`
	Curve         []CurvePoint `json:"curve" doc:"The curve, day by day of the looks"`
	DaysToRoot    CurveDays    `json:"days_to_root" doc:"Days by which shares had rooted"`
	Rate          RootingRate  `json:"rate" doc:"The final rate"`
	Bootstrap     Resampling   `json:"bootstrap" doc:"How the limits were drawn"`
	Notes         []string     `json:"notes" doc:"What to know before using the numbers"`
}

// DaysGroup is the days to root of a group of batches.
type DaysGroup struct {
	Key RootingKey `json:"key" doc:"What its batches have in common"`
	RootingCounts
	Tau        *int       `json:"tau" doc:"Last day with enough cuttings under watch"`
	DaysToRoot CurveDays  `json:"days_to_root" doc:"Days by which shares had rooted"`
	Bootstrap  Resampling `json:"bootstrap" doc:"How the limits were drawn"`
	Notes      []string   `json:"notes" doc:"What to know before using the numbers"`
}

// GroupReport answers a question about groups of batches.
type GroupReport[G any] struct {
	On     Date     `json:"on,omitzero" doc:"The day it speaks of"`
	By     []string `json:"by" doc:"What the batches are grouped by"`
	Groups []G      `json:"groups" doc:"The groups, by key"`
}

// RateReport answers what rooted.
type RateReport = GroupReport[RateGroup]

// CurveReport answers how fast what rooted.
type CurveReport = GroupReport[RootingCurve]

// DaysReport answers in how many days what rooted.
type DaysReport = GroupReport[DaysGroup]
