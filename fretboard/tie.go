package fretboard

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// mostPlaces is at how many places of the classes the tying begins, mostTied how
// many fingerings of a class are tried, the most frequent, and mostRounds how often
// the blocks are gone over.
const (
	mostPlaces = 4
	mostTied   = 12
	mostRounds = 3
)

// tie gives equal bars one fingering: that with which the whole costs least, as far
// as going from one set of bars to the next finds it. It begins from the fingerings
// that the bars chose in the free path and betters them block by block, the bars of
// no class chosen anew around them. Bars that would make it cost more than the
// weight Tying allows over the free path are let go, one by one.
func (s *search) tie(layers [][]grip, free []*grip, cost float64) ([]*grip, float64) {
	classes := s.classes()
	if len(classes) == 0 {
		return free, cost
	}
	t := tying{search: s, layers: layers, classes: classes}
	t.join()
	narrow, from := t.narrowed(), free
	if narrow != nil {
		found, _, stuck := s.best(narrow)
		if stuck >= 0 {
			return free, cost
		}
		t.layers, from = narrow, found
	}
	for k := range classes {
		classes[k].choices = chosen(classes[k].runs, from)
	}
	// Bars that stand together are best fingered together: begin with what all
	// classes chose at one of their places, and let each better itself from there.
	path, least := free, math.Inf(1)
	for place := range mostPlaces {
		try := slices.Clone(from)
		for _, c := range classes {
			r := c.runs[min(place, len(c.runs)-1)]
			c.give(try, from[r.from:r.to])
		}
		if around, all := t.around(try); all < least {
			path, least = around, all
		}
		for range 2 {
			for _, c := range classes {
				s.choose(c, try)
			}
		}
		if all := s.cost(try); all < least {
			path, least = try, all
		}
	}
	path, least = t.better(path, 0)
	if least > (1+s.w.Tying)*cost {
		path, least = t.better(path, 1)
	}
	t.layers = layers
	for least > (1+s.w.Tying)*cost {
		if len(t.classes) == 0 {
			return free, cost
		}
		t.letGo(path, free)
		path, least = t.around(path)
	}
	return path, least
}

// tying is the state of the tying of a pass.
type tying struct {
	*search
	layers  [][]grip
	classes []class
	blocks  []class
	owner   []int // the block of each moment, −1 where it is in none
	again   int   // how often a bar has been chosen anew
}

// better goes over the blocks until none finds a better fingering. free is how many
// bars of no class beside a block are chosen anew with it.
func (t *tying) better(path []*grip, free int) ([]*grip, float64) {
	path, least := t.around(path)
	for range mostRounds {
		for _, b := range t.blocks {
			if free == 0 {
				t.refinger(b, path)
			} else {
				t.rethink(b, path)
			}
		}
		before := least
		if path, least = t.around(path); least >= before {
			break
		}
	}
	return path, least
}

// around chooses the bars of no class anew around those of the classes.
func (t *tying) around(path []*grip) ([]*grip, float64) {
	fixed := slices.Clone(t.layers)
	for _, c := range t.classes {
		for _, r := range c.runs {
			for i := r.from; i < r.to; i++ {
				fixed[i] = []grip{*path[i]}
			}
		}
	}
	found, cost, stuck := t.best(fixed)
	if stuck >= 0 {
		return path, t.cost(path)
	}
	return found, cost
}

// letGo takes the bars that are tied at the greatest cost out of their classes: one,
// or of many an eighth.
func (t *tying) letGo(path, free []*grip) {
	type tiedBar struct {
		class, run int
		dearer     float64
	}
	var bars []tiedBar
	for k, c := range t.classes {
		for i, r := range c.runs {
			at := t.touched([]run{r})
			bars = append(bars, tiedBar{k, i, t.costAt(at, path) - t.costAt(at, free)})
		}
	}
	slices.SortStableFunc(bars, func(a, b tiedBar) int { return cmp.Compare(b.dearer, a.dearer) })
	gone := map[[2]int]bool{}
	for _, b := range bars[:max(1, len(bars)/32)] {
		gone[[2]int{b.class, b.run}] = true
	}
	var left []class
	for k, c := range t.classes {
		var runs []run
		for i, r := range c.runs {
			if !gone[[2]int{k, i}] {
				runs = append(runs, r)
			}
		}
		if c.runs = runs; len(runs) > 1 {
			left = append(left, c)
		}
	}
	t.classes = left
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
