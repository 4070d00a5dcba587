package fretboard

import (
	"footfall/harmony"
	"footfall/harmony/tune"
)

// Layer says how much of an arrangement is asked.
type Layer uint8

// The layers, each with what the one before has.
const (
	Bass        Layer = iota // the line alone
	BassChanges              // plus a root-position shape where the chord changes
	BassHalves               // plus a shape in the middle of bars without a change there
)

// Kind tells a bass note from a shape.
type Kind uint8

// The kinds of an event.
const (
	BassEvent Kind = iota
	ShapeEvent
)

// Event is one thing to play: a bass note, or the shape above one.
type Event struct {
	// Section and SectionBar name the bar as written; At counts through the form.
	Section    string
	SectionBar int
	At         tune.Position
	// Halves is the length in half beats.
	Halves int
	Kind   Kind
	Chord  harmony.Chord
	// Degree, Note and Place are those of the bass note, for a shape those of the
	// bass note it hangs on.
	Degree harmony.Degree
	Note   harmony.Pitch
	Place  Place
	// Finger plays the bass note: 1 to 4, 0 for an open string.
	Finger int
	// Frets are a shape's frets with its bass note, low string to high, −1 not
	// played; nil for a bass event. Fingers go with them.
	Frets   []int
	Fingers []int
	// Hit says where in the beat the shape is struck; NoHit for a bass event.
	Hit tune.Hit
}

// Arrangement is what to play and where, over one pass of the form.
type Arrangement struct {
	Tune   *tune.Tune
	Neck   Neck
	Layer  Layer
	Events []Event
	// Cost is the hand's effort over the whole path, in the units of the path's
	// cost table.
	Cost float64
}
