package models

import "time"

// Nursery is the nursery itself: who it is, where its days begin, and what it
// has settled for all its stands and batches.
type Nursery struct {
	Settings
	MadeAt  time.Time `json:"made_at" doc:"When the nursery was made, UTC"`
	Version int       `json:"version" doc:"Counts the edits; the ETag"`
}

// Settings is what the nursery decides. Each number has its basis in words.
type Settings struct {
	Name         string            `json:"name" doc:"Name of the nursery"`
	TimeZone     string            `json:"time_zone" doc:"IANA name of the zone its days are counted in" example:"America/Los_Angeles"`
	ReminderDay  string            `json:"reminder_day" doc:"Day of the week of the reminder" example:"monday"`
	ReminderHour int               `json:"reminder_hour" doc:"Hour of the reminder, 0 to 23, in its time zone" example:"7"`
	HarvestRule  HarvestRule       `json:"harvest_rule" doc:"Default for new stands; those that exist keep theirs"`
	Confidence   Decimal           `json:"confidence" doc:"One-sided confidence of a survey's lower bound, from 0.5 to 0.999" example:"0.9"`
	Thresholds   Thresholds        `json:"thresholds" doc:"When things fall due"`
	Bases        map[string]string `json:"bases" doc:"Where each number comes from, in words, by its name"`
}

// Thresholds say when things fall due and what is warned of; days unless said otherwise.
type Thresholds struct {
	StickAfter         int     `json:"stick_after" doc:"Days after the cut, in hand, when sticking is asked for"`
	SoakWarning        int     `json:"soak_warning" doc:"Days before the longest soak when it is asked to end"`
	SoakInLeaf         int     `json:"soak_in_leaf" doc:"Longest soak of leafed cuttings"`
	SoakWillow         int     `json:"soak_willow_cottonwood" doc:"Longest soak of dormant willow and cottonwood"`
	SoakDogwood        int     `json:"soak_dogwood" doc:"Longest soak of dormant dogwood"`
	SoakOther          int     `json:"soak_other" doc:"Longest soak of other dormant wood"`
	StoreRefrigerator  int     `json:"store_refrigerator" doc:"Longest stay in an ordinary refrigerator"`
	StoreCold          int     `json:"store_cold" doc:"Longest stay at -2 to 0.5 degrees Celsius, leafless wood only"`
	FirstCheck         int     `json:"first_check" doc:"First look after sticking"`
	FirstCheckWater    int     `json:"first_check_water" doc:"First look after sticking in water"`
	CheckEvery         int     `json:"check_every" doc:"Days between looks, in medium"`
	CheckEveryMist     int     `json:"check_every_mist" doc:"Days between looks, under mist"`
	CheckEveryWater    int     `json:"check_every_water" doc:"Days between looks, in water"`
	CheckEveryCold     int     `json:"check_every_cold" doc:"Days between looks on unheated benches before it is warm"`
	WarmFrom           string  `json:"warm_from" doc:"Day of the year, MM-DD, from which unheated benches are warm"`
	ReadyShare         Decimal `json:"ready_share" doc:"Share of the live cuttings with potting roots at which a tray is potted up"`
	ReadyAfter         int     `json:"ready_after" doc:"Days after which ungraded rooted cuttings count as ready, in medium"`
	ReadyAfterWater    int     `json:"ready_after_water" doc:"Days after which ungraded rooted cuttings count as ready, in water"`
	WaitedLong         int     `json:"waited_long" doc:"Days rooted cuttings may wait in medium"`
	WaitedLongWater    int     `json:"waited_long_water" doc:"Days rooted cuttings may wait in water"`
	CutoffWater        int     `json:"cutoff_water" doc:"Warm days after which unrooted cuttings in water are decided about"`
	CutoffWillow       int     `json:"cutoff_willow_cottonwood" doc:"Warm days after which unrooted willow and cottonwood are decided about"`
	CutoffOther        int     `json:"cutoff_other" doc:"Warm days after which other unrooted cuttings are decided about"`
	CutoffSlow         int     `json:"cutoff_slow" doc:"Warm days after which unrooted slow kinds are decided about"`
	FinishedAfter      int     `json:"finished_after" doc:"Days after sticking from which a last check makes a batch finished"`
	FinishedAfterSlow  int     `json:"finished_after_slow" doc:"The same for slow kinds"`
	NoticeShare        Decimal `json:"notice_share" doc:"Share of a limit from which a stand is named in the reminder"`
	SurveyExpiryNotice int     `json:"survey_expiry_notice" doc:"Days before a survey expires when the reminder names it"`
	PermitExpiryNotice int     `json:"permit_expiry_notice" doc:"Days before a permit ends when the reminder names it"`
	FewParents         int     `json:"few_parents" doc:"Plants below which a batch known plant by plant is warned of"`
	DonorShare         Decimal `json:"donor_share" doc:"Share of the cuttings of a batch from one plant above which it is warned of"`
}

// NurseryView is the nursery as it is shown, with its present day.
type NurseryView struct {
	Nursery
	Today    Date     `json:"today" doc:"Today in its time zone"`
	Warnings []string `json:"warnings" doc:"What to look at again"`
}

// NurseryEdit is the merge patch of the nursery (RFC 7396).
type NurseryEdit struct {
	Name         Patch[string]      `json:"name,omitzero" doc:"Name of the nursery" example:"Wrenlow Valley Native Plants"`
	TimeZone     Patch[string]      `json:"time_zone,omitzero" doc:"IANA name of the zone its days are counted in" example:"America/Los_Angeles"`
	ReminderDay  Patch[string]      `json:"reminder_day,omitzero" doc:"Day of the week of the reminder" example:"monday"`
	ReminderHour Patch[int]         `json:"reminder_hour,omitzero" doc:"Hour of the reminder, 0 to 23" example:"7"`
	HarvestRule  *NewHarvestRule    `json:"harvest_rule,omitempty" doc:"Default for new stands; what is left out stays"`
	Confidence   Patch[Decimal]     `json:"confidence,omitzero" doc:"One-sided confidence of a survey's lower bound, from 0.5 to 0.999" example:"0.9"`
	Thresholds   map[string]any     `json:"thresholds,omitempty" doc:"When things fall due: only the ones to change, by name" example:"{\"check_every\":10}"`
	Bases        map[string]*string `json:"bases,omitempty" doc:"Where numbers come from, by name; null takes one away" example:"{\"check_every\":\"our own records\"}"`
}
