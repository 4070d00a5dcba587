package sheet

import (
	"slices"

	"footfall/fretboard"
	"footfall/harmony/tune"
)

// stroke is a sign of the rhythm of the hits: a strike, what it is tied to, or a rest.
type stroke struct {
	half   int // in its bar
	halves int // its value in half beats, 0 for the rest of a whole bar
	rest   bool
	short  bool // let go at once
	from   bool // tied to what is before the bar line
	tied   tie  // to what follows, over a bar line too
	push   string
}

// tie is what leads from a stroke to the one behind it.
type tie uint8

// The ties. A push that is short is held by the hand alone.
const (
	untied tie = iota
	ringing
	silent
)

// strike is a strike in half beats of the pass.
type strike struct {
	start, end int
	short      bool
	again      bool   // struck again where it ends
	push       string // the chord that it leads to
}

// strikesOf lists the strikes of an arrangement, in order of time. A short one on the
// beat takes the beat; one that rings into the next pass ends past this one.
func strikesOf(a *fretboard.Arrangement) []strike {
	grid := a.Tune.Grid()
	var all []strike
	for i := range a.Events {
		e := &a.Events[i]
		if e.Kind != fretboard.ShapeEvent {
			continue
		}
		for k, at := range e.Times {
			s := strike{start: grid.Half(at), short: true}
			s.end = s.start + 1
			if k+1 == len(e.Times) {
				s.end, s.short = s.start+e.Halves, !e.Held
			}
			if e.Hit == tune.HitPush {
				s.push = e.Chord.Symbol
			}
			all = append(all, s)
		}
	}
	slices.SortStableFunc(all, func(a, b strike) int { return a.start - b.start })
	for i := range all {
		all[i].end = min(all[i].end, grid.Total()+1)
		next := all[0].start + grid.Total()
		if i+1 < len(all) {
			next = all[i+1].start
		}
		all[i].end = min(all[i].end, next)
		all[i].again = all[i].end == next
	}
	return all
}

// rhythm writes down the strikes of an arrangement, and the rests between them, bar
// by bar.
func rhythm(a *fretboard.Arrangement) [][]stroke {
	form, grid := a.Tune.Unroll(), a.Tune.Grid()
	bars := make([][]stroke, len(form))
	strikes := strikesOf(a)
	for i, fb := range form {
		from, halves := grid.Start(i+1), fb.Meter.Halves()
		compound := fb.Meter.BeatQuarters() > 1
		at, to := from, from+halves
		for len(strikes) > 0 && strikes[0].start < to {
			s := strikes[0]
			first := s.start >= from
			if first {
				bars[i] = append(bars[i], rests(at-from, s.start-from, halves)...)
			}
			signs := sounding(max(s.start, from)-from, min(s.end, to)-from, s.short, compound)
			if len(signs) > 0 {
				if signs[0].from = !first; first {
					signs[0].push = s.push
				}
			}
			if last := len(signs) - 1; last >= 0 && s.end > to {
				signs[last].tied = ringing
			} else if last >= 0 && first && s.push != "" && s.end == s.start+1 && !s.again {
				signs[last].tied = silent
			}
			bars[i] = append(bars[i], signs...)
			if at = min(s.end, to); s.end > to {
				break
			}
			strikes = strikes[1:]
		}
		bars[i] = append(bars[i], rests(at-from, halves, halves)...)
	}
	return bars
}

// values are the lengths that one sign can have, in half beats, the longest first; a
// beat of three eighths has no sign for one and a half.
var values = map[bool][]int{false: {8, 6, 4, 3, 2, 1}, true: {8, 4, 2, 1}}

// sounding writes what sounds from one half beat of a bar to another: an offbeat is
// tied to the beat behind it.
func sounding(from, to int, short, compound bool) (signs []stroke) {
	for at := from; at < to; {
		s := stroke{half: at, halves: 1, short: short, tied: ringing}
		if at%2 == 0 {
			for _, v := range values[compound] {
				if v <= to-at {
					s.halves = v
					break
				}
			}
		}
		signs = append(signs, s)
		at += s.halves
	}
	if len(signs) > 0 {
		signs[len(signs)-1].tied = untied
	}
	return signs
}

// rests writes a silence of a bar, beat by beat.
func rests(from, to, bar int) (signs []stroke) {
	if from == 0 && to == bar {
		return []stroke{{rest: true}}
	}
	for at := from; at < to; {
		s := stroke{half: at, halves: min(2-at%2, to-at), rest: true}
		signs = append(signs, s)
		at += s.halves
	}
	return signs
}
