package nursery

import (
	"withybed/models"
	"withybed/models/documents"
	"withybed/models/rules"
)

// batchView shows a batch whole, as of today. Its history is a text to be handed
// on, and names people by their codes alone.
func batchView(r *models.BatchRecord, now moment, warnings []string) (models.BatchView, error) {
	story, err := rules.Replay(r, now.today)
	if err != nil {
		return models.BatchView{}, err
	}
	people, err := now.people()
	if err != nil {
		return models.BatchView{}, err
	}
	veiled := people.Veiled(r)
	if !now.caller.SeesNames() {
		r = veiled
	}
	view := models.BatchView{
		Code: r.Code, Stand: r.Stand, Taxon: r.Taxon.ScientificName, CommonName: r.Taxon.CommonName,
		Qualifier: r.Qualifier, Corrections: listed(r.Corrections), Determinations: listed(r.Determinations),
		CollectedOn: r.CollectedOn, StemsCut: r.StemsCut, Cuttings: r.Cuttings,
		CollectedBy: r.CollectedBy, ParentPlants: r.ParentPlants,
		Parents: listed(r.Parents), EffectiveParents: rules.EffectiveParents(r.Parents), Details: rules.DetailsOf(&r.Batch),
		Permit: r.Permit, PermitUnit: r.PermitUnit, Crew: r.Crew,
		State: story.State, Stage: story.Stage, Counts: story.Tally,
		ToReview: r.AwaitsReview || r.HarvestAwaitsReview, RefusedBy: r.RefusedBy, AlreadyCut: r.AlreadyCut, Reason: r.Reason,
		HarvestFraction: r.HarvestFraction, StandFraction: r.StandFraction, Survey: r.Survey,
		SplitFrom: r.SplitFrom, Sisters: sisters(r), Sticking: r.Sticking,
		Flags: listed(rules.Flags(r, story, now.Settings)), Warnings: listed(warnings),
		FlagHistory: listed(r.FlagHistory),
		History:     listed(documents.History(veiled, now.place)), Version: r.Version, EnteredAt: r.EnteredAt,
	}
	if r.Permit != "" {
		view.PermitQuantity = &r.PermitQuantity
	}
	view.Rooting, view.DaysToRoot = rules.RootingOf(r, story)
	return view, nil
}

func sisters(r *models.BatchRecord) []models.BatchBrief {
	briefs := []models.BatchBrief{}
	for _, split := range r.Splits {
		briefs = append(briefs, models.BatchBrief{Code: split.Sister, Cuttings: split.Count, Treatment: split.Treatment})
	}
	return briefs
}

func batchSummary(r *models.BatchRecord, today models.Date) (models.BatchSummary, error) {
	story, err := rules.Replay(r, today)
	if err != nil {
		return models.BatchSummary{}, err
	}
	summary := models.BatchSummary{
		Code: r.Code, Stand: r.Stand, Taxon: r.Taxon.ScientificName, Qualifier: r.Qualifier, CollectedOn: r.CollectedOn,
		StemsCut: r.StemsCut, Cuttings: r.Cuttings, State: story.State, Stage: story.Stage,
		Stuck: story.Tally.Stuck, EverRooted: story.Tally.EverRooted,
	}
	if r.Sticking != nil {
		summary.Treatment, summary.Bench, summary.StuckOn = r.Sticking.TreatmentLabel(), r.Sticking.Bench, r.Sticking.StuckOn
	}
	if rooting, _ := rules.RootingOf(r, story); rooting != nil {
		summary.Percent, summary.PercentOn = &rooting.Percent, rooting.On
	}
	return summary, nil
}
