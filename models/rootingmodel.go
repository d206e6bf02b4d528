package models

import "time"

// RootingModel is the law of the days to root of a pool of batches, as it was
// fitted on a day: log T = Mu + Sigma W with W of the family. It stands from
// FittedOn until EndedOn, when another took its place. What a pool does not tell
// apart is empty: kind, treatment and heated of a whole taxon.
type RootingModel struct {
	ID        string
	TaxonID   string
	Kind      CuttingKind
	Treatment string // label, as compared
	Heated    string // yes, no or not recorded
	Family    string // weibull, log_logistic or log_normal
	Mu        float64
	Sigma     float64
	Batches   int    // it was fitted to
	Basis     string // the pool in words
	FittedOn  Date
	EndedOn   Date // no day while it stands
	MadeAt    time.Time
}
