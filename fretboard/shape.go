package fretboard

import (
	"slices"

	"footfall/harmony"
)

// Query asks for the shapes of a chord.
type Query struct {
	Chord harmony.Chord
	// Bass is the degree that sounds lowest. It may lie outside the chord. The
	// zero value stands for the bass that a slash chord names, else for any tone
	// of the chord.
	Bass harmony.Degree
	// At fixes the place of the bass note; nil leaves it free on the neck's bass
	// strings. A place that does not sound Bass has no shapes.
	At *Place
	// Tensions are degrees allowed besides the chord's own.
	Tensions []harmony.Degree
}

// Shape is a set of strings and frets that sounds a chord, with the fingers
// that hold it.
type Shape struct {
	// Frets has an entry a string, low string first: 0 is open, −1 not played.
	Frets []int
	Fingering
	// Degrees names each sounding string against the chord, low string first. The
	// first is the bass.
	Degrees []harmony.Degree
	// Rank orders shapes, the best lowest: the effort, and what the shape lacks
	// in sound (see Shapes).
	Rank float64
}

// The weights of what a shape lacks in sound, in units of effort: common
// practice, no source.
const (
	rootMissing    = 1.2  // the root sounds nowhere
	fifthMissing   = 0.7  // a natural fifth sounds nowhere
	toneMissing    = 0.8  // another tone of the chord sounds nowhere
	tensionMissing = 2.5  // a tension that was asked for, or that the symbol names, sounds nowhere
	toneDoubled    = 0.4  // a tone sounds twice
	bassStringUsed = 0.6  // a string of the bass line sounds above the bass
	openAbove      = 0.5  // an open string above the bass rings past its hit
	openFarAway    = 0.1  // and so for each fret between it and the hand, the bass too
	openHigh       = 3.0  // an open string above the bass under a hand that reaches past the fifth fret
	wideMM         = 75.0 // a shape that spans more is wide
	wideStretch    = 0.08 // and each millimetre more
	fifthVoice     = 0.3  // a fifth string sounds, which the thumb and three fingers do not pluck at once
	sixthVoice     = 1.5  // and a sixth
	gapAbove       = 0.5  // a string is left out between two above the bass
	pastSeven      = 0.08 // the lowest fretted note lies so many frets past the seventh
	littleBass     = 0.5  // the little finger holds the bass, and the line cannot go on from it
	inverted       = 1.5  // the bass is not the root, where any tone may be the bass
	inversionStep  = 0.25 // and so for each tone further from the root
	knownGain      = -1.0 // it is a grip that players know
	otherFingers   = 0.7  // players hold it by more fingers than the one that could lie flat
	ninthGain      = -0.5 // the ninth stands for the root above the third
)

// needs is what a set of notes must hold to be a shape of a chord. Masks have a
// bit for each number of semitones above the chord's root.
type needs struct {
	bass    uint16 // the bass is one of these
	allowed uint16 // what may sound above the bass
	heard   uint16 // what must sound, bass included
	whole   uint16 // the chord's own tones
	least   int    // how many different tones of the chord must sound
	wanted  [12]float64
	degree  [12]harmony.Degree
	step    [12]float64 // cost of a bass note where any may be it
	gain    float64
}

// at is a degree's place among the twelve semitones above the root, bit its
// mask.
func at(d harmony.Degree) int     { return ((d.Semitones() % 12) + 12) % 12 }
func bit(d harmony.Degree) uint16 { return 1 << at(d) }

// heardTones lists the degrees without which a chord is not heard.
//
// A chord with a seventh is its third (or the 4, 2 or 11 in its place) and
// its seventh, with any altered fifth and altered tensions; of three altered
// tones and more, one is enough (nothing else fits a hand), and natural tensions may be left out. A
// chord without a seventh is all it names but the root and a natural fifth: the
// third, the 6, an added 9. A power chord is its fifth. Common practice, no
// source.
func heardTones(c harmony.Chord) (all uint16, oneOf uint16) {
	var seventh, third bool
	var altered uint16
	for _, d := range c.Degrees {
		seventh = seventh || d.Number == 7
		third = third || d.Number >= 2 && d.Number <= 4
	}
	alterations := 0
	for _, d := range c.Degrees {
		switch {
		case d.Number == 1:
		case d.Number == 5 && d.Alter == 0:
			if len(c.Degrees) == 2 {
				all |= bit(d)
			}
		case d.Number == 5 || d.Number > 7 && d.Alter != 0:
			altered |= bit(d)
			alterations++
		case d.Number <= 7 || !seventh || d.Number == 11 && !third:
			all |= bit(d)
		}
	}
	if alterations <= 2 {
		return all | altered, 0
	}
	return all, altered
}

// named tells whether a degree is a tension that a chord's symbol names: an
// altered one, or the highest natural one, which brings those below it along.
func named(c harmony.Chord, d harmony.Degree) bool {
	return d.Number > 7 && (d.Alter != 0 || !slices.ContainsFunc(c.Degrees, func(e harmony.Degree) bool {
		return e.Number > d.Number && e.Alter == 0
	}))
}

// plainNinth tells whether a chord is a dominant 7 or major 7 with nothing
// added, over whose third the ninth may take the root's place.
func plainNinth(c harmony.Chord) bool {
	if len(c.Degrees) < 3 {
		return false
	}
	for _, d := range c.Degrees {
		switch d {
		case harmony.Degree{Number: 1}, harmony.Degree{Number: 3}, harmony.Degree{Number: 5},
			harmony.Degree{Number: 7}, harmony.Degree{Number: 7, Alter: -1}:
		default:
			return false
		}
	}
	third, seventh := false, false
	for _, d := range c.Degrees {
		third = third || d.Number == 3
		seventh = seventh || d.Number == 7
	}
	return third && seventh
}

// BassDegrees lists the degrees of a chord that a bass line hangs shapes on: its
// own up to the seventh and, under a triad, the sixth. Common practice, no
// source.
func BassDegrees(c harmony.Chord) []harmony.Degree {
	var degrees []harmony.Degree
	for _, d := range c.Degrees {
		if d.Number <= 7 {
			degrees = append(degrees, d)
		}
	}
	if len(c.Degrees) == 3 && hasThird(c) {
		degrees = append(degrees, harmony.Degree{Number: 6})
	}
	return degrees
}

// slashBass returns the degree of the bass that a slash chord names.
func slashBass(c harmony.Chord) (harmony.Degree, bool) {
	if c.Bass == c.Root {
		return harmony.Degree{}, false
	}
	return c.DegreeOf(c.Bass.Semitone()), true
}

// compile turns a query into the sets of needs that its shapes meet, one of
// them each. Their shapes do not overlap.
func compile(q Query) []needs {
	c := q.Chord
	if c.None || len(c.Degrees) == 0 {
		return nil
	}
	base := needs{}
	for i := range base.degree {
		base.degree[i] = c.DegreeOf(c.Root.Semitone() + i)
	}
	for _, d := range c.Degrees {
		base.whole |= bit(d)
		base.wanted[at(d)] = toneMissing
		switch {
		case d.Number == 1:
			base.wanted[at(d)] = rootMissing
		case d.Number == 5 && d.Alter == 0:
			base.wanted[at(d)] = fifthMissing
		case named(c, d):
			base.wanted[at(d)] = tensionMissing
		}
	}
	base.allowed = base.whole
	for _, d := range q.Tensions {
		if base.whole&bit(d) == 0 {
			base.allowed |= bit(d)
			base.degree[at(d)] = d
			base.wanted[at(d)] = tensionMissing
		}
	}
	base.least = min(3, len(c.Degrees))
	all, oneOf := heardTones(c)
	base.heard = all
	bass, fixed := q.Bass, q.Bass != (harmony.Degree{})
	if !fixed {
		bass, fixed = slashBass(c)
	}
	if fixed {
		base.bass = bit(bass)
		if base.whole&bit(bass) == 0 {
			base.degree[at(bass)] = bass
		}
	} else {
		base.bass = base.whole
		for i, d := range c.Degrees {
			if i > 0 {
				base.step[at(d)] = inverted + inversionStep*float64(i-1)
			}
		}
	}
	sets := []needs{base}
	if oneOf != 0 {
		sets = nil
		// Split by the lowest altered tone that sounds, so that no shape is found twice.
		var lower uint16
		for i := range 12 {
			if b := uint16(1) << i; oneOf&b != 0 {
				s := base
				s.heard |= b
				s.allowed &^= lower
				s.bass &^= lower
				lower |= b
				if s.bass != 0 {
					sets = append(sets, s)
				}
			}
		}
	}
	third := harmony.Degree{Number: 3}
	ninth := harmony.Degree{Number: 9}
	if plainNinth(c) && base.bass&bit(third) != 0 && base.allowed&bit(ninth) == 0 {
		s := base
		root := harmony.Degree{Number: 1}
		s.bass = bit(third)
		s.whole = s.whole&^bit(root) | bit(ninth)
		s.allowed = s.allowed&^bit(root) | bit(ninth)
		s.heard |= bit(ninth)
		s.gain = ninthGain
		s.degree[at(ninth)] = ninth
		s.wanted[at(root)], s.wanted[at(ninth)] = 0, 0
		sets = append(sets, s)
	}
	return sets
}

// String writes the shape's frets: "8-x-8-9-8-x".
func (s Shape) String() string { return FormatFrets(s.Frets) }

// Bass returns the place of the shape's lowest note.
func (s Shape) Bass() Place {
	i := slices.IndexFunc(s.Frets, func(f int) bool { return f >= 0 })
	return Place{String: len(s.Frets) - i, Fret: s.Frets[i]}
}
