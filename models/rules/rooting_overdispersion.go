package rules

import "withybed/models"

// overdispersionOf is how much the closed batches of a pool differ.
func overdispersionOf(*judged) models.Overdispersion {
	return models.Overdispersion{Status: "not_estimable"}
}
