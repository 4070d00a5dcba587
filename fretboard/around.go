package fretboard

import "footfall/harmony/tune"

// Near is what an arrangement has about a place.
type Near struct {
	// Now are the events that sound there, Bass the bass note after them.
	Now  []*Event
	Bass *Event
	// Shape is the index of the shape after them, −1 where there is none.
	Shape int
}

// Around finds what sounds at a place of a loop of bars, and what comes after it: at
// the loop's end that is its first.
func (a *Arrangement) Around(here tune.Position, first, last int) Near {
	near := Near{Shape: -1}
	var bass *Event // the loop's first, and its first shape
	shape := -1
	for i := range a.Events {
		e := &a.Events[i]
		if e.At.Bar < first || e.At.Bar > last {
			continue
		}
		coming := e.When().After(here)
		switch {
		case e.Kind == ShapeEvent && shape < 0:
			shape = i
		case e.Kind == BassEvent && bass == nil:
			bass = e
		}
		switch {
		case coming && e.Kind == BassEvent && near.Bass == nil:
			near.Bass = e
		case coming && e.Kind == ShapeEvent && near.Shape < 0:
			near.Shape = i
		case !coming:
			if len(near.Now) > 0 && near.Now[0].When() != e.When() {
				near.Now = near.Now[:0]
			}
			near.Now = append(near.Now, e)
		}
	}
	if near.Bass == nil {
		near.Bass = bass
	}
	if near.Shape < 0 {
		near.Shape = shape
	}
	return near
}

// Position is the fret that the first finger stands over while the event is played, 0
// where no finger is down.
func (e *Event) Position() int {
	at := 0
	finger := func(fret, finger int) {
		if over := max(1, fret-finger+1); fret > 0 && finger > 0 && (at == 0 || over < at) {
			at = over
		}
	}
	if e.Kind == BassEvent {
		finger(e.Place.Fret, e.Finger)
	}
	for i, fret := range e.Frets {
		if i < len(e.Fingers) {
			finger(fret, e.Fingers[i])
		}
	}
	return at
}
