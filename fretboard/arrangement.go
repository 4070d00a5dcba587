package fretboard

import (
	"fmt"
	"strings"

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

var layerNames = []string{Bass: "bass", BassChanges: "bass+changes", BassHalves: "bass+halves"}

// String returns the layer's name as commands take it.
func (l Layer) String() string { return layerNames[l] }

// LayerNames lists the names of the layers for a message.
func LayerNames() string { return strings.Join(layerNames, ", ") }

// ParseLayer reads a layer's name. The error says which there are.
func ParseLayer(s string) (Layer, error) {
	for i, name := range layerNames {
		if s == name {
			return Layer(i), nil
		}
	}
	return 0, fmt.Errorf("there is no layer %q; write one of %s", s, LayerNames())
}

// Kind tells a bass note from a shape.
type Kind uint8

// The kinds of an event.
const (
	BassEvent Kind = iota
	ShapeEvent
)

// String returns "bass" or "shape".
func (k Kind) String() string { return [...]string{"bass", "shape"}[k] }

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
	// Layer is the lowest layer that asks for the event: Bass for a bass note.
	Layer Layer
	// Free is set for a shape that is struck while the bass row rests, so that its
	// lowest note is the shape's own.
	Free bool
}

// Strikes returns where in time a shape is struck: on the beat, on the offbeat,
// or both. A bass event is struck where it stands.
func (e *Event) Strikes() []tune.Position {
	off := e.At
	off.Off = true
	switch e.Hit {
	case tune.HitAnd:
		return []tune.Position{off}
	case tune.HitBoth:
		return []tune.Position{e.At, off}
	default:
		return []tune.Position{e.At}
	}
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

// Hits returns where each beat of a bar (counted through the form, from 1) is
// struck.
func (a *Arrangement) Hits(bar int) []tune.Hit {
	hits := make([]tune.Hit, a.Tune.Meter.Beats())
	for i := range a.Events {
		e := &a.Events[i]
		if e.At.Bar != bar || e.Kind != ShapeEvent {
			continue
		}
		hit := e.Hit
		if e.At.Off {
			hit = tune.HitAnd
		}
		if before := hits[e.At.Beat-1]; before != tune.NoHit && before != hit {
			hit = tune.HitBoth
		}
		hits[e.At.Beat-1] = hit
	}
	return hits
}
