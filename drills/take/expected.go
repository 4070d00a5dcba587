package take

import (
	"cmp"
	"slices"
	"time"

	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// Want is a note that is to be played, and where the arrangement puts it.
type Want struct {
	MIDI   int
	Place  fretboard.Place
	Degree harmony.Degree
}

// Expected is one thing that a pass asks for: a bass note, or one strike of a
// shape. A strike counts as one event, however many notes it has.
type Expected struct {
	Section    string
	SectionBar int
	// At is the bar through the form and the beat; Off where it falls on the
	// offbeat.
	At   tune.Position
	Kind fretboard.Kind
	// Degree is that of the bass note, for a strike the one it hangs on.
	Degree harmony.Degree
	Chord  harmony.Chord
	// Time is when it is due, from the start of the pass; Into is how long after
	// its beat that is, and Beat how long the beat lasts.
	Time, Into, Beat time.Duration
	// Notes are the notes asked for. Free are notes that may be played or left
	// out: the bass note under a strike, which sounds already.
	Notes, Free []Want
}

// Bars selects bars of a pass, both ends included, counted through the form
// from 1. The zero value selects all.
type Bars struct{ First, Last int }

// Holds reports whether a bar is among them.
func (b Bars) Holds(bar int) bool { return b.First <= bar && bar <= b.Last }

// Expect lists what the arrangement asks for in the bars, in order of time. The
// first bar selected is placed where start is, at its tempo and swing; the others
// follow it.
func Expect(a *fretboard.Arrangement, start harmony.PlacedBar, bars Bars) []Expected {
	first := max(bars.First, 1)
	form := a.Tune.Unroll()
	last := len(form)
	if bars.Last > 0 {
		last = min(last, bars.Last)
	}
	placed := make([]harmony.PlacedBar, 0, last)
	for n := first; n <= last; n++ {
		bar := start.Bar
		bar.Meter = form[n-1].Meter
		switch {
		case n > first:
			placed = append(placed, placed[len(placed)-1].Next(bar))
		case bar.Meter == start.Meter:
			placed = append(placed, start)
		default:
			placed = append(placed, harmony.Place(bar, start.Start()))
		}
	}
	var all []Expected
	for i := range a.Events {
		e := &a.Events[i]
		if e.At.Bar < first || e.At.Bar > last {
			continue
		}
		x := Expected{
			Section: e.Section, SectionBar: e.SectionBar,
			Kind: e.Kind, Degree: e.Degree, Chord: e.Chord,
		}
		if e.Kind == fretboard.BassEvent {
			x.Notes = []Want{{MIDI: e.Note.MIDI(), Place: e.Place, Degree: e.Degree}}
		} else {
			x.Notes, x.Free = strikeNotes(a.Neck, e)
		}
		for _, at := range e.Strikes() {
			bar := placed[at.Bar-first]
			beat, due := bar.Beat(at.Beat, false), bar.Beat(at.Beat, at.Off)
			x.At = at
			x.Time, x.Into, x.Beat = due.Duration(), (due - beat).Duration(), (bar.Beat(at.Beat+1, false) - beat).Duration()
			all = append(all, x)
		}
	}
	slices.SortStableFunc(all, func(a, b Expected) int { return cmp.Compare(a.Time, b.Time) })
	return all
}

// strikeNotes lists the notes of a shape. The bass note under it is free where
// the line has it sounding, and not asked for where it follows a push; where the
// line rests, all of the shape is asked for.
func strikeNotes(neck fretboard.Neck, e *fretboard.Event) (notes, free []Want) {
	for i, fret := range e.Frets {
		if fret < 0 {
			continue
		}
		p := fretboard.Place{String: len(e.Frets) - i, Fret: fret}
		w := Want{MIDI: neck.MIDI(p), Place: p, Degree: neck.DegreeAt(p, e.Chord)}
		switch {
		case p != e.Place || e.Free:
			notes = append(notes, w)
		case e.Hit != tune.HitPush:
			free = append(free, w)
		}
	}
	return notes, free
}
