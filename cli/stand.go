package cli

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
	"withybed/models/nursery"
)

func newStand(s *session) *cobra.Command {
	cmd := s.group("stand", "Keep stands, and ask what they can spare",
		examples("withy stand list", "withy stand show MB-03", "withy stand allowance MB-03 --stems 24 --parents 6"))
	cmd.AddCommand(newStandAdd(s), newStandList(s), newStandShow(s), newStandEdit(s), newStandClose(s), newStandVersions(s),
		newRest(s), newSalvage(s), newNestCheck(s), newToolCleaning(s),
		newAllowance(s), newLedger(s), newSeasons(s), newDisturb(s), newDisturbances(s), newOthers(s), newStandParents(s), newStandPlot(s), newStandCorrect(s))
	return cmd
}

func newStandAdd(s *session) *cobra.Command {
	var req models.NewStand
	cmd := &cobra.Command{
		Use: "add CODE", Short: "Add a stand: one taxon at one place",
		Long: `Adds a stand. What its harvest rule does not say follows the nursery's defaults of
today. Coordinates are kept exactly and shown coarsened, by the sensitivity.`,
		Example: examples(
			"withy stand add MB-03 --name \"Mallow Bend, upper bank\" --taxon \"Cornus sericea\" --place \"Mallow Bend\"",
			"withy stand add TC-01 --name \"Wrenlow Creek mouth\" --taxon \"Salix scouleriana\" --closure \"04-15..07-31: birds nest in the thicket\" --stand-cap 0.04"),
		Args: takes("CODE"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			req.Code = args[0]
			stand, err := c.AddStand(ctx, req)
			if err != nil {
				return err
			}
			return show(s, stand, func(v models.StandView) {
				s.say("Stand %s is added: %s, %s.", v.Code, v.Name, v.Taxon)
				s.say("Nothing may be cut before it is counted. Next: withy survey add %s.", v.Code)
				s.warnAll(v.Warnings)
			})
		}),
	}
	f := cmd.Flags()
	f.StringVar(&req.Name, "name", "", "name of the stand")
	f.StringVar(&req.Taxon, "taxon", "", "scientific name of its taxon")
	f.StringVar(&req.Place, "place", "", "place it shares with other stands")
	f.StringVar(&req.Locality, "locality", "", "how to find it, in words")
	f.StringVar(&req.LandManager, "land-manager", "", "who manages the land")
	optionalNumber(cmd, &req.Latitude, "latitude", "latitude in degrees, WGS84")
	optionalNumber(cmd, &req.Longitude, "longitude", "longitude in degrees, WGS84")
	optionalNumber(cmd, &req.CoordinateUncertaintyM, "coordinate-uncertainty-m", "radius in metres within which the true place lies")
	wordFlag(cmd, &req.Sensitivity, "sensitivity", "how coarsely the place is shown", models.Sensitivities)
	wordFlag(cmd, &req.PermitRequired, "permit-required", "whether a permit is required to cut there; not stated by default", models.PermitNeeds)
	f.StringVar(&req.PermitReason, "permit-reason", "", "why none is required; needed with no")
	f.StringVar(&req.ProtectedPlace, "protected-place", "", "what protects the place, where something does")
	f.StringVar(&req.GatheringPlaceOf, "gathering-place-of", "", "the people whose gathering place it is, several with commas")
	ruleFlags(cmd, &req.HarvestRule)
	closureFlags(cmd, &req.Closures)
	needs(cmd, "name", "taxon")
	return cmd
}

// ruleFlags are the parts of a harvest rule, made where one of them is given.
func ruleFlags(cmd *cobra.Command, to **models.NewHarvestRule) {
	rule := &models.NewHarvestRule{}
	optionalDecimal(cmd, &rule.StandCap, "stand-cap", "share", "most stems in any window, as a share of the survey's lower bound")
	optionalDecimal(cmd, &rule.PerPlantCap, "per-plant-cap", "share", "most stems in any window, as a share of those of the plants cut from")
	optionalInt(cmd, &rule.WindowDays, "window-days", "length of the window in days")
	optionalInt(cmd, &rule.SurveyValidDays, "survey-valid-days", "days for which a survey is good")
	optionalText(cmd, &rule.Basis, "rule-basis", "where these numbers come from, in words")
	for _, name := range []string{"stand-cap", "per-plant-cap", "window-days", "survey-valid-days", "rule-basis"} {
		flag := cmd.Flags().Lookup(name).Value.(*value)
		set := flag.set
		flag.set = func(text string) error {
			*to = rule
			return set(text)
		}
	}
}

func closureFlags(cmd *cobra.Command, to *[]models.Closure) {
	for _, flag := range []struct {
		name, help string
		kind       models.ClosureKind
	}{
		{"closure", "a period without cutting, as in \"04-15..07-31: birds nest\", MM-DD for every year; may be given again", models.Closed},
		{"nest-check", "the same, but shut until someone has looked for nests; may be given again", models.NestCheck},
	} {
		addValue(cmd, flag.name, "from..to: reason", flag.help, func(text string) error {
			closure, err := parseClosure(text)
			closure.Kind = flag.kind
			*to = append(*to, closure)
			return err
		})
	}
}

// parseClosure reads from..to: reason. Ends without a year come back every year.
func parseClosure(text string) (models.Closure, error) {
	period, reason, _ := strings.Cut(text, ":")
	from, to, ok := strings.Cut(strings.TrimSpace(period), "..")
	if !ok {
		return models.Closure{}, fmt.Errorf("is %q, and must be two days with a reason, as in \"04-15..07-31: birds nest\"", text)
	}
	return models.Closure{
		From: from, To: to, Reason: strings.TrimSpace(reason), EveryYear: len(from) == len("04-15"),
	}, nil
}

func newStandList(s *session) *cobra.Command {
	var q nursery.StandQuery
	cmd := &cobra.Command{
		Use: "list", Short: "List the stands",
		Example: examples("withy stand list", "withy stand list --place \"Mallow Bend\"", "withy stand list --taxon \"Cornus sericea\" --json"),
		Args:    takes(),
		RunE: s.through(func(ctx context.Context, c *api.Client, _ []string) error {
			return showAll(s, c.Stands(ctx, q), s.standTable)
		}),
	}
	cmd.Flags().StringVar(&q.Taxon, "taxon", "", "only stands of this taxon")
	cmd.Flags().StringVar(&q.Place, "place", "", "only stands at this place")
	cmd.Flags().BoolVar(&q.Exact, "exact", false, "coordinates as they are kept, with --json")
	return cmd
}

func (s *session) standTable(stands []models.StandView) {
	var rows [][]string
	for _, v := range stands {
		counted, bound := "never", "-"
		if v.Survey != nil {
			counted, bound = v.Survey.SurveyedOn.String(), number(v.Survey.LowerBound.Float(), 1)
		}
		rows = append(rows, []string{v.Code, v.Name, v.Taxon, counted, bound, remarkOf(&v)})
	}
	s.table([]column{col("STAND"), textCol("NAME"), textCol("TAXON"), col("COUNTED"), numCol("BOUND"), col("REMARK")}, rows,
		"There are no stands: add one with withy stand add.")
}

func newStandShow(s *session) *cobra.Command {
	var exact bool
	cmd := &cobra.Command{
		Use: "show STAND", Short: "Show a stand with its rule, closures and latest count",
		Example: examples("withy stand show MB-03", "withy stand show MB-03 --exact"),
		Args:    takes("STAND"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			stand, err := c.Stand(ctx, args[0], exact)
			if err != nil {
				return err
			}
			return show(s, stand, s.standWords)
		}),
	}
	cmd.Flags().BoolVar(&exact, "exact", false, "coordinates as they are kept, for those who may know them")
	return cmd
}

func (s *session) standWords(v models.StandView) {
	s.say("%s  %s", v.Code, v.Name)
	s.say("%s", taxonWords(v.Taxon, v.CommonName))
	for _, line := range []struct{ label, text string }{
		{"Place", v.Place}, {"Land manager", v.LandManager}, {"Locality", v.Locality}, {"Coordinates", coordinates(&v)},
	} {
		if line.text != "" {
			s.say("%s: %s", line.label, line.text)
		}
	}
	s.say("%s", permitNeedWords(&v))
	s.say("Harvest rule: %s.", ruleWords(v.HarvestRule.HarvestRule))
	for _, closure := range v.Closures {
		s.say("%s", closureWords(closure))
	}
	s.standToday(&v)
	if v.Survey == nil {
		s.say("Never counted: nothing may be cut before withy survey add %s.", v.Code)
	} else {
		s.say("Counted: %s.", surveyWords(v.Survey))
	}
	s.say("Version %d.", v.Version)
	if v.Exceeded != "" {
		s.warn("%s: %s", v.Code, v.Exceeded)
	}
}

// permitNeedWords says whether a permit is required, what protects the place, and whom to ask
// first.
func permitNeedWords(v *models.StandView) string {
	text := map[models.PermitNeed]string{
		models.PermitNotStated: "Whether a permit is required is not stated.",
		models.PermitNeeded:    "A permit is required.",
		models.PermitNotNeeded: "No permit is required: " + v.PermitReason + ".",
	}[v.PermitRequired]
	if v.ProtectedPlace != "" {
		text += " The place is protected: " + v.ProtectedPlace + "."
	}
	if v.GatheringPlaceOf != "" {
		text += " It is a gathering place of " + v.GatheringPlaceOf + ": ask them first."
	}
	return text
}

func coordinates(v *models.StandView) string {
	if v.Latitude == nil || v.Longitude == nil {
		return v.InformationWithheld
	}
	text := number(*v.Latitude, 6) + ", " + number(*v.Longitude, 6)
	if v.CoordinateUncertaintyM != nil {
		text += " within " + number(*v.CoordinateUncertaintyM, 0) + " m"
	}
	if v.DataGeneralizations != "" {
		text += " (" + v.DataGeneralizations + ")"
	}
	return text
}

func ruleWords(r models.HarvestRule) string {
	text := fmt.Sprintf("at most %s of the stems counted (lower bound), and %s of the stems of the plants cut from, in any %s; a count is good for %s",
		r.StandCap, r.PerPlantCap, models.Counted(r.WindowDays, "day"), models.Counted(r.SurveyValidDays, "day"))
	if r.Basis == "" {
		return text
	}
	return text + "; basis: " + strings.TrimRight(r.Basis, ".")
}

func closureWords(c models.Closure) string {
	text := "Closed"
	if c.Kind == models.NestCheck {
		text = "Closed until nests were looked for and none found,"
	}
	text += " from " + c.From + " to " + c.To
	if c.EveryYear {
		text += " every year"
	}
	if c.Reason != "" {
		text += ": " + c.Reason
	}
	return text + "."
}

func newStandVersions(s *session) *cobra.Command {
	return &cobra.Command{
		Use: "versions STAND", Short: "Show every version of a stand's harvest rule and closures",
		Example: examples("withy stand versions MB-03"),
		Args:    takes("STAND"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			versions, err := c.StandVersions(ctx, args[0])
			if err != nil {
				return err
			}
			return show(s, versions, s.versionWords)
		}),
	}
}

func (s *session) versionWords(v models.StandVersions) {
	var rows [][]string
	for i, r := range v.HarvestRules {
		rows = append(rows, []string{since(i, r.InForceFrom), r.StandCap.String(), r.PerPlantCap.String(),
			strconv.Itoa(r.WindowDays), strconv.Itoa(r.SurveyValidDays), dash(r.SetBy), dash(r.Why)})
	}
	s.table([]column{col("RULE FROM"), numCol("STAND CAP"), numCol("PER PLANT"), numCol("WINDOW"), numCol("GOOD FOR"), col("BY"), textCol("WHY")},
		rows, "There is no harvest rule.")
	s.say("")
	rows = nil
	for i, version := range v.Closures {
		rows = append(rows, []string{since(i, version.InForceFrom), dash(periodWords(version.Closures)), dash(version.SetBy), dash(version.Why)})
	}
	s.table([]column{col("CLOSURES FROM"), textCol("PERIODS"), col("BY"), textCol("WHY")}, rows, "There are no closures.")
}

// periodWords are closures in one line.
func periodWords(closures []models.Closure) string {
	var periods []string
	for _, closure := range closures {
		periods = append(periods, strings.TrimSuffix(closureWords(closure), "."))
	}
	return strings.Join(periods, "; ")
}

// since is from when a version holds; the first holds from the beginning.
func since(i int, from models.Date) string {
	if i == 0 {
		return "the beginning"
	}
	return from.String()
}
