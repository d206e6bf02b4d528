package stats

// levelTies is how far below a level the curve may stay to reach it: 20 of 40 is
// half. It is what the finest gap leaves open.
const levelTies = 1e-6

// DayOf is the stretch of days in which the share rooted reaches a level, looking
// no further than day tau: by day By for sure, after day After for sure. It is
// NotReached where the level lies above the share rooted by tau.
//
// The day is inf{t: F(t) ≥ level}; between two looks the data do not say when.
func (inc *Incidence) DayOf(level float64, tau int) DayBracket {
	after := 0
	for _, day := range inc.Days {
		if day > tau {
			break
		}
		lower, upper := inc.RootedBy(day)
		if lower >= level-levelTies {
			return DayBracket{Status: Reached, After: after, By: day}
		}
		if upper < level-levelTies {
			after = day
		}
	}
	return DayBracket{Status: NotReached}
}

// DayOfRooted is DayOf with the level as a share q of those rooted by day tau;
// Undefined where none had rooted by then. While cuttings are still open it is too
// early, since more of them may root.
func (inc *Incidence) DayOfRooted(q float64, tau int) DayBracket {
	base, _ := inc.RootedBy(tau)
	if base <= 0 {
		return DayBracket{Status: Undefined}
	}
	return inc.DayOf(q*base, tau)
}

// DayLimits turns the limits of a curve into those of the day on which it reaches
// a level: after day from, the last on which the upper limit stays below it, and by
// day to, the first on which the lower one does not, or 0 where there is none
// (Brookmeyer & Crowley 1982, Biometrics 38:29-41). Where within a stretch between
// looks it comes is not known, so that from is the look before. An upper limit that
// is wide early and narrower later, as where few had rooted, does not count: the
// curve cannot fall. Ok is false where no limit reaches the level; the days and the
// limits go together.
func DayLimits(days []int, lower, upper []float64, level float64) (from, to int, ok bool) {
	i := len(days) - 1
	for i >= 0 && upper[i] >= level-levelTies {
		i--
	}
	switch {
	case i == len(days)-1:
		return 0, 0, false
	case i >= 0:
		from = days[i]
	}
	for k, day := range days {
		if lower[k] >= level-levelTies {
			return from, day, true
		}
	}
	return from, 0, true
}
