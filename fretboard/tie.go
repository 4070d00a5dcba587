package fretboard

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// mostPlaces is at how many places of the classes the tying begins, mostTied how
// many fingerings of a class are tried, the most frequent.
const (
	mostPlaces = 4
	mostTied   = 12
)

// mostTying is how much the whole may cost with equal bars tied, to the path in
// which they are free.
const mostTying = 1.05

// run is the moments of a bar.
type run struct{ from, to int }

// class is a set of equal bars, two or more: with the same chords, line and hits
// before the same next chord.
type class struct {
	runs []run
	// choices are the fingerings that they have in the free path, moments those whose
	// cost changes with them.
	choices [][]*grip
	moments []int
}

// tie gives equal bars one fingering. Each class takes, of the fingerings that its
// bars chose in the free path, the one with which the whole costs least, and where
// that costs too much the one that serves all its places best; then the bars of no
// class are chosen anew around them. It never costs more than a twentieth over the
// free path: what would is let go.
func (s *search) tie(layers [][]grip, free []*grip, cost float64) ([]*grip, float64) {
	classes := s.classes(layers, free)
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
			from := c.runs[min(place, len(c.runs)-1)]
			c.give(try, free[from.from:from.to])
		}
		for range 2 {
			for _, c := range classes {
				s.choose(c, try)
			}
		}
		if all := s.cost(try); path == nil || all < least {
			path, least = try, all
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
			for _, r := range c.runs {
				for i := r.from; i < r.to; i++ {
					fixed[i] = []grip{*path[i]}
				}
			}
		}
		tied, all, stuck := s.best(fixed)
		if stuck < 0 && all <= mostTying*cost || len(classes) == 0 {
			return tied, all
		}
		// Those whose one fingering is dearest are let go, a quarter at a time.
		dearer := func(c class) float64 { return s.costAt(c.moments, path) - s.costAt(c.moments, free) }
		slices.SortStableFunc(classes, func(a, b class) int { return cmp.Compare(dearer(a), dearer(b)) })
		classes = classes[:len(classes)-(len(classes)+3)/4]
	}
}

// give gives the bars of a class a fingering.
func (c *class) give(path, grips []*grip) {
	for _, r := range c.runs {
		copy(path[r.from:r.to], grips)
	}
}

// choose gives the bars of a class in a path the choice with which it costs least.
func (s *search) choose(c class, path []*grip) {
	if len(c.choices) == 1 {
		return
	}
	var kept []*grip
	least := 0.0
	for _, grips := range c.choices {
		c.give(path, grips)
		if cost := s.costAt(c.moments, path); kept == nil || cost < least {
			kept, least = grips, cost
		}
	}
	c.give(path, kept)
}

// refinger looks for the fingering that serves all bars of a class best between
// what stands around them, and takes it where it costs the whole less.
func (s *search) refinger(c class, layers [][]grip, path []*grip) {
	first, count := c.runs[0], float64(len(c.runs))
	bar := make([][]grip, first.to-first.from)
	for k := range bar {
		bar[k] = slices.Clone(layers[first.from+k])
	}
	add := func(k int, cost func(g *grip) float64) {
		for j := range bar[k] {
			bar[k][j].cost += cost(&bar[k][j]) / count
		}
	}
	for _, r := range c.runs {
		if r.from > 0 {
			add(0, func(g *grip) float64 { return s.step(r.from, path[r.from-1], g) })
		}
		if r.to < len(path) {
			add(len(bar)-1, func(g *grip) float64 { return s.step(r.to, g, path[r.to]) })
		}
		if h, i := s.before[r.from], s.after[r.from]; h >= 0 && i < r.to {
			add(i-r.from, func(g *grip) float64 { return s.hit(h, i, path[h], g) })
		}
		if r.to < len(path) {
			if h, i := s.before[r.to], s.after[r.to]; h >= r.from && i < len(path) {
				add(h-r.from, func(g *grip) float64 { return s.hit(h, i, g, path[i]) })
			}
		}
	}
	found, _, stuck := newSearch(s.pricing, s.ms[first.from:first.to], s.times[first.from:first.to]).best(bar)
	if stuck >= 0 {
		return
	}
	for k := range found { // without what was added
		same := func(g grip) bool { return g.String() == found[k].String() }
		found[k] = &layers[first.from+k][slices.IndexFunc(layers[first.from+k], same)]
	}
	before, kept := s.costAt(c.moments, path), slices.Clone(path[first.from:first.to])
	if c.give(path, found); s.costAt(c.moments, path) >= before {
		c.give(path, kept)
	}
}

// classes lists the classes of a pass in the order of the form.
func (s *search) classes(layers [][]grip, free []*grip) []class {
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
		key := fmt.Sprint(s.likeness(r, layers), next)
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
		all[k].choices, all[k].moments = chosen(all[k].runs, free), s.touched(all[k].runs)
	}
	return all
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

// costAt is what a path costs at some moments: each grip, the way to it and the
// voices since the hit before.
func (s *search) costAt(moments []int, path []*grip) float64 {
	total := 0.0
	for _, i := range moments {
		total += path[i].cost
		if i > 0 {
			total += s.step(i, path[i-1], path[i])
		}
		if h := s.before[i]; h >= 0 && path[i].shape != nil {
			total += s.hit(h, i, path[h], path[i])
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
