package api

import "withybed/models/nursery"

// Mount puts up every route of the nursery.
func Mount(n *nursery.Nursery) func(*Surface) {
	h := handlers{n}
	return func(s *Surface) {
		Route(s, reads("show-nursery", "/v1/nursery"), h.showNursery)
		Route(s, edits("edit-nursery", "/v1/nursery"), h.editNursery)

		Route(s, reads("list-taxa", "/v1/taxa"), h.listTaxa)
		Route(s, adds("add-taxon", "/v1/taxa"), h.addTaxon)
		Route(s, reads("show-taxon", "/v1/taxa/{taxon}"), h.showTaxon)
		Route(s, edits("edit-taxon", "/v1/taxa/{taxon}"), h.editTaxon)

		Route(s, reads("list-stands", "/v1/stands"), h.listStands)
		Route(s, adds("add-stand", "/v1/stands"), h.addStand)
		Route(s, reads("show-stand", "/v1/stands/{stand}"), h.showStand)
		Route(s, edits("edit-stand", "/v1/stands/{stand}"), h.editStand)
		Route(s, reads("list-stand-versions", "/v1/stands/{stand}/versions"), h.standVersions)
		Route(s, reads("show-allowance", "/v1/stands/{stand}/allowance"), h.allowance)
		Route(s, reads("list-ledger", "/v1/stands/{stand}/ledger"), h.ledger)
		Route(s, reads("list-seasons", "/v1/stands/{stand}/seasons"), h.seasons)

		Route(s, reads("list-surveys", "/v1/stands/{stand}/surveys"), h.listSurveys)
		Route(s, adds("add-survey", "/v1/stands/{stand}/surveys"), h.addSurvey)
		Route(s, reads("list-disturbances", "/v1/stands/{stand}/disturbances"), h.listDisturbances)
		Route(s, adds("add-disturbance", "/v1/stands/{stand}/disturbances"), h.addDisturbance)

		Route(s, reads("list-batches", "/v1/batches"), h.listBatches)
		Route(s, adds("log-batch", "/v1/batches"), h.logBatch)
		Route(s, reads("show-batch", "/v1/batches/{batch}"), h.showBatch)
		Route(s, takesSheet(adds("log-day", "/v1/days")), h.logDay)

		Route(s, adds("stick-batch", "/v1/batches/{batch}/stickings"), h.stick)
		Route(s, adds("move-cuttings", "/v1/batches/{batch}/moves"), h.move)
		Route(s, adds("split-batch", "/v1/batches/{batch}/splits"), h.split)
		Route(s, adds("review-batch", "/v1/batches/{batch}/reviews"), h.review)
		Route(s, adds("check-batch", "/v1/batches/{batch}/checks"), h.check)
		Route(s, adds("pot-up-batch", "/v1/batches/{batch}/pottings"), h.pot)
		Route(s, adds("decide-batch", "/v1/batches/{batch}/decisions"), h.decide)

		Route(s, reads("list-due", "/v1/due"), h.due)
		Route(s, reads("show-rooting", "/v1/rooting/rate"), h.rooting)
		Route(s, reads("list-reminders", "/v1/reminders"), h.listReminders)
		Route(s, reminds(s, "make-reminder", "/v1/reminders"), h.makeReminder)
		Route(s, reads("show-reminder", "/v1/reminders/{week}"), h.showReminder)
		s.allowNulls()
	}
}

// handlers turn requests into use cases: one for each route.
type handlers struct{ nursery *nursery.Nursery }
