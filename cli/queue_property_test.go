package cli

import (
	"flag"
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Whatever the road does meanwhile, every entry is in one place, and once: it
// waits, was refused, was settled or is on the server. What was sent arrived in
// the order of entry.
func TestNoEntryIsEverDropped(t *testing.T) {
	fewerChecks(t, "20") // each writes files that go to the disk, and asks a server
	f := newFieldDay(t)
	days := 0
	rapid.Check(t, func(rt *rapid.T) {
		days++
		f.begin(fmt.Sprintf("TB-%d", days))
		f.way.is(open)
		var entered []string
		settledByHand := map[string]bool{}
		steps := rapid.SliceOfN(rapid.SampledFrom([]string{"fits", "fits", "too many", "send", "settle", open, open, closed, closed, cut, half, proxy, hollow}), 4, 14).Draw(rt, "steps")
		for _, step := range steps {
			tag := fmt.Sprintf("T-%d", len(entered))
			switch step {
			case "fits":
				entered = append(entered, tag)
				f.enter(rt, 1, tag, exitDone, exitKept)
			case "too many":
				entered = append(entered, tag)
				f.enter(rt, 300, tag, exitRefused, exitKept)
			case "send":
				f.run("queue", "send")
			case "settle":
				if kept := f.list(); len(kept[refused]) > 0 {
					settledByHand[kept[refused][0]] = true
					f.must("queue", "settle", f.number(kept[refused][0]), "--why", "seen to")
				}
			default:
				f.way.is(step)
			}
			f.account(rt, entered, settledByHand)
		}
		f.way.is(open)
		f.run("queue", "send")
		if left := f.list()[waiting]; len(left) > 0 {
			rt.Errorf("%v still wait", left)
		}
		f.account(rt, entered, settledByHand)
	})
}

// fewerChecks lets a property be tried on fewer cases than is usual, unless their
// number was given.
func fewerChecks(t *testing.T, n string) {
	checks := flag.Lookup("rapid.checks")
	usual := checks.Value.String()
	if usual != checks.DefValue {
		return
	}
	if err := checks.Value.Set(n); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = checks.Value.Set(usual) }) // it was so before
}

// enter logs a bundle. One that the server refuses at once is told to the person
// and is nowhere: it is as if it had not been entered.
func (f *fieldDay) enter(rt *rapid.T, stems int, tag string, ends ...int) {
	code, out, stderr := f.run("batch", "log", "--stand", f.stand, "--stems-cut", fmt.Sprint(stems), "--cuttings", "2", "--collected-by", "RQ", "--record-number", tag)
	if !slices.Contains(ends, code) {
		rt.Fatalf("%s ended with %d: %s%s", tag, code, out, stderr)
	}
	if code == exitRefused {
		f.refusedAtOnce = append(f.refusedAtOnce, tag)
	}
}

// number is the number of the entry of a tag.
func (f *fieldDay) number(tag string) string {
	for id := 1; ; id++ {
		if _, out, _ := f.run("queue", "show", fmt.Sprint(id)); strings.Contains(out, ", tag "+tag+"\n") {
			return fmt.Sprint(id)
		}
	}
}

// account holds where the entries are against what was entered.
func (f *fieldDay) account(rt *rapid.T, entered []string, settledByHand map[string]bool) {
	kept, there := f.list(), f.arrived()
	if !slices.IsSortedFunc(there, byTag) || !slices.IsSortedFunc(kept[waiting], byTag) {
		rt.Fatalf("out of order: %v wait, %v arrived", kept[waiting], there)
	}
	for _, tag := range entered {
		here := count(tag, kept[waiting]) + count(tag, kept[refused]) + count(tag, kept[settled])
		arrived := count(tag, there)
		atOnce := count(tag, f.refusedAtOnce)
		switch {
		case here+arrived+atOnce == 1 && settledByHand[tag] == (count(tag, kept[settled]) == 1):
		case here == 1 && arrived == 1 && count(tag, kept[waiting]) == 1: // its answer was lost: it is sent again, and is recorded once
		default:
			rt.Fatalf("%s is here %d times and on the server %d times: %v %v", tag, here, arrived, kept, there)
		}
	}
	if len(there) > len(entered) {
		rt.Fatalf("%d arrived of %d", len(there), len(entered))
	}
}

func count(tag string, tags []string) (n int) {
	for _, t := range tags {
		if t == tag {
			n++
		}
	}
	return n
}

func byTag(a, b string) int {
	var x, y int
	_, _ = fmt.Sscanf(a, "T-%d", &x) // every tag of this test is one
	_, _ = fmt.Sscanf(b, "T-%d", &y)
	return x - y
}
