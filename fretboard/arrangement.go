package fretboard

import (
	"footfall/harmony"
	"footfall/harmony/tune"
)

// Layer is how much of an arrangement is asked, as the tune has it.
type Layer = tune.Layer

// The layers.
const (
	Bass        = tune.Bass
	BassChanges = tune.BassChanges
	BassHalves  = tune.BassHalves
)

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
	// Halves is the length in half beats, of a shape from the last of its Times.
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
	// Hit says where in the beat the shape is struck, and Times at which instants;
	// NoHit and nil for a bass event. A push stands at its own beat with the chord of
	// the next: Degree to Finger are those of the bass note that follows.
	Hit   tune.Hit
	Times []tune.Position
	// Held says that the shape rings on beyond its beat.
	Held bool
	// Layer is the lowest layer that asks for the event: Bass for a bass note.
	Layer tune.Layer
	// By says who asks for the shape.
	By tune.Source
	// Free is set for a shape that is struck while the bass row rests, so that its
	// lowest note is the shape's own.
	Free bool
}

// Strikes returns where in time the event is struck: a shape at its Times, a bass
// event where it stands.
func (e *Event) Strikes() []tune.Position {
	if e.Kind == ShapeEvent {
		return e.Times
	}
	return []tune.Position{e.At}
}

// When returns when the hand must be there: where the event stands, or where a
// push is struck.
func (e *Event) When() tune.Position {
	if e.Hit == tune.HitPush {
		return e.Times[0]
	}
	return e.At
}

// Arrangement is what to play and where, over one pass of the form.
type Arrangement struct {
	Tune   *tune.Tune
	Neck   Neck
	Hand   Hand
	Layer  Layer
	School School
	Events []Event
	// Cost is the hand's effort over the whole path, in the units of the path's
	// cost table.
	Cost float64
	// Rushed are the hits for which the hand is late at the tempo of the pass, in
	// order: those that the tune asks for, as the layer adds none.
	Rushed []Rush
	plan   *plan
}

// Rush is a hit that comes less than a quarter second after the one before, with
// another place of the hand between them (common practice, no source).
type Rush struct {
	// Section and SectionBar name its bar as written; At is when it is struck.
	Section    string
	SectionBar int
	At         tune.Position
	Seconds    float64
	// Bass is set for a push that falls together with a bass note of a split beat which
	// the hand cannot hold with it; Seconds is 0 then.
	Bass bool
}

// Hits returns how each beat of a bar is struck.
func (a *Arrangement) Hits(bar tune.FormBar) []tune.HitToken {
	hits := make([]tune.HitToken, bar.Meter.Beats())
	for i := range a.Events {
		e := &a.Events[i]
		if e.At.Bar != bar.Number || e.Kind != ShapeEvent {
			continue
		}
		hit := e.Hit
		if e.At.Off {
			hit = tune.HitAnd
		}
		if before := hits[e.At.Beat-1].Hit; before != tune.NoHit && before != hit {
			hit = tune.HitBoth
		}
		hits[e.At.Beat-1] = tune.HitToken{Hit: hit, Held: e.Held && e.By != tune.ByLayer}
	}
	return hits
}
