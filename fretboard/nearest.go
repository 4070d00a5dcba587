package fretboard

import (
	"cmp"
	"slices"

	"footfall/harmony"
)

// Moved is a shape that another is followed by on the same strings.
type Moved struct {
	Shape
	// Steps is how many half steps the voices move in all.
	Steps int
}

// farthestVoice is how many frets a voice moves at most from shape to shape.
const farthestVoice = 5

// Nearest lists the shapes of a chord that can follow a shape on its own strings,
// the nearest first: by the half steps that the voices move in all, then by effort.
// frets are low string to high, −1 not played. Each shape sounds what makes the
// chord heard (see Shapes), doubles no tone while one is left out, and keeps its
// voices in order; it has an open string only where frets have one. No voice moves
// more than five half steps.
func (n Neck) Nearest(h Hand, frets []int, c harmony.Chord) []Moved {
	sets := compile(Query{Chord: c})
	if len(sets) == 0 || len(frets) != len(n.Tuning) {
		return nil
	}
	var own uint16
	for _, d := range c.Degrees {
		own |= bit(d)
	}
	lowestFret := 1
	if slices.Contains(frets, 0) {
		lowestFret = 0
	}
	var found []Moved
	now := slices.Clone(frets)
	var next func(i, below, steps, voices int, sounding uint16)
	next = func(i, below, steps, voices int, sounding uint16) {
		for i < len(frets) && frets[i] < 0 {
			i++
		}
		if i == len(frets) {
			heard := slices.ContainsFunc(sets, func(s needs) bool { return s.heard&^sounding == 0 })
			if !heard || ones(sounding) < min(voices, len(c.Degrees)) {
				return
			}
			fingering, ok := n.Fingering(h, now)
			if !ok {
				return
			}
			m := Moved{Shape{Frets: slices.Clone(now), Fingering: fingering, Rank: fingering.Effort}, steps}
			for k, f := range now {
				if f >= 0 {
					m.Degrees = append(m.Degrees, c.DegreeOf(n.Tuning[k]+f))
				}
			}
			found = append(found, m)
			return
		}
		for f := max(lowestFret, frets[i]-farthestVoice); f <= min(n.HighestFret, frets[i]+farthestVoice); f++ {
			midi := n.Tuning[i] + f
			if tone := bit(c.DegreeOf(midi)); own&tone != 0 && midi > below {
				now[i] = f
				next(i+1, midi, steps+abs(f-frets[i]), voices+1, sounding|tone)
			}
		}
		now[i] = frets[i]
	}
	next(0, -1, 0, 0, 0)
	slices.SortFunc(found, func(a, b Moved) int {
		return cmp.Or(cmp.Compare(a.Steps, b.Steps), cmp.Compare(a.Effort, b.Effort), slices.Compare(a.Frets, b.Frets))
	})
	return found
}
