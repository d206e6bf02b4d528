package rules_test

import (
	"math/big"

	"withybed/models"
)

// The stand of these tests is drawn as plain numbers: days since a base, and
// ten-thousandths. A plain reading of the window rule decides about it by walking
// over days and entries, and shares no code with the rules it holds to account.

var base = models.MustDate("2024-01-01")

const span = 160 // days on which something happens

type plainRule struct {
	from                  int
	standCap, perPlantCap int64 // ten-thousandths
	window, valid         int
}

type plainSurvey struct {
	day     int
	bound   int64 // ten-thousandths
	counted bool
	plants  int // 0 where none were counted
}

type plainEntry struct{ day, stems, parents int }

type plainClosures struct {
	from  int
	spans [][2]int
}

type plainStand struct {
	protected    bool
	rules        []plainRule
	closures     []plainClosures
	surveys      []plainSurvey // in order of day, then of entry
	disturbances []int
	entries      []plainEntry
}

type plainCut struct {
	day, stems int
	parents    *int
}

func (p *plainStand) rule(day int) plainRule {
	found := p.rules[0]
	since := -1 << 30
	for i, r := range p.rules {
		if i == 0 {
			continue
		}
		if r.from <= day && r.from >= since {
			found, since = r, r.from
		}
	}
	return found
}

func (p *plainStand) closed(day int) bool {
	spans := p.closures[0].spans
	since := -1 << 30
	for i, c := range p.closures {
		if i > 0 && c.from <= day && c.from >= since {
			spans, since = c.spans, c.from
		}
	}
	for _, s := range spans {
		if s[0] <= day && day <= s[1] {
			return true
		}
	}
	return false
}

// known are the surveys up to a day, of each day the last entered.
func (p *plainStand) known(day int) []plainSurvey {
	var known []plainSurvey
	for _, s := range p.surveys {
		if s.day > day {
			continue
		}
		if n := len(known); n > 0 && known[n-1].day == s.day {
			known = known[:n-1]
		}
		known = append(known, s)
	}
	return known
}

func (p *plainStand) good(s plainSurvey, day int) bool {
	for _, e := range p.disturbances {
		if s.day <= e && e <= day {
			return false
		}
	}
	return day-s.day <= p.rule(day).valid
}

func (p *plainStand) anyGood(day int) bool {
	for _, s := range p.known(day) {
		if p.good(s, day) {
			return true
		}
	}
	return false
}

// inForce is the counted survey that is good on a day and the ocular ones after
// it; without one, the latest of any kind alone.
func (p *plainStand) inForce(day int) (first *plainSurvey, later []plainSurvey) {
	known := p.known(day)
	for i := range known {
		if known[i].counted && p.good(known[i], day) {
			first, later = &known[i], nil
		} else if !known[i].counted {
			later = append(later, known[i])
		}
	}
	if first == nil && len(known) > 0 {
		return &known[len(known)-1], nil
	}
	return first, later
}

func floorOf(factors ...*big.Rat) int {
	product := big.NewRat(1, 1)
	for _, f := range factors {
		product.Mul(product, f)
	}
	return int(new(big.Int).Quo(product.Num(), product.Denom()).Int64())
}

func tenThousandths(n int64) *big.Rat { return big.NewRat(n, 10000) }

func (p *plainStand) capOf(s plainSurvey, day int) int {
	share := big.NewRat(1, 2)
	if s.counted {
		share = big.NewRat(1, 1)
	}
	return floorOf(tenThousandths(p.rule(day).standCap), share, tenThousandths(s.bound))
}

func (p *plainStand) limit(day int) int {
	first, later := p.inForce(day)
	if first == nil {
		return 0
	}
	limit := p.capOf(*first, day)
	for _, s := range later {
		limit = min(limit, p.capOf(s, day))
	}
	return limit
}

func (p *plainStand) sum(after, to int) (stems, parents int) {
	for _, e := range p.entries {
		if after < e.day && e.day <= to {
			stems += e.stems
			parents += e.parents
		}
	}
	return stems, parents
}

func (p *plainStand) taken(day int) int {
	stems, _ := p.sum(day-p.rule(day).window, day)
	return stems
}

// asked are the days a cut is held against.
func (p *plainStand) asked(day int) []int {
	asked := []int{day}
	for t := day + 1; t <= day+100; t++ {
		stems, _ := p.sum(t-1, t)
		if stems != 0 && day > t-p.rule(t).window {
			asked = append(asked, t)
		}
	}
	return asked
}

func (p *plainStand) standLeft(day int) int {
	left := 1 << 30
	for _, t := range p.asked(day) {
		left = min(left, p.limit(t)-p.taken(t))
	}
	return max(0, left)
}

// perPlantLeft is nil where no survey in question counted plants, or where the
// one of the day did and the parents are not known.
func (p *plainStand) perPlantLeft(cut plainCut) *int {
	parents := 0
	if cut.parents != nil {
		parents = *cut.parents
	} else if first, _ := p.inForce(cut.day); first != nil && first.plants > 0 {
		return nil
	}
	var least *int
	for _, t := range p.asked(cut.day) {
		first, _ := p.inForce(t)
		if first == nil || first.plants == 0 {
			continue
		}
		_, before := p.sum(t-p.rule(t).window, t)
		plants := min(before+parents, first.plants)
		limit := floorOf(tenThousandths(p.rule(t).perPlantCap), tenThousandths(first.bound), big.NewRat(int64(plants), int64(first.plants)))
		left := max(0, limit-p.taken(t))
		if least == nil || left < *least {
			least = &left
		}
	}
	return least
}

// allowed is the least any rule allows, and the first rule to allow so little.
func (p *plainStand) allowed(cut plainCut) (allowed int, binding string) {
	allowed = 1 << 30
	hold := func(rule string, left int) {
		if left < allowed {
			allowed, binding = left, rule
		}
	}
	if p.protected {
		hold("protection", 0)
	}
	if p.closed(cut.day) {
		hold("closure", 0)
	}
	if !p.anyGood(cut.day) {
		hold("survey", 0)
	}
	if left := p.perPlantLeft(cut); left != nil {
		hold("per-plant", *left)
	}
	hold("stand", p.standLeft(cut.day))
	return allowed, binding
}

// possibleFrom walks over the days, far past the end of every survey.
func (p *plainStand) possibleFrom(cut plainCut) *int {
	for ; cut.day <= span+400; cut.day++ {
		if allowed, _ := p.allowed(cut); allowed >= cut.stems {
			return &cut.day
		}
	}
	return nil
}
