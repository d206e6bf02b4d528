package documents

import "slices"

// part is a part of a reminder or a letter: a heading with what stands under it.
type part struct {
	Heading string
	Groups  []group
}

// group is what stands together under a heading, by its place where it has one.
type group struct {
	Place   string
	Entries []entry
}

// entry is one thing, and why it is there.
type entry struct{ What, Why string }

// filled are the parts that say something.
func filled(parts ...part) []part {
	return slices.DeleteFunc(parts, func(p part) bool {
		return !slices.ContainsFunc(p.Groups, func(g group) bool { return len(g.Entries) > 0 })
	})
}

// parts writes parts, the entries of each indented under their heading and place.
func (p *page) parts(parts []part) {
	for _, part := range parts {
		p.gap()
		p.write(0, part.Heading)
		for _, g := range part.Groups {
			p.group(g)
		}
	}
}

func (p *page) group(g group) {
	steps := 1
	if g.Place != "" {
		p.write(steps, g.Place)
		steps++
	}
	for _, e := range g.Entries {
		p.write(steps, e.What)
		p.write(steps+1, e.Why)
	}
}

// paragraphs writes each after an empty line, its sentences on lines of their own.
func (p *page) paragraphs(list [][]string) {
	for _, sentences := range list {
		p.gap()
		for _, sentence := range sentences {
			p.write(0, sentence)
		}
	}
}
