package fretboard

import (
	"slices"

	"footfall/harmony/tune"
)

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

// HandAt returns the fret that the first finger stands over at the place, and the one that it
// goes to for the next bass note, 0 where no finger is down. A shape says more of the hand
// than the bass note that is struck with it.
func (a *Arrangement) HandAt(near Near) (at, to int) {
	var next []*Event
	if near.Bass != nil {
		next = append(next, near.Bass)
		if near.Shape >= 0 && a.Events[near.Shape].When() == near.Bass.When() {
			next = append(next, &a.Events[near.Shape])
		}
	}
	return firstFinger(near.Now), firstFinger(next)
}

// firstFinger is the fret that the first finger stands over while events of one instant are
// played.
func firstFinger(events []*Event) int {
	at := 0
	for _, e := range events {
		if over := e.firstFinger(); over > 0 && (at == 0 || e.Kind == ShapeEvent) {
			at = over
		}
	}
	return at
}

// firstFinger goes by the lowest finger that is down: the others may lie closer than a fret
// each, or be stretched.
func (e *Event) firstFinger() int {
	at, by := 0, 0
	finger := func(fret, finger int) {
		over := max(1, fret-finger+1)
		if fret > 0 && finger > 0 && (at == 0 || finger < by || finger == by && over < at) {
			at, by = over, finger
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

// Moved lists the beats, each once, on which an arrangement of the same bars plays another
// shape, or a bass note elsewhere, than another arrangement did.
func (a *Arrangement) Moved(from *Arrangement) []tune.Position {
	was := map[Kind]map[tune.Position]*Event{BassEvent: {}, ShapeEvent: {}}
	for i := range from.Events {
		was[from.Events[i].Kind][from.Events[i].At] = &from.Events[i]
	}
	var moved []tune.Position
	for i := range a.Events {
		e := &a.Events[i]
		before := was[e.Kind][e.At]
		on := tune.Position{Bar: e.At.Bar, Beat: e.At.Beat}
		if before == nil || e.Place == before.Place && slices.Equal(e.Frets, before.Frets) || slices.Contains(moved, on) {
			continue
		}
		moved = append(moved, on)
	}
	return moved
}
