package rules

import "withybed/models"

// EnterToolCleaning makes the record of tools and boots cleaned, on today where no
// day is given. Identifier, stand and time of entry are left to the caller.
func EnterToolCleaning(req models.NewToolCleaning, today models.Date) (models.ToolCleaning, error) {
	on := startOn(req.On, today)
	var f models.Faults
	checkPast(&f, "on", on, today)
	needText(&f, "by", req.By, models.MaxName)
	needText(&f, "how", req.How, models.MaxNote)
	return models.ToolCleaning{CleanedOn: on, CleanedBy: models.Clean(req.By), How: models.Clean(req.How)}, f.Err()
}
