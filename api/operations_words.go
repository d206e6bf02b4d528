package api

const (
	aboutTaxon   = "no-such-taxon"
	aboutStand   = "no-such-stand"
	aboutBatch   = "no-such-batch"
	aboutPerson  = "no-such-person"
	aboutEdit    = "if-match-missing stale"
	aboutKey     = "key-reused"
	aboutPage    = "bad-cursor"
	aboutRooting = "unknown-grouping unknown-stand unknown-taxon"
)

// operations are the words about every operation, by its id.
var operations = map[string]words{
	"show-nursery": {"Show the nursery", "The nursery with its settings, each with its basis, and its present day.", "The nursery", ""},
	"edit-nursery": {"Edit the nursery", "Changes the settings by a merge patch (RFC 7396): what is left out stays. Changing a default rewrites no stand that exists.", "The nursery after the edit", aboutEdit},

	"list-taxa":  {"List the taxa", "Every taxon the nursery keeps, by name.", "A page of taxa", aboutPage},
	"add-taxon":  {"Add a taxon", "A taxon is known by its scientific name, compared without case and extra spaces; it has no other code.", "The taxon as it is kept", "taken " + aboutKey},
	"show-taxon": {"Show a taxon", "One taxon, by its scientific name with its spaces escaped.", "The taxon", aboutTaxon},
	"edit-taxon": {"Edit a taxon", "Changes a taxon by a merge patch (RFC 7396). A taxon that becomes protected can no longer be cut.", "The taxon after the edit", aboutTaxon + " " + aboutEdit},

	"list-stands":         {"List stands", "Stands by code, with the harvest rule, closures and survey of today. Places are coarsened to the sensitivity of each stand unless exact ones are asked for.", "A page of stands", "unknown-taxon " + aboutPage},
	"add-stand":           {"Add a stand", "A stand is one taxon at one place under one land manager. Without a harvest rule it copies the defaults of the nursery of that day.", "The stand, its place coarsened", "taken unknown-taxon bad-date " + aboutKey},
	"show-stand":          {"Show a stand", "One stand with the harvest rule, closures and survey of today.", "The stand", aboutStand},
	"edit-stand":          {"Edit a stand", "Changes a stand by a merge patch (RFC 7396). A harvest rule or a list of closures in it starts a new version with the day it is in force from and a why; the old ones stay. A list of closures is the whole list: one that is left out is no longer closed, and the answer says which. To add to the list, post to its closures.", "The stand after the edit", aboutStand + " " + aboutEdit + " bad-date"},
	"add-closures":        {"Close a stand for more days", "Adds closures to those in force on the day they start on, as a new version of the list: what is closed stays closed. A closure that is there already is not added again. Coordinators close any stand, a land manager those on their own land.", "The stand with the closures of today", aboutStand + " bad-date " + aboutKey},
	"list-stand-versions": {"Show the versions of a stand's rules", "Every version of the harvest rule and of the closures of a stand, as they were entered.", "The versions", aboutStand},
	"show-allowance":      {"How many stems may be cut?", "What every harvest rule allows on a day, which of them binds, and the first day on which the stems asked about are possible. It says what the count allows and never that there is leave to cut: that is the land manager's, and the permit's, to give.", "The allowance, also where it is 0", aboutStand},
	"list-ledger":         {"List the ledger of a stand", "The append-only entries of stems taken from a stand, the latest entered first.", "A page of entries", aboutStand + " " + aboutPage},
	"list-seasons":        {"Show what was taken by season", "Stems taken from a stand in each growth year, 1 July to 30 June, as a share of the survey's lower bound; the latest year first.", "The seasons, all on one page", aboutStand},
	"show-sheet":          {"Make a field sheet", "The page a crew takes to a stand: marks of the plant, the number to stop at, how many to take from one plant, cautions, tally boxes and tag numbers. It answers with JSON, plain text of 80 columns or a PDF, as Accept asks. The number to stop at is what was asked for, or what every rule allows on that day if that is less; where nothing is allowed the sheet says so. It keeps nothing.", "The sheet, also where nothing may be cut", aboutStand},
	"list-others-cuts":    {"List the cuts of others", "What others than the nursery cut from a stand, the latest entered first.", "A page of cuts", aboutStand + " " + aboutPage},
	"add-others-cut":      {"Enter a cut of others", "Stems that others cut from a stand, as a range of stems and of days. It is never refused by a harvest rule: they are gone. The high figure counts against the stand, on the last day on which they may have been cut.", "The cut, with a warning where the stand is over its limit", aboutStand + " in-the-future out-of-order " + aboutKey},

	"list-surveys":      {"List the surveys of a stand", "The counts of a stand with their estimates and bounds, the latest first.", "A page of surveys", aboutStand + " " + aboutPage},
	"add-survey":        {"Enter a survey", "A count of a stand by one of five methods. The answer has the estimate, its standard error and the one-sided lower bound that the caps multiply.", "The survey with its bound", aboutStand + " " + aboutKey + " in-the-future too-few-plots too-few-clumps plots-beyond-stand sample-beyond-clumps"},
	"list-disturbances": {"List the disturbances of a stand", "What ended the surveys of a stand, in order of day.", "The disturbances, all on one page", aboutStand},
	"add-disturbance":   {"Enter a disturbance", "A flood, fire or the like, after which a stand must be counted again before it is cut.", "The disturbance", aboutStand + " " + aboutKey + " in-the-future"},

	"list-batches": {"List batches", "Batches, the latest collected first, with where their cuttings are today.", "A page of batches", "unknown-stand unknown-taxon " + aboutPage},
	"log-batch":    {"Log a cutting batch", "Records what was cut from a stand on a day, and sticks it at once where stuck_on is given. What a harvest rule refuses is not stored; stems that are cut already are recorded with already_cut and a reason, and reviewed.", "The batch as it is kept, with its shares of the stand and what to look at again", "over-allowance survey-expired closed-season protected before-first-survey unknown-stand taxon-misfit parents-missing no-stems in-the-future record-number-taken " + aboutKey},
	"show-batch":   {"Show a batch", "One batch whole: counts that balance, rooting percent with its day, days to root, flags and history.", "The batch", aboutBatch},
	"log-day":      {"Log a day sheet", "Records every row of a sheet as a batch: CSV (RFC 4180) in UTF-8, with a first line that names the columns by the JSON names of a batch, parts of a treatment as treatment.auxin and so on. Every row is judged with those before it. All rows are recorded, or none, and then every problem of every row is told by its line.", "The batches, in the order of the rows", "malformed invalid unknown-column over-allowance survey-expired closed-season unknown-stand record-number-taken " + aboutKey},

	"stick-batch":   {"Stick a batch", "Records how many cuttings went into the medium on which day, and how. A batch is stuck once; what is stuck another day is split off first.", "The batch after the sticking", aboutBatch + " already-stuck too-many-cuttings batch-closed " + aboutKey},
	"move-cuttings": {"Move cuttings before sticking", "Puts cuttings to soak or into a store, or records them as used unrooted or lost.", "The batch after the move", aboutBatch + " too-many-cuttings batch-closed " + aboutKey},
	"split-batch":   {"Split a batch", "Splits sister batches off a batch, for the arms of a trial or another day of sticking. The stems stay on the first.", "The batch and its new sisters", aboutBatch + " too-many-cuttings batch-closed " + aboutKey},
	"review-batch":  {"Review a batch", "The coordinator's answer to a batch that was cut against a rule.", "The batch after the review", aboutBatch + " not-to-review " + aboutKey},
	"check-batch":   {"Check a tray", "What stands in the tray now, and what was lost since the last check, by cause.", "The batch after the check", aboutBatch + " before-sticking unbalanced ever-rooted-falls in-the-future out-of-order batch-closed " + aboutKey},
	"pot-up-batch":  {"Pot up", "Records rooted cuttings that were potted. More than were known to be rooted are recorded as found rooted that day, as far as unrooted ones remain.", "The batch after potting", aboutBatch + " before-sticking too-many-potted batch-closed " + aboutKey},
	"decide-batch":  {"Decide about a batch", "Keeps the unrooted until a day, lifts them into a sister to be stuck again, discards them, or closes the batch.", "The batch after the decision", aboutBatch + " nothing-left batch-closed " + aboutKey},

	"list-tokens":  {"List the tokens", "The tokens that open the door, the newest first, without their secrets; with all also those that have ended or were revoked.", "A page of tokens", aboutPage},
	"add-token":    {"Make a token", "Makes a token and shows its secret, this once. The first token must be a coordinator's: from then on every request needs one, for good.", "The token, with its secret", "first-token token-name-taken token-already-shown " + aboutKey},
	"revoke-token": {"Revoke a token", "Ends a token within five seconds on every server, named by its handle or its name. One that was revoked before stays as it is.", "The token", "no-such-token " + aboutKey},

	"list-changes": {"Who changed what?", "The record of changes, the latest first: who made which request, when and in what role, and what an edit changed. A request that changed nothing leaves no line.", "A page of changes", aboutPage},
	"list-mail":    {"List the mail", "Letters to people, the latest made first: reminders once a week, and alerts at once. It shows which wait, what the last try met, and which were given up. What a letter says is not shown.", "A page of letters", aboutPage},

	"list-due":           {"What is due?", "What every batch asks for on a day, the most urgent first, with its reason and numbers.", "What is due", ""},
	"show-rooting-rate":  {"What rooted?", "The rooting rate of groups of batches, out of those stuck, with the method it was worked out by, its day, and limits that allow for batches that differ. Taxon, treatment and heated are told apart unless something else is asked for.", "The groups", aboutRooting},
	"show-rooting-curve": {"How fast did it root?", "The share rooted and the share lost by day, pooled over batches looked at on different days: where the shares lie, limits, days to root and the final rate. All batches are pooled unless they are grouped. It comes as JSON, or drawn as SVG or PNG, as Accept asks.", "The curves", aboutRooting},
	"show-rooting-days":  {"How many days to root?", "The days by which a tenth, half and nine tenths had rooted, of those stuck and of those rooted, as the stretch in which the level was reached, with limits. All batches are pooled unless they are grouped.", "The groups", aboutRooting},
	"fit-rooting":        {"Which model do the days to root follow?", "Families of models in which a share never roots, fitted to all batches pooled and to each group: the share that roots, the days to root of those that do, and how good each is, allowing for batches that differ. A family is declined with a reason where it cannot be had. It comes as JSON, or, of all batches pooled, drawn over their curve as SVG or PNG, as Accept asks.", "The fits", aboutRooting},
	"forecast-rooting":   {"What will root, and when?", "For every open batch, going by its last look and by batches like it: the number expected to have rooted by day with its 80 % band, the day by which the wanted number is rooted with 90 % chance, and the chance that what has not rooted still will. The batches it goes by, and how much is taken from general experience, are said with it. A forecast never says that a tray is fit to pot: its roots do. It comes as JSON, or for one batch drawn as SVG or PNG, as Accept asks.", "The forecasts", "unknown-stand unknown-taxon no-such-batch"},
	"calibrate-rooting":  {"How good were the forecasts?", "Replays forecasts from past looks, with what had been entered by the end of their day and nothing else, and holds them against the looks that came later: how often the 80 % bands held, how far the foretold days were off, and how close the counts came beside last season's batches. It comes as JSON, or drawn as SVG or PNG, as Accept asks: what came of the chances that were given.", "How they did", "unknown-stand unknown-taxon"},
	"compare-rooting":    {"Do arms differ?", "The arms of a trial, by treatment unless something else is asked for: their rates by one day, the difference with limits, and a test over the whole curve that relabels whole batches, within blocks where a harvest was split. It says so where there are too few batches to test, or where the arms did not stand side by side. Who stuck the batches is compared for leads and coordinators alone.", "The comparison", aboutRooting + " unknown-arm not-for-role"},

	"list-reminders": {"List the reminders", "The weekly reminders, the latest week first.", "A page of reminders", aboutPage},
	"make-reminder":  {"Make or find a reminder", "Makes the reminder of the week that holds a day, this instant by default, or finds the one there is: there is exactly one a week. The body may be left out.", "The reminder that this request made", "in-the-future " + aboutKey},
	"show-reminder":  {"Show a reminder", "The reminder of the week that begins on a day.", "The reminder", "no-such-reminder"},

	"list-people":  {"List the people", "The people by code with their contacts, for coordinators alone. Those who were erased are listed with their code and nothing else.", "A page of people", aboutPage},
	"add-person":   {"Put a person on the list", "Gives a person the short code that records name them by. A code is given once, for good. From the first one on, a name in a record that is no code is shown to others than coordinators as not on the list.", "The person as kept", "taken " + aboutKey},
	"show-person":  {"Show a person", "One person with name and contacts, for coordinators alone.", "The person", aboutPerson},
	"edit-person":  {"Edit a person", "Changes a person by a merge patch (RFC 7396): what is left out stays. Letters that wait for an old address go to the new one.", "The person after the edit", aboutPerson + " person-erased " + aboutEdit},
	"erase-person": {"Erase a person", "Takes away name, contacts, note and mail, letters that wait, and the answers remembered for a retry, in one step and for good. The code stays taken, and no record is touched. Erasing a person twice changes nothing.", "The person, of whom the code is left", aboutPerson + " " + aboutKey},
}
