package fretboard

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// run is the moments of a bar.
type run struct{ from, to int }

// class is a set of equal bars, two or more: with the same chords, line and hits
// before the same next chord.
type class struct {
	runs   []run
	number int // of a block, from 0
	// choices are the fingerings that they have in the free path, moments those whose
	// cost changes with them.
	choices [][]*grip
	moments []int
}

// classes lists the classes of a pass in the order of the form.
func (s *search) classes() []class {
	var runs []run
	for i := range s.ms {
		if i == 0 || s.ms[i].at.Bar != s.ms[i-1].at.Bar {
			runs = append(runs, run{from: i})
		}
		runs[len(runs)-1].to = i + 1
	}
	at := map[string]int{}
	var all []class
	for i, r := range runs {
		next := s.ms[runs[(i+1)%len(runs)].from].chord.Identity()
		key := fmt.Sprint(s.likeness(r), next)
		k, met := at[key]
		if !met {
			k = len(all)
			at[key] = k
			all = append(all, class{})
		}
		all[k].runs = append(all[k].runs, r)
	}
	all = slices.DeleteFunc(all, func(c class) bool { return len(c.runs) < 2 })
	for k := range all {
		all[k].moments = s.touched(all[k].runs)
	}
	return all
}

// narrowed offers equal bars the same grips: those of the one that has the fewest, as
// a pinned note has. It is nil where they have the same already.
func (t *tying) narrowed() (layers [][]grip) {
	for _, c := range t.classes {
		for k := range c.runs[0].to - c.runs[0].from {
			fewest := c.runs[0].from + k
			for _, r := range c.runs[1:] {
				if len(t.layers[r.from+k]) < len(t.layers[fewest]) {
					fewest = r.from + k
				}
			}
			for _, r := range c.runs {
				if len(t.layers[r.from+k]) == len(t.layers[fewest]) {
					continue
				}
				if layers == nil {
					layers = slices.Clone(t.layers)
				}
				layers[r.from+k] = t.layers[fewest]
			}
		}
	}
	return layers
}

// likeness writes down what makes two bars equal.
func (s *search) likeness(r run) string {
	var b strings.Builder
	for i := r.from; i < r.to; i++ {
		m := &s.ms[i]
		midi := -1
		if m.bass != nil {
			midi = m.bass.Pitch.MIDI()
		}
		fmt.Fprintf(&b, "%d %v %v %d %v %v %v|", m.at.Beat, m.at.Off, m.chord.Identity(), midi, m.placed || i == r.from, m.sounds, m.forced)
		if m.strike != nil {
			fmt.Fprint(&b, m.strike.Hit, "|")
		}
	}
	return b.String()
}

// chosen lists the fingerings of some bars in a path, the most frequent first.
func chosen(runs []run, path []*grip) [][]*grip {
	type choice struct {
		grips []*grip
		count int
	}
	at := map[string]int{}
	var all []choice
	for _, r := range runs {
		key := fmt.Sprint(path[r.from:r.to])
		k, met := at[key]
		if !met {
			k = len(all)
			at[key] = k
			all = append(all, choice{grips: path[r.from:r.to]})
		}
		all[k].count++
	}
	slices.SortStableFunc(all, func(a, b choice) int { return b.count - a.count })
	var choices [][]*grip
	for _, c := range all[:min(mostTied, len(all))] {
		choices = append(choices, c.grips)
	}
	return choices
}

// touched lists the moments whose cost changes with the grips of some bars: theirs,
// the one after each, and the hit after each.
func (s *search) touched(runs []run) []int {
	at := map[int]bool{}
	for _, r := range runs {
		for i := r.from; i < r.to; i++ {
			at[i] = true
		}
		if r.to < len(s.ms) {
			at[r.to] = true
			if i := s.after[r.to]; i < len(s.ms) {
				at[i] = true
			}
		}
	}
	return slices.Sorted(maps.Keys(at))
}

// join joins classes whose bars follow each other wherever they stand into blocks, so
// that they are fingered as one.
func (t *tying) join() {
	for _, c := range t.classes {
		k := slices.IndexFunc(t.blocks, func(b class) bool {
			return slices.EqualFunc(b.runs, c.runs, func(x, y run) bool { return x.to == y.from })
		})
		if k < 0 {
			t.blocks = append(t.blocks, class{runs: slices.Clone(c.runs), number: len(t.blocks)})
			continue
		}
		for i := range c.runs {
			t.blocks[k].runs[i].to = c.runs[i].to
		}
	}
	t.owner = slices.Repeat([]int{-1}, len(t.ms))
	for k := range t.blocks {
		b := &t.blocks[k]
		b.moments = t.touched(b.runs)
		for _, r := range b.runs {
			for i := r.from; i < r.to; i++ {
				t.owner[i] = k
			}
		}
	}
}
