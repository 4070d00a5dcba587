package fretboard

import (
	"cmp"
	"slices"
)

// refinger looks for the fingering that serves all runs of a block best between what
// stands around them, and takes it where it costs the whole less. Where a run follows
// another, the way from its end to its own beginning counts too: each grip to begin
// with is tried.
func (t *tying) refinger(b class, path []*grip) {
	s, layers := t.search, t.layers
	first, count := b.runs[0], float64(len(b.runs))
	own := func(i int) bool { return t.owner[i] == b.number }
	bar := make([][]grip, first.to-first.from)
	for k := range bar {
		bar[k] = slices.Clone(layers[first.from+k])
	}
	add := func(k int, cost func(g *grip) float64) {
		bar[k] = slices.Clone(bar[k])
		for j := range bar[k] {
			bar[k][j].cost += cost(&bar[k][j]) / count
		}
	}
	var again []run // those that follow another
	for _, r := range b.runs {
		switch {
		case r.from == 0:
		case own(r.from - 1):
			again = append(again, r)
		default:
			add(0, func(g *grip) float64 { return s.step(r.from, path[r.from-1], g) })
		}
		h, i := s.before[r.from], s.after[r.from]
		if i < r.to && h >= 0 && !own(h) {
			add(i-r.from, func(g *grip) float64 { return s.hit(h, i, path[h], g) })
		}
		if r.to == len(path) {
			continue
		}
		if !own(r.to) {
			add(len(bar)-1, func(g *grip) float64 { return s.step(r.to, g, path[r.to]) })
		}
		if h, i := s.before[r.to], s.after[r.to]; h >= r.from && i < len(path) && !own(i) {
			add(h-r.from, func(g *grip) float64 { return s.hit(h, i, g, path[i]) })
		}
	}
	part := newSearch(s.pricing, s.ms[first.from:first.to], s.times[first.from:first.to])
	before, kept := s.costAt(b.moments, path), slices.Clone(path[first.from:first.to])
	var least []*grip
	try := func(tried [][]grip, from int) {
		found, _, stuck := part.best(tried)
		if stuck >= 0 {
			return
		}
		for k := range found { // without what was added
			j := slices.IndexFunc(tried[k], func(g grip) bool { return g.shape == found[k].shape && g == *found[k] })
			if k == 0 {
				j += from
			}
			found[k] = &layers[first.from+k][j]
		}
		b.give(path, found)
		if cost := s.costAt(b.moments, path); cost < before {
			before, least = cost, found
		}
		b.give(path, kept)
	}
	if len(again) == 0 {
		try(bar, 0)
	} else {
		inner := bar
		for a := range inner[0] {
			bar = slices.Clone(inner)
			bar[0] = inner[0][a : a+1]
			begins := &inner[0][a]
			for _, r := range again {
				add(len(bar)-1, func(g *grip) float64 { return s.step(r.from, g, begins) })
				h, i := s.before[r.from], s.after[r.from]
				if h < 0 || i >= r.to || !own(h) {
					continue
				}
				to := path[i]
				if i == r.from {
					to = begins
				}
				add(h-(r.from-len(bar)), func(g *grip) float64 { return s.hit(h, i, g, to) })
			}
			try(bar, a)
		}
	}
	if least != nil {
		b.give(path, least)
	}
}

// mostThought is how many fingerings of a block are thought of, mostAgain how often in
// all a bar is chosen anew for them, so that the time has a bound.
const (
	mostThought = 8
	mostAgain   = 800
)

// rethink tries fingerings of a block that are far from its own, one for each grip at
// its first hit, with the bars of no class beside it chosen anew, and takes the one
// with which the whole costs least.
func (t *tying) rethink(b class, path []*grip) {
	first := b.runs[0]
	at := min(t.after[first.from], first.to-1) // where its fingerings differ for certain
	layers := slices.Clone(t.layers[first.from:first.to])
	part := newSearch(t.pricing, t.ms[first.from:first.to], t.times[first.from:first.to])
	type fingering struct {
		grips []*grip
		cost  float64
	}
	var thought []fingering
	for j := range t.layers[at] {
		layers[at-first.from] = t.layers[at][j : j+1]
		if grips, cost, stuck := part.best(layers); stuck < 0 {
			thought = append(thought, fingering{grips, cost})
		}
	}
	slices.SortStableFunc(thought, func(a, b fingering) int { return cmp.Compare(a.cost, b.cost) })
	beside := t.beside(b)
	moments := t.touched(append(slices.Clone(beside), b.runs...))
	least, kept := t.costAt(moments, path), make([]*grip, len(moments))
	keep := func() {
		for k, i := range moments {
			kept[k] = path[i]
		}
	}
	keep()
	for _, f := range thought[:min(mostThought, len(thought))] {
		if t.again += len(beside); t.again > mostAgain {
			return
		}
		b.give(path, f.grips)
		for _, r := range beside {
			t.chooseAgain(r, path)
		}
		if cost := t.costAt(moments, path); cost < least {
			least = cost
			keep()
		}
		for k, i := range moments {
			path[i] = kept[k]
		}
	}
}

// beside lists the bars of no class next to those of a block, neighbors as one.
func (t *tying) beside(b class) (all []run) {
	free := func(i, bar int) bool { return i >= 0 && i < len(t.ms) && t.owner[i] < 0 && t.ms[i].at.Bar == bar }
	add := func(r run) {
		if last := len(all) - 1; last >= 0 && all[last].to >= r.from {
			all[last].to = max(all[last].to, r.to)
		} else {
			all = append(all, r)
		}
	}
	for _, r := range b.runs {
		if from := r.from - 1; from >= 0 && free(from, t.ms[from].at.Bar) {
			for bar := t.ms[from].at.Bar; free(from-1, bar); {
				from--
			}
			add(run{from, r.from})
		}
		if to := r.to; to < len(t.ms) && free(to, t.ms[to].at.Bar) {
			for bar := t.ms[to].at.Bar; free(to, bar); {
				to++
			}
			add(run{r.to, to})
		}
	}
	return all
}

// chooseAgain chooses a run of a path anew between what stands around it.
func (t *tying) chooseAgain(r run, path []*grip) {
	from, to := r.from, r.to
	if from > 0 {
		from = max(0, min(from-1, t.before[from]))
		if t.before[r.from] < 0 {
			from = r.from - 1
		}
	}
	if to < len(path) {
		to = min(len(path), max(to, t.after[to])+1)
	}
	layers := slices.Clone(t.layers[from:to])
	for i := range layers {
		if k := from + i; k < r.from || k >= r.to {
			layers[i] = []grip{*path[k]}
		}
	}
	found, _, stuck := newSearch(t.pricing, t.ms[from:to], t.times[from:to]).best(layers)
	if stuck < 0 {
		copy(path[r.from:r.to], found[r.from-from:])
	}
}
