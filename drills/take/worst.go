package take

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"footfall/harmony/walk"
)

// Worst adds up the tallies of bars over several passes, and returns the bars in the
// order of their faults, the most first; of bars with as many the first of the form.
// What spread they had is not told.
func Worst(passes ...[]Tally) []Tally {
	bars := map[int]Tally{}
	for _, pass := range passes {
		for _, b := range pass {
			sum, ok := bars[b.Bar]
			if !ok {
				sum = Tally{Section: b.Section, SectionBar: b.SectionBar, Bar: b.Bar}
			}
			sum.add(b.Counts)
			bars[b.Bar] = sum
		}
	}
	return slices.SortedFunc(maps.Values(bars), func(a, b Tally) int {
		return cmp.Or(cmp.Compare(b.Faults(), a.Faults()), cmp.Compare(a.Bar, b.Bar))
	})
}

func (c *Counts) add(d Counts) {
	c.Expected, c.Matched, c.Missed, c.Extra, c.Wrong = c.Expected+d.Expected, c.Matched+d.Matched, c.Missed+d.Missed, c.Extra+d.Extra, c.Wrong+d.Wrong
	c.NotHeard, c.Unsure = c.NotHeard+d.NotHeard, c.Unsure+d.Unsure
	c.WrongString, c.WrongOctave, c.WrongPitch = c.WrongString+d.WrongString, c.WrongOctave+d.WrongOctave, c.WrongPitch+d.WrongPitch
}

// WorstRun returns the bars around the first of some that are in the order of their
// faults that went as badly: the neighbors with as many, and theirs. It is empty where
// nothing went wrong.
func WorstRun(bars []Tally) Bars {
	if len(bars) == 0 || bars[0].Faults() == 0 {
		return Bars{}
	}
	bad := map[int]bool{}
	for _, b := range bars {
		bad[b.Bar] = b.Faults() == bars[0].Faults()
	}
	run := Bars{First: bars[0].Bar, Last: bars[0].Bar}
	for bad[run.First-1] {
		run.First--
	}
	for bad[run.Last+1] {
		run.Last++
	}
	return run
}

// Tallies counts a free walk by bar, the bars with faults alone: a bar that was lost
// counts as two missed, a thin one as one, and a silent one as no fault.
func (f *FreeTake) Tallies() []Tally {
	var all []Tally
	for _, b := range f.Bars {
		t := Tally{Section: b.Bar.Section, SectionBar: b.Bar.SectionBar, Bar: b.Bar.Number}
		switch b.Verdict {
		case walk.Lost:
			t.Missed = 2
		case walk.Thin:
			t.Missed = 1
		default:
			continue
		}
		all = append(all, t)
	}
	return Worst(all)
}

// Says names a bar as charts do, by its section and its number in the form, and what
// went wrong in it where that was counted by note.
func (t Tally) Says() string {
	says := fmt.Sprintf("%s %d", t.Section, t.Bar)
	if faults := t.faults(); t.Expected > 0 && faults != "" {
		says += " (" + faults + ")"
	}
	return says
}
