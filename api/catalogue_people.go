package api

// peopleProblems are about the list of people.
var peopleProblems = map[string]Entry{}
