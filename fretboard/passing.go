package fretboard

import (
	"slices"

	"footfall/harmony"
)

// passing reports whether a bass note, in semitones above the root, only passes
// under a chord: it is no tone of it nor its slash bass, no 9 or 13 nor the 11 of
// a minor chord, and lies a half step from the root, third, fifth or seventh
// (common practice, no source).
func passing(c harmony.Chord, bass int) bool {
	if c.None || len(c.Degrees) == 0 || bass == 2 || bass == 9 ||
		(c.Bass.Semitone()-c.Root.Semitone()+12)%12 == bass {
		return false
	}
	near := false
	for _, d := range c.Degrees {
		if at(d) == bass || bass == 5 && at(d) == 3 && d.Number == 3 {
			return false
		}
		apart := (at(d) - bass + 12) % 12
		near = near || d.Number <= 7 && (apart == 1 || apart == 11)
	}
	return near
}

// passingGrips lists the grips of a hit over a passing bass note: the shapes of
// the next bass note, a half step on, so that every voice slides into them; the
// diminished seventh where the bass rises; and the chord's own tones above it.
func (f *gripFinder) passingGrips(m, next *moment, p Place) []grip {
	var shapes []pricedShape
	if next != nil && next.bass != nil {
		by := next.bass.Pitch.MIDI() - m.bass.Pitch.MIDI()
		to := Place{String: p.String, Fret: p.Fret + by}
		target := next.chord
		if abs(by) == 1 && to.Fret >= 0 && !target.None && !passing(target, f.above(target, to)) {
			for _, s := range f.ofSchool(target, to) {
				if moved, ok := f.slid(s, -by); ok {
					shapes = append(shapes, moved)
				}
			}
		}
		if by == 1 {
			dim := harmony.Chord{Root: f.neck.DegreeAt(p, m.chord).Of(m.chord.Root), Degrees: diminished}
			for _, s := range f.ofSchool(dim, p) {
				s.cost += f.w.Diminished
				shapes = append(shapes, s)
			}
		}
	}
	over := f.shells(m.chord, p)
	if f.school == Mixed || len(over) == 0 {
		over = append(over, f.searched(m.chord, p, shapes)...)
	}
	for _, s := range over {
		s.cost += f.w.OverPassing
		shapes = append(shapes, s)
	}
	return f.cheapest(shapes, p)
}

// diminished holds the degrees of a diminished seventh chord.
var diminished = []harmony.Degree{{Number: 1}, {Number: 3, Alter: -1}, {Number: 5, Alter: -1}, {Number: 7, Alter: -2}}

// above returns how many semitones a place lies above a chord's root, 0 to 11.
func (f *gripFinder) above(c harmony.Chord, p Place) int {
	return ((f.neck.MIDI(p)-c.Root.Semitone())%12 + 12) % 12
}

// slid moves a shape along the neck; false where it would leave it or where it
// has an open string, which cannot slide.
func (f *gripFinder) slid(s pricedShape, by int) (pricedShape, bool) {
	s.Frets = slices.Clone(s.Frets)
	for i, fret := range s.Frets {
		if fret < 0 {
			continue
		}
		if s.Frets[i] += by; fret == 0 || s.Frets[i] < 1 || s.Frets[i] > f.neck.HighestFret {
			return s, false
		}
	}
	fingering, ok := f.neck.Fingering(f.hand, s.Frets)
	if ok {
		s.Fingering.SpanMM, s.Fingering.Effort = fingering.SpanMM, fingering.Effort
	}
	return s, ok
}
