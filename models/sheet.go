package models

// Paper is a size of paper.
type Paper string

// PaperA4 is 210 by 297 mm, PaperLetter is 8.5 by 11 inches.
const (
	PaperA4     Paper = "a4"
	PaperLetter Paper = "letter"
)

// Papers lists both sizes.
var Papers = []Paper{PaperA4, PaperLetter}

// Known says that the word is one of the sizes.
func (p Paper) Known() bool { return oneOf(p, Papers) }

// BundleStems is the most stems a bundle has, and so the most one tag stands for.
const BundleStems = 25

// MaxSheetStems is the most stems one field sheet is made for; a crew that cuts
// more takes two. MaxCrew is the longest name of a crew, in characters.
const (
	MaxSheetStems = 5000
	MaxCrew       = 24
)

// Sheet is everything on the page a crew takes to a stand: how to know the plant,
// when to stop, what to take care of, and room for the tally. It is made for one
// crew and one day, and says what the records allowed when it was made.
type Sheet struct {
	Nursery        string       `json:"nursery" doc:"Name of the nursery"`
	Stand          string       `json:"stand" doc:"Code of the stand" example:"MB-03"`
	StandName      string       `json:"stand_name,omitempty" doc:"Name of the stand; withheld with an extreme place"`
	Place          string       `json:"place,omitempty" doc:"Place, as coarse as the sensitivity asks, and never as coordinates"`
	PlaceWithheld  string       `json:"place_withheld,omitempty" doc:"What is held back of the place, in words"`
	LandManager    string       `json:"land_manager" doc:"Who manages the land; empty where that is not on file"`
	Taxon          string       `json:"taxon" doc:"Scientific name" example:"Cornus sericea"`
	CommonName     string       `json:"common_name" doc:"Name in everyday use"`
	IdentityMarks  []string     `json:"identity_marks" doc:"What to look for, and what it is mistaken for; empty where none are on file"`
	On             Date         `json:"on" doc:"Day of the cut"`
	Season         string       `json:"season" doc:"Growth year, 1 July to 30 June" example:"2025/26"`
	Crew           string       `json:"crew" doc:"The crew that takes the sheet along" example:"C"`
	Asked          int          `json:"asked" doc:"Stems the sheet was asked for"`
	StopAt         int          `json:"stop_at" doc:"Stems at which the crew stops: those asked for, or fewer where fewer are allowed; 0 is no cutting"`
	Why            string       `json:"why,omitempty" doc:"Why fewer are allowed than were asked for, or none"`
	Binding        *Binding     `json:"binding" doc:"The rule that allows the least on that day"`
	Closure        string       `json:"closure" doc:"The closure that holds on that day, or that none does"`
	Share          string       `json:"share,omitempty" doc:"The crew's own share that the stems are drawn on, what is left of it, and its last day" example:"of the share of C, 40 stems left, to 2026-01-31"`
	Leave          string       `json:"leave" doc:"What is on file about leave to cut: the count alone never gives it"`
	ClumpRule      string       `json:"clump_rule,omitempty" doc:"How many stems to take from one plant"`
	OneIn          int          `json:"one_in,omitempty" doc:"One stem is taken for every so many counted on a plant"`
	LeastPlants    int          `json:"least_plants,omitempty" doc:"Fewest plants from which the per-plant rule lets that many stems be taken, where plants were counted"`
	StemDefinition string       `json:"stem_definition" doc:"What counts as a stem, as in the survey"`
	Survey         *SurveyBrief `json:"survey" doc:"The survey that sets the limit"`
	StemsPerBox    int          `json:"stems_per_box,omitempty" doc:"Stems that one tally box stands for: 1, 5 or 25"`
	Tags           []string     `json:"tags" doc:"Numbers for the tags of the bundles, to be entered as record_number"`
	Cautions       []string     `json:"cautions" doc:"What to take care of"`
	MadeOn         Date         `json:"made_on" doc:"Day on which the records were looked at"`
}

// TallyBoxes are how many boxes are to be ticked up to the number to stop at. The
// last one may stand for fewer stems than the others.
func (s *Sheet) TallyBoxes() int {
	if s.StopAt == 0 {
		return 0
	}
	return (s.StopAt + s.StemsPerBox - 1) / s.StemsPerBox
}
