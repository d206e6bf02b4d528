package models

// TrialArm is the batches of one treatment, or of one value of what is compared.
type TrialArm struct {
	Treatment string   `json:"treatment" doc:"The treatment, or the value of what is compared"`
	Batches   int      `json:"batches" doc:"Batches whose roots were looked at"`
	Cuttings  int      `json:"cuttings" doc:"Cuttings stuck"`
	Rooted    int      `json:"rooted" doc:"Ever found rooted"`
	Lost      int      `json:"lost" doc:"Lost before they rooted"`
	Open      int      `json:"open" doc:"Neither rooted, lost nor withdrawn"`
	Rate      *float64 `json:"rate" doc:"Share rooted by the day of the difference"`
	Deff      *float64 `json:"deff" doc:"Design effect"`
	NEff      *float64 `json:"n_eff" doc:"Effective number of cuttings"`

	RhoAssumed bool `json:"rho_assumed" doc:"True where none or all rooted in two batches or more: deff and n_eff, and limits made of them, reckon with the usual correlation of two cuttings of a batch, 0.08"`
}

// ArmDifference is the difference of the rates of two arms.
type ArmDifference struct {
	Arm      string   `json:"arm" doc:"The arm"`
	Minus    string   `json:"minus" doc:"The arm taken from it"`
	Estimate *float64 `json:"estimate" doc:"Rate of the arm minus rate of the other"`
	Lower    *float64 `json:"lower" doc:"Lower limit, 95 %; null where there is none"`
	Upper    *float64 `json:"upper" doc:"Upper limit, 95 %; null where there is none"`
	Basis    string   `json:"basis" enum:"crude_closed,npmle_at_day,blocks" doc:"crude_closed: every batch was watched long enough; npmle_at_day: read off the curves; blocks: differences within blocks"`
	Day      *int     `json:"day" doc:"Days after sticking of which it speaks"`
	DF       *int     `json:"df" doc:"Degrees of freedom of the limits; null where they are normal ones or there are none"`
}

// ArmTest is the score test of two arms over the whole curve.
type ArmTest struct {
	Arm          string   `json:"arm" doc:"The arm whose scores are summed"`
	U            *float64 `json:"u" doc:"Sum of its scores: positive is earlier"`
	V            *float64 `json:"v" doc:"Variance of u over labelings of batches"`
	Z            *float64 `json:"z" doc:"u, centred, over the root of v"`
	PNormal      *float64 `json:"p_normal" doc:"Two-sided p of z"`
	PPermutation *float64 `json:"p_permutation" doc:"Two-sided p over labelings of batches"`
	Method       string   `json:"method" enum:"exact,draws,normal,declined" doc:"exact: all labelings; draws: drawn ones; normal; declined, with the reason"`
	Labelings    float64  `json:"labelings" doc:"How many labelings there are"`
	Seed         uint64   `json:"seed" doc:"Seed of the draws"`
	Blocks       int      `json:"blocks" doc:"Blocks within which labels were exchanged; 0 without blocks"`
	Reason       string   `json:"reason,omitempty" doc:"Why it was declined"`
}

// ArmPair is two of more than two arms, with the difference and the test between
// them.
type ArmPair struct {
	Difference ArmDifference `json:"difference" doc:"Difference of their rates"`
	Test       ArmTest       `json:"test" doc:"Test over the whole curve"`
	PHolm      *float64      `json:"p_holm" doc:"p of the permutation test after Holm, over all pairs"`
}

// ArmsTest is the score test over more than two arms.
type ArmsTest struct {
	Chi2         *float64 `json:"chi2" doc:"Chi-squared statistic"`
	DF           int      `json:"df" doc:"Degrees of freedom"`
	PPermutation *float64 `json:"p_permutation" doc:"p over labelings of batches"`
	Method       string   `json:"method" enum:"exact,draws,declined" doc:"exact, draws or declined"`
	Labelings    float64  `json:"labelings" doc:"How many labelings there are"`
	Seed         uint64   `json:"seed" doc:"Seed of the draws"`
	Reason       string   `json:"reason,omitempty" doc:"Why it was declined"`
}

// DoseTest is the score test for a trend over doses.
type DoseTest struct {
	Dose         string             `json:"dose" doc:"What is dosed and on which scale"`
	Doses        map[string]float64 `json:"doses" doc:"Dose of each arm"`
	U            *float64           `json:"u" doc:"Sum of scores by dose: positive is earlier with more"`
	Z            *float64           `json:"z" doc:"u over its standard deviation"`
	PNormal      *float64           `json:"p_normal" doc:"Two-sided p of z"`
	PPermutation *float64           `json:"p_permutation" doc:"Two-sided p over labelings of batches"`
	Method       string             `json:"method" enum:"exact,draws,declined" doc:"exact, draws or declined"`
	Labelings    float64            `json:"labelings" doc:"How many labelings there are"`
	Seed         uint64             `json:"seed" doc:"Seed of the draws"`
	Reason       string             `json:"reason,omitempty" doc:"Why it was declined"`
}

// ComparisonNeed is how many batches each arm needs to find a difference.
type ComparisonNeed struct {
	Difference float64 `json:"difference" doc:"The difference of rates that was named"`
	Rate       float64 `json:"rate" doc:"Rate of the reference it was reckoned from"`
	Cuttings   int     `json:"cuttings_per_batch" doc:"Cuttings of a batch"`
	Rho        float64 `json:"rho" doc:"Correlation of two cuttings of a batch"`
	Power      float64 `json:"power" doc:"Chance to find it"`
	Batches    *int    `json:"batches_per_arm" doc:"Batches each arm needs; null where that many are out of reach"`
}

// Comparison answers whether arms differ.
type Comparison struct {
	On          Date               `json:"on,omitzero" doc:"The day it speaks of"`
	By          string             `json:"by" doc:"What is compared: treatment, medium, season ..."`
	Reference   string             `json:"reference" doc:"The arm the others are held against"`
	SideBySide  bool               `json:"side_by_side" doc:"Whether every block holds arms split from one harvest, or named as a block"`
	Heading     string             `json:"heading" doc:"The answer in a sentence"`
	Arms        []TrialArm         `json:"arms" doc:"The arms, by name"`
	Difference  *ArmDifference     `json:"difference" doc:"Difference of two arms; null with more"`
	Test        *ArmTest           `json:"test" doc:"Test of two arms; null with more"`
	Overall     *ArmsTest          `json:"overall,omitempty" doc:"Test over all of more than two arms"`
	Pairs       []ArmPair          `json:"pairs,omitempty" doc:"Each of more than two arms against the reference"`
	Trend       *DoseTest          `json:"trend,omitempty" doc:"Trend over doses, where arms are doses"`
	Need        *ComparisonNeed    `json:"need,omitempty" doc:"How many batches a named difference needs"`
	BatchScores map[string]float64 `json:"batch_scores" doc:"Score of each batch: positive is earlier than the pool"`
	Notes       []string           `json:"notes" doc:"What to know before using the numbers"`
}
