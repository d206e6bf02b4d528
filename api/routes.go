package api

import (
	"withybed/models"
	"withybed/models/nursery"
)

// Mount puts up every route of the nursery.
func Mount(n *nursery.Nursery) func(*Surface) {
	h := handlers{n}
	return func(s *Surface) {
		s.keeper = newKeeper(n, s.deps)
		Route(s, reads(models.DeedGreet, "show-nursery", "/v1/nursery"), h.showNursery)
		Route(s, edits(models.DeedKeep, "edit-nursery", "/v1/nursery"), h.editNursery)

		Route(s, reads(models.DeedGreet, "list-taxa", "/v1/taxa"), h.listTaxa)
		Route(s, adds(models.DeedKeep, "add-taxon", "/v1/taxa"), h.addTaxon)
		Route(s, reads(models.DeedGreet, "show-taxon", "/v1/taxa/{taxon}"), h.showTaxon)
		Route(s, edits(models.DeedKeep, "edit-taxon", "/v1/taxa/{taxon}"), h.editTaxon)

		Route(s, reads(models.DeedStands, "list-stands", "/v1/stands"), h.listStands)
		Route(s, adds(models.DeedKeep, "add-stand", "/v1/stands"), h.addStand)
		Route(s, reads(models.DeedStands, "show-stand", "/v1/stands/{stand}"), h.showStand)
		Route(s, edits(models.DeedKeep, "edit-stand", "/v1/stands/{stand}"), h.editStand)
		Route(s, adds(models.DeedGuard, "add-closures", "/v1/stands/{stand}/closures"), h.addClosures)
		Route(s, reads(models.DeedStands, "list-stand-versions", "/v1/stands/{stand}/versions"), h.standVersions)
		Route(s, reads(models.DeedStands, "show-allowance", "/v1/stands/{stand}/allowance"), h.allowance)
		Route(s, reads(models.DeedStands, "list-ledger", "/v1/stands/{stand}/ledger"), h.ledger)
		Route(s, reads(models.DeedStands, "list-seasons", "/v1/stands/{stand}/seasons"), h.seasons)
		Route(s, reads(models.DeedStands, "show-stand-parents", "/v1/stands/{stand}/parents"), h.standParents)
		Route(s, givesSheet(s, reads(models.DeedStands, "show-sheet", "/v1/stands/{stand}/sheet")), h.sheet)
		Route(s, reads(models.DeedStands, "list-others-cuts", "/v1/stands/{stand}/others-cuts"), h.listOthersCuts)
		Route(s, adds(models.DeedGuard, "add-others-cut", "/v1/stands/{stand}/others-cuts"), h.addOthersCut)

		Route(s, reads(models.DeedStands, "list-permits", "/v1/permits"), h.listPermits)
		Route(s, adds(models.DeedKeep, "add-permit", "/v1/permits"), h.addPermit)
		Route(s, reads(models.DeedStands, "show-permit", "/v1/permits/{permit}"), h.showPermit)
		Route(s, edits(models.DeedKeep, "edit-permit", "/v1/permits/{permit}"), h.editPermit)

		Route(s, reads(models.DeedStands, "list-shares", "/v1/stands/{stand}/shares"), h.listShares)
		Route(s, adds(models.DeedKeep, "add-share", "/v1/stands/{stand}/shares"), h.addShare)
		Route(s, adds(models.DeedTend, "return-share", "/v1/stands/{stand}/shares/{share}/returns"), h.returnShare)
		Route(s, reads(models.DeedStands, "list-held-shares", "/v1/shares"), h.listHeldShares)

		Route(s, reads(models.DeedStands, "list-rests", "/v1/stands/{stand}/rests"), h.listRests)
		Route(s, adds(models.DeedKeep, "add-rest", "/v1/stands/{stand}/rests"), h.addRest)
		Route(s, adds(models.DeedKeep, "end-rest", "/v1/stands/{stand}/rests/{rest}/ends"), h.endRest)
		Route(s, reads(models.DeedStands, "list-salvages", "/v1/stands/{stand}/salvages"), h.listSalvages)
		Route(s, adds(models.DeedKeep, "add-salvage", "/v1/stands/{stand}/salvages"), h.addSalvage)
		Route(s, reads(models.DeedStands, "list-nest-checks", "/v1/stands/{stand}/nest-checks"), h.listNestChecks)
		Route(s, adds(models.DeedLook, "add-nest-check", "/v1/stands/{stand}/nest-checks"), h.addNestCheck)
		Route(s, reads(models.DeedStands, "list-tool-cleanings", "/v1/stands/{stand}/tool-cleanings"), h.listToolCleanings)
		Route(s, adds(models.DeedLog, "log-tool-cleaning", "/v1/stands/{stand}/tool-cleanings"), h.logToolCleaning)
		Route(s, reads(models.DeedStands, "show-place-closures", "/v1/places/{place}/closures"), h.placeClosures)
		Route(s, adds(models.DeedGuard, "close-place", "/v1/places/{place}/closures"), h.closePlace)
		Route(s, adds(models.DeedLook, "check-place", "/v1/places/{place}/nest-checks"), h.checkPlace)

		Route(s, givesPicture[models.Course](s, reads(models.DeedStands, "plot-stand", "/v1/stands/{stand}/plot")), h.course)
		Route(s, givesTable[models.Board](s, reads(models.DeedStands, "show-board", "/v1/board")), h.board)
		Route(s, givesPage[models.Land](s, reads(models.DeedStands, "show-land", "/v1/land")), h.land)

		Route(s, reads(models.DeedStands, "list-surveys", "/v1/stands/{stand}/surveys"), h.listSurveys)
		Route(s, adds(models.DeedKeep, "add-survey", "/v1/stands/{stand}/surveys"), h.addSurvey)
		Route(s, reads(models.DeedStands, "list-disturbances", "/v1/stands/{stand}/disturbances"), h.listDisturbances)
		Route(s, adds(models.DeedKeep, "add-disturbance", "/v1/stands/{stand}/disturbances"), h.addDisturbance)

		Route(s, adds(models.DeedKeep, "correct-survey", "/v1/stands/{stand}/surveys/{survey}/corrections"), h.correctSurvey)
		Route(s, reads(models.DeedStands, "list-corrections", "/v1/stands/{stand}/corrections"), h.listCorrections)
		Route(s, adds(models.DeedKeep, "correct-stand", "/v1/stands/{stand}/corrections"), h.correctStand)

		Route(s, reads(models.DeedRead, "list-batches", "/v1/batches"), h.listBatches)
		Route(s, adds(models.DeedLog, "log-batch", "/v1/batches"), h.logBatch)
		Route(s, reads(models.DeedRead, "show-batch", "/v1/batches/{batch}"), h.showBatch)
		Route(s, takesSheet(adds(models.DeedLog, "log-day", "/v1/days")), h.logDay)

		Route(s, adds(models.DeedLog, "stick-batch", "/v1/batches/{batch}/stickings"), h.stick)
		Route(s, adds(models.DeedLog, "move-cuttings", "/v1/batches/{batch}/moves"), h.move)
		Route(s, adds(models.DeedTend, "split-batch", "/v1/batches/{batch}/splits"), h.split)
		Route(s, adds(models.DeedKeep, "review-batch", "/v1/batches/{batch}/reviews"), h.review)
		Route(s, adds(models.DeedLog, "check-batch", "/v1/batches/{batch}/checks"), h.check)
		Route(s, adds(models.DeedTend, "pot-up-batch", "/v1/batches/{batch}/pottings"), h.pot)
		Route(s, adds(models.DeedTend, "decide-batch", "/v1/batches/{batch}/decisions"), h.decide)

		Route(s, adds(models.DeedTend, "correct-batch", "/v1/batches/{batch}/corrections"), h.correctBatch)
		Route(s, adds(models.DeedTend, "void-batch", "/v1/batches/{batch}/voids"), h.voidBatch)
		Route(s, adds(models.DeedTend, "determine-batch", "/v1/batches/{batch}/determinations"), h.determineBatch)

		Route(s, reads(models.DeedOversee, "list-tokens", "/v1/tokens"), h.listTokens)
		Route(s, adds(models.DeedOversee, "add-token", "/v1/tokens"), h.addToken)
		Route(s, adds(models.DeedOversee, "revoke-token", "/v1/tokens/{token}/revocations"), h.revokeToken)

		Route(s, reads(models.DeedOversee, "list-changes", "/v1/changes"), h.listChanges)
		Route(s, reads(models.DeedOversee, "list-mail", "/v1/mail"), h.listMail)

		Route(s, reads(models.DeedRead, "list-due", "/v1/due"), h.due)
		Route(s, reads(models.DeedRead, "show-rooting-rate", "/v1/rooting/rate"), h.rootingRate)
		Route(s, givesPicture[models.CurveReport](s, reads(models.DeedRead, "show-rooting-curve", "/v1/rooting/curve")), h.rootingCurve)
		Route(s, reads(models.DeedRead, "show-rooting-days", "/v1/rooting/days"), h.rootingDays)
		Route(s, reads(models.DeedRead, "compare-rooting", "/v1/rooting/compare"), h.rootingCompare)
		Route(s, givesPicture[models.FitReport](s, reads(models.DeedRead, "fit-rooting", "/v1/rooting/fit")), h.rootingFit)
		Route(s, givesPicture[models.ForecastReport](s, reads(models.DeedRead, "forecast-rooting", "/v1/rooting/forecast")), h.rootingForecast)
		Route(s, givesPicture[models.Calibration](s, reads(models.DeedRead, "calibrate-rooting", "/v1/rooting/calibration")), h.rootingCalibration)
		Route(s, reads(models.DeedRead, "list-reminders", "/v1/reminders"), h.listReminders)
		Route(s, reminds(s, models.DeedTend, "make-reminder", "/v1/reminders"), h.makeReminder)
		Route(s, reads(models.DeedRead, "show-reminder", "/v1/reminders/{week}"), h.showReminder)

		Route(s, reads(models.DeedOversee, "list-people", "/v1/people"), h.listPeople)
		Route(s, adds(models.DeedOversee, "add-person", "/v1/people"), h.addPerson)
		Route(s, reads(models.DeedOversee, "show-person", "/v1/people/{person}"), h.showPerson)
		Route(s, edits(models.DeedOversee, "edit-person", "/v1/people/{person}"), h.editPerson)
		Route(s, adds(models.DeedOversee, "erase-person", "/v1/people/{person}/erasures"), h.erasePerson)
		s.allowNulls()
	}
}

// handlers turn requests into use cases: one for each route.
type handlers struct{ nursery *nursery.Nursery }
