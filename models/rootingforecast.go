package models

// ForecastPool is the pool of batches behind a forecast: as narrow as the records
// allow, and how it goes wider is said.
type ForecastPool struct {
	Level      string   `json:"level" enum:"taxon_kind_treatment,taxon_kind,taxon,prior" doc:"Where the search for a pool stopped: taxon_kind_treatment (and heated or not), taxon_kind, taxon, or prior where the nursery's own records do not tell"`
	Basis      string   `json:"basis" doc:"The pool in words"`
	Batches    int      `json:"batches" doc:"Batches it was fitted to"`
	Closed     int      `json:"batches_closed" doc:"Of these, those watched long enough to count as final"`
	Family     string   `json:"family" enum:"weibull,log_logistic,log_normal" doc:"Family of the law of the days to root"`
	PiRoot     float64  `json:"pi_root" doc:"Share that roots in the end, over batches"`
	Mu         float64  `json:"mu" doc:"Location of the log of the days to root"`
	Sigma      float64  `json:"sigma" doc:"Scale of the log of the days to root"`
	Rho        float64  `json:"rho" doc:"How much batches differ: correlation of two cuttings of a batch"`
	RhoAssumed bool     `json:"rho_assumed" doc:"True where fewer than 5 batches of the pool are closed, and rho is the usual one"`
	Wider      []string `json:"wider" doc:"Why narrower pools were not used"`
}

// ForecastDay is what is expected of a batch by the end of a day.
type ForecastDay struct {
	Day      int     `json:"day" doc:"Days after sticking"`
	On       Date    `json:"on" doc:"The day"`
	Expected float64 `json:"expected" doc:"Cuttings expected to have rooted by then, those found so far among them"`
	Lower    int     `json:"lower" doc:"Lower end of the 80 % band"`
	Upper    int     `json:"upper" doc:"Upper end of the 80 % band"`
}

// ForecastDue is the day by which a wanted number is rooted with 90 % chance.
type ForecastDue struct {
	Wanted int    `json:"wanted" doc:"Rooted cuttings wanted"`
	Status string `json:"status" enum:"now,by_day,not_reached" doc:"now: so many were found already; by_day; not_reached: the chance is lower than that on every day of the forecast"`
	Day    *int   `json:"day" doc:"Days after sticking; null where it is not reached"`
	On     *Date  `json:"on" doc:"The day; null where it is not reached"`
}

// BatchForecast is what is expected of one open batch, going by its last look and
// by batches like it.
type BatchForecast struct {
	Batch         string        `json:"batch" doc:"Code of the batch"`
	Taxon         string        `json:"taxon" doc:"Scientific name; empty in a file"`
	Treatment     string        `json:"treatment" doc:"What was done to help them root"`
	Bench         string        `json:"bench" doc:"Bench it stands on"`
	StuckOn       Date          `json:"stuck_on" doc:"Day they were stuck"`
	LastDay       int           `json:"last_day" doc:"Days after sticking of the last look; 0 without one"`
	Cuttings      int           `json:"cuttings" doc:"Cuttings stuck"`
	Rooted        int           `json:"rooted" doc:"Found rooted so far"`
	Lost          int           `json:"lost" doc:"Lost before they rooted, so far"`
	Open          int           `json:"open" doc:"Neither rooted, lost nor taken out"`
	Pool          ForecastPool  `json:"pool" doc:"The batches it goes by"`
	ExpectedFinal float64       `json:"expected_final" doc:"Cuttings expected to root in the end"`
	FinalLower    int           `json:"final_lower" doc:"Lower end of its 80 % band"`
	FinalUpper    int           `json:"final_upper" doc:"Upper end of its 80 % band"`
	Pot           ForecastDue   `json:"pot" doc:"When the wanted number is rooted with 90 % chance"`
	StillRoots    float64       `json:"chance_still_roots" doc:"Chance that a cutting which had not rooted at the last look still will"`
	NextWeek      float64       `json:"expected_next_7_days" doc:"Rootings expected in the 7 days after the day of the answer"`
	HalfDay       *int          `json:"half_day" doc:"Day after sticking by which half of those still to root should have done so; null where it lies beyond the forecast or nothing is open"`
	T90           float64       `json:"t90_of_rooters" doc:"Day after sticking by which nine tenths of those that root have rooted"`
	Days          []ForecastDay `json:"days" doc:"What is expected, from the last look on"`
	Notes         []string      `json:"notes" doc:"What to know before using the numbers"`
}

// ForecastReport answers what is expected of open batches.
type ForecastReport struct {
	On      Date            `json:"on,omitzero" doc:"The day it speaks of"`
	Batches []BatchForecast `json:"batches" doc:"The open batches, by code"`
	Notes   []string        `json:"notes" doc:"What holds for all of them"`
}

// HeldShare is how often the bands of forecasts held what came about, beside how
// often they should have.
type HeldShare struct {
	Held     *float64 `json:"held" doc:"Share of the later looks that lay in the 80 % band; null without any"`
	Expected *float64 `json:"expected" doc:"Mean of the bands' own chances: more than 0.8, since counts are whole"`
	Lower    *float64 `json:"lower" doc:"Lower 95 % limit of the share held, batches as units; null below 3 batches"`
	Upper    *float64 `json:"upper" doc:"Upper limit"`
	Looks    int      `json:"looks" doc:"Later looks that were scored"`
	Batches  int      `json:"batches" doc:"Batches they belong to"`
}

// DayScore is how far the foretold days lay from the looks that found the wanted
// number.
type DayScore struct {
	Forecasts  int      `json:"forecasts" doc:"Forecasts whose day could be held against later looks"`
	Inside     int      `json:"inside" doc:"Of these, days that lay between the last look without and the first with the wanted number"`
	MeanError  *float64 `json:"mean_error" doc:"Mean distance to the nearer end in days, 0 inside; null without any"`
	Undated    int      `json:"undated" doc:"Forecasts without a day for batches that had the wanted number all the same"`
	Never      int      `json:"never" doc:"Forecasts of batches that never had the wanted number by their last look"`
	NeverBrier *float64 `json:"never_brier" doc:"Mean square of the chance they were given of it; 0 is best, null without any"`
}

// CountScore is how close foretold counts came, beside last season's batches.
type CountScore struct {
	Forecast   *float64 `json:"forecast" doc:"Mean ranked probability score of the forecasts, as a share of cuttings; less is better"`
	LastSeason *float64 `json:"last_season" doc:"The same of a beta-binomial of last season's batches at the same age"`
	Looks      int      `json:"looks" doc:"Looks that both could foretell"`
	Batches    int      `json:"batches" doc:"Batches they belong to"`
}

// CalibrationLevel is how the bands did by where the pool was found.
type CalibrationLevel struct {
	Level string `json:"level" doc:"Where the search for a pool stopped"`
	HeldShare
}

// CalibrationPoint is forecasts of about the same chance, and what came of them.
type CalibrationPoint struct {
	Forecast float64 `json:"forecast" doc:"Mean chance given to unrooted cuttings to root by a later look"`
	Observed float64 `json:"observed" doc:"Share of them that had rooted by then"`
	Looks    int     `json:"looks" doc:"Later looks it stands for"`
}

// Calibration answers how good forecasts were, replayed without what was entered
// later.
type Calibration struct {
	On          Date               `json:"on,omitzero" doc:"The day it speaks of"`
	Status      string             `json:"status" enum:"scored,not_enough_yet" doc:"scored, or not_enough_yet: no look was followed by another one"`
	Origins     int                `json:"origins" doc:"Looks from which forecasts were made"`
	OriginsLeft int                `json:"origins_left_out" doc:"Older looks that were left out because there are more than were asked for"`
	LateEntries int                `json:"late_entries" doc:"Looks entered after their day: on that day no forecast could have been made from them"`
	Held        HeldShare          `json:"held" doc:"How often the bands held"`
	ByLevel     []CalibrationLevel `json:"by_level" doc:"The same by where the pool was found"`
	Days        DayScore           `json:"days" doc:"How good the foretold days were"`
	Counts      CountScore         `json:"counts" doc:"How close the counts came"`
	Points      []CalibrationPoint `json:"points" doc:"What came of the chances that were given, by tenths"`
	Notes       []string           `json:"notes" doc:"What to know before using the numbers"`
}
