package fretboard

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// tie gives equal bars one fingering: bars with the same chords, line and hits
// before the same next chord. Each class takes, of the fingerings that its bars
// chose, the one with which the whole path costs least, the classes in the order of
// the form; then the bars of no class are chosen anew around them.
func (s *search) tie(layers [][]grip, path []*grip, cost float64) ([]*grip, float64) {
	classes := s.classes(layers)
	if len(classes) == 0 {
		return path, cost
	}
	untied := path
	path = slices.Clone(path)
	for range 2 {
		for _, c := range classes {
			s.tieClass(c, layers, path)
		}
	}
	fixed := slices.Clone(layers)
	for _, c := range classes {
		for _, bar := range c {
			for i := bar.from; i < bar.to; i++ {
				fixed[i] = []grip{*path[i]}
			}
		}
	}
	tied, all, stuck := s.best(fixed)
	if stuck >= 0 {
		return untied, cost
	}
	return tied, all
}

// run is the moments of a bar.
type run struct{ from, to int }

// classes lists the runs of equal bars, two or more each.
func (s *search) classes(layers [][]grip) [][]run {
	var runs []run
	for i := range s.ms {
		if i == 0 || s.ms[i].at.Bar != s.ms[i-1].at.Bar {
			runs = append(runs, run{from: i})
		}
		runs[len(runs)-1].to = i + 1
	}
	at := map[string]int{}
	var classes [][]run
	for i, r := range runs {
		next := s.ms[runs[(i+1)%len(runs)].from].chord.Identity()
		key := fmt.Sprint(s.likeness(r, layers), next)
		k, met := at[key]
		if !met {
			k = len(classes)
			at[key] = k
			classes = append(classes, nil)
		}
		classes[k] = append(classes[k], r)
	}
	return slices.DeleteFunc(classes, func(c []run) bool { return len(c) < 2 })
}

// likeness writes down what makes two bars equal.
func (s *search) likeness(r run, layers [][]grip) string {
	var b strings.Builder
	for i := r.from; i < r.to; i++ {
		m := &s.ms[i]
		midi := -1
		if m.bass != nil {
			midi = m.bass.Pitch.MIDI()
		}
		fmt.Fprintf(&b, "%d %v %v %d %v %v %v %d|", m.at.Beat, m.at.Off, m.chord.Identity(), midi, m.placed, m.sounds, m.forced, len(layers[i]))
		if m.strike != nil {
			fmt.Fprint(&b, m.strike.Hit, "|")
		}
	}
	return b.String()
}

// mostTied is how many fingerings of a class are tried, the most frequent.
const mostTied = 12

// tieClass gives the bars of a class the fingering of one of them.
func (s *search) tieClass(class []run, layers [][]grip, path []*grip) {
	type choice struct {
		key   string
		grips []*grip
		count int
	}
	var choices []choice
	touched := map[int]bool{}
	for _, r := range class {
		var b strings.Builder
		for i := r.from; i < r.to; i++ {
			fmt.Fprint(&b, path[i].String(), " ")
			touched[i] = true
		}
		if r.to < len(path) {
			touched[r.to] = true
		}
		for i := r.to; i < len(path); i++ {
			if path[i].shape != nil {
				touched[i] = true
				break
			}
		}
		if k := slices.IndexFunc(choices, func(c choice) bool { return c.key == b.String() }); k >= 0 {
			choices[k].count++
		} else {
			choices = append(choices, choice{b.String(), slices.Clone(path[r.from:r.to]), 1})
		}
	}
	if len(choices) == 1 {
		return
	}
	slices.SortStableFunc(choices, func(a, b choice) int { return b.count - a.count })
	moments := slices.Sorted(maps.Keys(touched))
	var kept []*grip
	least := 0.0
	for _, c := range choices[:min(mostTied, len(choices))] {
		for _, r := range class {
			copy(path[r.from:r.to], c.grips)
		}
		if cost := s.costAt(moments, path); kept == nil || cost < least {
			kept, least = c.grips, cost
		}
	}
	for _, r := range class {
		copy(path[r.from:r.to], kept)
	}
}

// costAt is what a path costs at some moments, in order: each grip, the way to it
// and the voices since the hit before.
func (s *search) costAt(moments []int, path []*grip) float64 {
	total := 0.0
	for _, i := range moments {
		total += path[i].cost
		if i > 0 {
			total += s.step(i, path[i-1], path[i])
		}
		for h := i - 1; h >= 0 && path[i].shape != nil; h-- {
			if path[h].shape != nil {
				total += s.hit(h, i, path[h], path[i])
				break
			}
		}
	}
	return total
}

// String writes a grip so that equal ones read alike.
func (g *grip) String() string {
	if g.shape == nil {
		return fmt.Sprint(g.place, g.finger, g.position)
	}
	return fmt.Sprint(FormatFrets(g.shape.Frets), g.shape.Fingers, g.position)
}
