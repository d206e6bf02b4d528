package models

// StandFilter picks stands; its zero value picks them all.
type StandFilter struct {
	TaxonID     string
	Place       string // compared without case
	LandManager string // compared without case
}

// BatchFilter picks batches; its zero value picks them all but the void ones.
type BatchFilter struct {
	StandID      string
	TaxonID      string
	Kind         CuttingKind
	From, To     Date   // of collection, both ends included
	Active       bool   // only those of which something can fall due
	AwaitsReview bool   // only those to review
	Void         bool   // only those that are void
	Stuck        bool   // only those that were stuck
	Bench        string // only those stuck on the bench, compared without the case of plain letters
}

// PermitFilter picks permits; its zero value picks them all.
type PermitFilter struct {
	StandID     string
	LandManager string // of a stand it covers, compared without case
	On          Date   // only those that hold on the day
}
