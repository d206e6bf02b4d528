package models

// FitParameters are those of a model of rooting in which a share never roots: the
// share pi_root roots at days T with log T = mu + sigma W, the share pi_loss is
// lost in the same way, and pi_never does neither.
type FitParameters struct {
	PiRoot    float64  `json:"pi_root" doc:"Share that roots in the end"`
	PiLoss    float64  `json:"pi_loss" doc:"Share that is lost in the end"`
	PiNever   float64  `json:"pi_never" doc:"Share that does neither"`
	Mu        float64  `json:"mu" doc:"Location of the log of the days to root"`
	Sigma     float64  `json:"sigma" doc:"Scale of the log of the days to root"`
	LossMu    *float64 `json:"loss_mu" doc:"Location of the log of the days to loss; null where none was lost"`
	LossSigma *float64 `json:"loss_sigma" doc:"Scale of the log of the days to loss; null where none was lost"`
}

// FitErrors are standard errors of a fit.
type FitErrors struct {
	LogitPiRoot float64 `json:"logit_pi_root" doc:"Of logit pi_root; 0 where all root and there is nothing to estimate"`
	LogT50      float64 `json:"log_t50" doc:"Of log T50 of rooted"`
}

// FitErrorPair holds the errors of a fit with and without regard to batches.
type FitErrorPair struct {
	Naive     *FitErrors `json:"naive" doc:"As if cuttings were independent: too small; null where not estimable"`
	Clustered *FitErrors `json:"clustered" doc:"With batches as the units; null below 10 batches or where not estimable"`
}

// RootingFit is one family fitted to a group of batches.
type RootingFit struct {
	Family        string         `json:"family" enum:"weibull,log_logistic,log_normal" doc:"weibull, log_logistic or log_normal"`
	Status        string         `json:"status" enum:"converged,pi_not_identified,declined,not_converged" doc:"converged; pi_not_identified: watched too short to tell those that never root; declined and not_converged, with the reason"`
	LogLikelihood *float64       `json:"log_likelihood" doc:"Without multinomial constants"`
	AIC           *float64       `json:"aic" doc:"Akaike's criterion: overstates differences where batches differ"`
	CLIC          *float64       `json:"clic" doc:"The criterion that allows for batches, by which families are ranked; null below two batches or where not estimable"`
	Parameters    *FitParameters `json:"parameters" doc:"Null where the fit did not converge"`
	T10           *float64       `json:"t10_of_rooted" doc:"Day by which a tenth of those that root have rooted"`
	T50           *float64       `json:"t50_of_rooted" doc:"Half of them"`
	T90           *float64       `json:"t90_of_rooted" doc:"Nine tenths of them"`
	PiRootLimits  *[2]float64    `json:"pi_root_limits" doc:"95 % limits of the share that roots in the end, with batches as the units; null below 10 batches"`
	T50Limits     *[2]float64    `json:"t50_of_rooted_limits" doc:"95 % limits of t50_of_rooted, likewise"`
	Errors        FitErrorPair   `json:"errors" doc:"Standard errors"`
	Reason        string         `json:"reason" doc:"Why it is not what was hoped for; empty otherwise"`
}

// FitGroup holds the fits of a group of batches.
type FitGroup struct {
	Key RootingKey `json:"key" doc:"What its batches have in common"`
	RootingCounts
	Fits     []RootingFit `json:"fits" doc:"One for each family"`
	Selected string       `json:"selected" doc:"The family with the lowest CLIC, or AIC where there is no CLIC; empty where none converged"`
	Tied     []string     `json:"tied" doc:"Other families as good as the selected one: their criteria lie within two design effects of its"`
	Notes    []string     `json:"notes" doc:"What to know before using the numbers"`
}

// FitReport answers which model the days to root follow: of all batches pooled,
// and by group where that was asked for.
type FitReport struct {
	On Date     `json:"on,omitzero" doc:"The day it speaks of"`
	By []string `json:"by" doc:"What the batches are grouped by"`
	FitGroup
	Groups []FitGroup `json:"groups,omitempty" doc:"The groups, by key, where they were asked for"`
}
