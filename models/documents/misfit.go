package documents

import "withybed/models"

// MisfitLetter tells at once of crew shares that stands cannot bear any more.
func MisfitLetter(nurseryName string, misfits []models.StandNotice) Message {
	l := letter{
		Nursery: nurseryName, About: "crew shares that no longer fit: " + standCodes(misfits),
		Lead: []string{
			"What was set aside for a crew is more than the stand can spare, as it is known now. Call the crew before it cuts, and return the share with withy share return, or see what can be changed.",
		},
		Parts: filled(standsPart("Crew shares that no longer fit", misfits)),
		Care:  [][]string{noLeave}, Foot: footWords([]models.MailList{models.StandMail}),
	}
	return l.message()
}
