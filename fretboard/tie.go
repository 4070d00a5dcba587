package fretboard

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// tie gives equal bars one fingering: bars with the same chords, line and hits
// before the same next chord. Each class takes, of the fingerings that its bars
// chose in the free path, the one with which the whole costs least, and where that
// costs too much the one that serves all its places best; then the bars of no class
// are chosen anew around them. It never costs more than a twentieth over the free
// path: what would is let go.
func (s *search) tie(layers [][]grip, free []*grip, cost float64) ([]*grip, float64) {
	classes := s.classes(layers)
	if len(classes) == 0 {
		return free, cost
	}
	// Bars that stand together are best fingered together: begin with what all
	// classes chose at one of their places, and let each better itself from there.
	var path []*grip
	least := 0.0
	for place := range mostPlaces {
		try := slices.Clone(free)
		for _, c := range classes {
			from := c[min(place, len(c)-1)]
			for _, r := range c {
				copy(try[r.from:r.to], free[from.from:from.to])
			}
		}
		for range 2 {
			for _, c := range classes {
				s.tieClass(c, free, try)
			}
		}
		if cost := s.cost(try); path == nil || cost < least {
			path, least = try, cost
		}
	}
	if least > mostTying*cost {
		for range 3 {
			for _, c := range classes {
				s.refinger(c, layers, path)
			}
		}
	}
	for {
		fixed := slices.Clone(layers)
		for _, c := range classes {
			for _, bar := range c {
				for i := bar.from; i < bar.to; i++ {
					fixed[i] = []grip{*path[i]}
				}
			}
		}
		tied, tiedCost, stuck := s.best(fixed)
		if stuck < 0 && tiedCost <= mostTying*cost || len(classes) == 0 {
			return tied, tiedCost
		}
		// Those whose one fingering is dearest are let go, a quarter at a time.
		slices.SortStableFunc(classes, func(a, b []run) int {
			return cmp.Compare(s.dearer(a, path, free), s.dearer(b, path, free))
		})
		classes = classes[:len(classes)-(len(classes)+3)/4]
	}
}

// dearer is what a class costs more with one fingering than as its bars chose.
func (s *search) dearer(class []run, tied, free []*grip) float64 {
	moments := touched(class, tied)
	return s.costAt(moments, tied) - s.costAt(moments, free)
}

// touched lists the moments whose cost changes with the grips of a class.
func touched(class []run, path []*grip) []int {
	at := map[int]bool{}
	for _, r := range class {
		for i := r.from; i < r.to; i++ {
			at[i] = true
		}
		if r.to < len(path) {
			at[r.to] = true
		}
		if i := hitAfter(path, r.to-1); i >= 0 {
			at[i] = true
		}
	}
	return slices.Sorted(maps.Keys(at))
}

// mostPlaces is at how many places of the classes the tying begins.
const mostPlaces = 4

// mostTying is how much the whole may cost with equal bars tied, to the path in
// which they are free.
const mostTying = 1.05

// refinger looks for the fingering that serves all bars of a class best between
// what stands around them, and takes it where it costs the whole less.
func (s *search) refinger(class []run, layers [][]grip, path []*grip) {
	first := class[0]
	count := float64(len(class))
	bar := make([][]grip, first.to-first.from)
	for k := range bar {
		bar[k] = slices.Clone(layers[first.from+k])
	}
	for _, r := range class {
		if r.from > 0 {
			for j := range bar[0] {
				bar[0][j].cost += s.step(r.from, path[r.from-1], &bar[0][j]) / count
			}
		}
		if r.to < len(path) {
			last := bar[len(bar)-1]
			for j := range last {
				last[j].cost += s.step(r.to, &last[j], path[r.to]) / count
			}
		}
		h, i := hitBefore(path, r.from), hitAfter(path, r.from-1)
		if h >= 0 && i >= 0 && i < r.to {
			for j := range bar[i-r.from] {
				bar[i-r.from][j].cost += s.hit(h, i, path[h], &bar[i-r.from][j]) / count
			}
		}
		h, i = hitBefore(path, r.to), hitAfter(path, r.to-1)
		if h >= r.from && i >= 0 {
			for j := range bar[h-r.from] {
				bar[h-r.from][j].cost += s.hit(h, i, &bar[h-r.from][j], path[i]) / count
			}
		}
	}
	part := &search{pricing: s.pricing, ms: s.ms[first.from:first.to], seconds: s.seconds[first.from:first.to]}
	found, _, stuck := part.best(bar)
	if stuck >= 0 {
		return
	}
	moments := touched(class, path)
	before, kept := s.costAt(moments, path), slices.Clone(path[first.from:first.to])
	for _, r := range class {
		for k, g := range found {
			j := slices.IndexFunc(layers[first.from+k], func(o grip) bool { return o.String() == g.String() })
			path[r.from+k] = &layers[first.from+k][j]
		}
	}
	if s.costAt(moments, path) >= before {
		for _, r := range class {
			copy(path[r.from:r.to], kept)
		}
	}
}

// hitBefore and hitAfter return the moment of the nearest hit before moment i, or
// after it, −1 where there is none.
func hitBefore(path []*grip, i int) int {
	for i--; i >= 0 && path[i].shape == nil; i-- {
	}
	return i
}

func hitAfter(path []*grip, i int) int {
	for i++; i < len(path); i++ {
		if path[i].shape != nil {
			return i
		}
	}
	return -1
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

// tieClass gives the bars of a class in path the fingering that one of them had
// when they were free.
func (s *search) tieClass(class []run, free, path []*grip) {
	type choice struct {
		key   string
		grips []*grip
		count int
	}
	var choices []choice
	for _, r := range class {
		var b strings.Builder
		for i := r.from; i < r.to; i++ {
			fmt.Fprint(&b, free[i].String(), " ")
		}
		if k := slices.IndexFunc(choices, func(c choice) bool { return c.key == b.String() }); k >= 0 {
			choices[k].count++
		} else {
			choices = append(choices, choice{b.String(), free[r.from:r.to], 1})
		}
	}
	if len(choices) == 1 {
		return
	}
	slices.SortStableFunc(choices, func(a, b choice) int { return b.count - a.count })
	moments := touched(class, path)
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
