package fretboard

import (
	"math"
	"slices"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// search is the best path over the grips of a pass.
type search struct {
	*pricing
	ms    []moment
	times []times
	// before is the moment of the last hit before each moment, −1 where there is none,
	// after that of the first from it on, or the number of moments.
	before, after []int
}

// times say, in seconds, when the hand must be at a moment, and when it strikes
// there first and last.
type times struct{ comes, first, last float64 }

func newSearch(p *pricing, ms []moment, all []times) *search {
	s := &search{pricing: p, ms: ms, times: all, before: make([]int, len(ms)), after: make([]int, len(ms))}
	last, next := -1, len(ms)
	for i := range ms {
		s.before[i] = last
		if ms[i].strike != nil {
			last = i
		}
		k := len(ms) - 1 - i
		if ms[k].strike != nil {
			next = k
		}
		s.after[k] = next
	}
	return s
}

// timesOf returns the times of each moment of a pass at a tempo, the offbeats at
// the tune's swing.
func timesOf(t *tune.Tune, ms []moment, tempo float64) []times {
	starts := []float64{0} // of the bars, in quarter notes
	for i, fb := range t.Unroll() {
		starts = append(starts, starts[i]+fb.Meter.Quarters())
	}
	all := make([]times, len(ms))
	for i := range ms {
		m := &ms[i]
		seconds := func(at tune.Position) float64 {
			beats := float64(at.Beat - 1)
			if at.Off {
				beats += float64(harmony.Bar{Meter: m.bar.Meter, Tempo: tempo, Swing: t.Swing}.OffPart()) / harmony.Parts
			}
			return (starts[at.Bar-1] + beats*m.bar.Meter.BeatQuarters()) * 60 / tempo
		}
		comes := seconds(m.when)
		all[i] = times{comes, comes, comes}
		if m.strike != nil {
			all[i].first, all[i].last = seconds(m.strike.Times[0]), seconds(m.strike.Times[len(m.strike.Times)-1])
		}
	}
	return all
}

// step is the cost of the hand's way from the moment before to moment i.
func (s *search) step(i int, a, b *grip) float64 {
	held := s.ms[i].bass != nil && !s.ms[i].placed
	return s.move(a, b, held, s.ms[i-1].at.Bar == s.ms[i].at.Bar, s.times[i].comes-s.times[i-1].last)
}

// hit is the cost of going from the hit at moment h to that at moment i.
func (s *search) hit(h, i int, a, b *grip) float64 {
	cost := s.voice(a, b, s.times[i].first-s.times[h].last)
	if s.crowds(h, i, a, b) {
		cost += s.w.Crowded
	}
	return cost
}

// crowds reports whether the hand has to move from one hit to the next with less
// than a quarter second for it, and the layer added one of them.
func (s *search) crowds(h, i int, a, b *grip) bool {
	return s.rushes(h, i, a, b) && (s.ms[h].own() || s.ms[i].own())
}

// rushes reports whether the hand has to move from one hit to the next with less
// than a quarter second for it.
func (s *search) rushes(h, i int, a, b *grip) bool {
	return a.position != b.position && s.times[i].first-s.times[h].last < closestSeconds
}

// rushed lists the hits of a path that come too soon after those before, or together
// with a bass note that lies elsewhere.
func (s *search) rushed(path []*grip, neck Neck, hand Hand) (all []Rush) {
	for i := range s.ms {
		h, m := s.before[i], s.ms[i].strike
		if m == nil {
			continue
		}
		rush := Rush{Section: m.Bar.Section, SectionBar: m.Bar.SectionBar, At: m.Times[0]}
		if h >= 0 && s.rushes(h, i, path[h], path[i]) {
			rush.Seconds = s.times[i].first - s.times[h].last
			all = append(all, rush)
		} else if m.Hit == tune.HitPush && i > 0 && s.ms[i-1].sounds && s.ms[i-1].at == s.ms[i].when {
			frets := slices.Clone(path[i].shape.Frets)
			frets[len(frets)-path[i].place.String] = muted
			frets[len(frets)-path[i-1].place.String] = path[i-1].place.Fret
			if _, can := neck.Fingering(hand, frets); !can {
				rush.Bass = true
				all = append(all, rush)
			}
		}
	}
	return all
}

// crowded returns the first moment whose hit the layer added too close to
// another, −1 where there is none.
func (s *search) crowded(path []*grip) int {
	last := -1
	for i, g := range path {
		if g.shape == nil {
			continue
		}
		if last >= 0 && s.crowds(last, i, path[last], g) {
			if s.ms[i].own() {
				return i
			}
			return last
		}
		last = i
	}
	return -1
}

// cost is what a whole path costs: each grip, the hand's way to it, and from hit
// to hit the voices.
func (s *search) cost(path []*grip) float64 {
	total, last := 0.0, -1
	for i, g := range path {
		total += g.cost
		if i > 0 {
			total += s.step(i, path[i-1], g)
		}
		if g.shape != nil {
			if last >= 0 {
				total += s.hit(last, i, path[last], g)
			}
			last = i
		}
	}
	return total
}

// best finds the path of least cost. It runs forward over the moments and keeps,
// for each grip of the hit before and each grip at hand, the cheapest way there:
// exact for the cost above, and linear in the number of moments. Of equal paths the
// one with the earlier grips wins. stuck is the first moment that no grip of the
// one before can reach, else −1.
func (s *search) best(layers [][]grip) (path []*grip, cost float64, stuck int) {
	n := len(s.ms)
	if n == 0 {
		return nil, 0, -1
	}
	from := make([][]int32, n)
	last := -1                              // the moment of the hit before
	shapes := 1                             // how many grips it has, 1 before the first
	best := make([]float64, len(layers[0])) // of shape k and grip j at k·len + j
	struck := layers[0][0].shape != nil
	for j := range layers[0] {
		best[j] = layers[0][j].cost
	}
	if struck {
		best, shapes, last = diagonal(best), len(layers[0]), 0
	}
	var steps []float64
	for i := 1; i < n; i++ {
		before, now := layers[i-1], layers[i]
		steps = steps[:0]
		for k := range before {
			for j := range now {
				steps = append(steps, s.step(i, &before[k], &now[j]))
			}
		}
		struck = now[0].shape != nil
		var next []float64
		if struck {
			next = s.strike(i, last, shapes, best, steps, layers, &from[i])
		} else {
			next = pass(shapes, len(before), len(now), last == i-1, best, steps, &from[i])
			for k := range shapes {
				for j := range now {
					next[k*len(now)+j] += now[j].cost
				}
			}
		}
		reached := false
		for _, c := range next {
			reached = reached || !math.IsInf(c, 1)
		}
		if !reached {
			return nil, 0, i
		}
		best = next
		if struck {
			best, shapes, last = diagonal(next), len(now), i
		}
	}
	end := 0
	for j := range best {
		if best[j] < best[end] {
			end = j
		}
	}
	return s.trace(layers, from, end), best[end], -1
}

// diagonal spreads the costs of a hit's grips: there the shape and the grip at
// hand are one.
func diagonal(costs []float64) []float64 {
	n := len(costs)
	out := make([]float64, n*n)
	for i := range out {
		out[i] = math.Inf(1)
	}
	for j, c := range costs {
		out[j*n+j] = c
	}
	return out
}

// pass goes on to a moment without a hit: each shape before keeps its own way.
// straight is set where the moment before is the hit.
func pass(shapes, before, now int, straight bool, best, steps []float64, from *[]int32) []float64 {
	next := make([]float64, shapes*now)
	*from = make([]int32, shapes*now)
	for k := range shapes {
		for j := range now {
			at := k*now + j
			next[at] = math.Inf(1)
			low, high := 0, before
			if straight {
				low, high = k, k+1
			}
			for b := low; b < high; b++ {
				if c := best[k*before+b] + steps[b*now+j]; c < next[at] {
					next[at], (*from)[at] = c, int32(k*before+b)
				}
			}
		}
	}
	return next
}

// strike goes on to a hit.
func (s *search) strike(i, last, shapes int, best, steps []float64, layers [][]grip, from *[]int32) []float64 {
	before, now := len(layers[i-1]), layers[i]
	next := make([]float64, len(now))
	*from = make([]int32, len(now))
	for j := range now {
		next[j] = math.Inf(1)
		for k := range shapes {
			way, at := math.Inf(1), 0
			low, high := 0, before
			if last == i-1 && last >= 0 {
				low, high = k, k+1
			}
			for b := low; b < high; b++ {
				if c := best[k*before+b] + steps[b*len(now)+j]; c < way {
					way, at = c, k*before+b
				}
			}
			if way >= next[j] {
				continue
			}
			if last >= 0 {
				way += s.hit(last, i, &layers[last][k], &now[j])
			}
			if way < next[j] {
				next[j], (*from)[j] = way, int32(at)
			}
		}
		next[j] += now[j].cost
	}
	return next
}

// trace follows the ways back.
func (s *search) trace(layers [][]grip, from [][]int32, end int) []*grip {
	path := make([]*grip, len(layers))
	for i := len(layers) - 1; i >= 0; i-- {
		j := end % len(layers[i])
		path[i] = &layers[i][j]
		if i == 0 {
			break
		}
		if layers[i][0].shape != nil {
			end = int(from[i][j])
		} else {
			end = int(from[i][end])
		}
	}
	return path
}
