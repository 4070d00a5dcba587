package fretboard

import (
	"fmt"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// A moment is a point in the pass at which the hand must be somewhere: a bass
// note starts, a shape is struck, or both.
type moment struct {
	bar   tune.FormBar
	at    tune.Position
	when  tune.Position // at which the hand must be there
	chord harmony.Chord
	bass  *tune.LineNote // the bass note under the hand, nil in a rest
	// placed says that the bass note takes its place here; else the place is that of
	// the moment before. sounds says that it starts here: after a push it does so
	// where it has its place already.
	placed, sounds bool
	strike         *tune.Strike // nil where none is struck
	forced         []int        // frets of a given shape, nil where the program chooses
	given          []int        // and of one that the program may choose of itself
}

// PathError says where in a tune no place or shape can be found, why, and the
// nearest change that would do.
type PathError struct {
	Section    string
	SectionBar int
	Bar, Beat  int // through the form, from 1
	What, Want string
}

// Error says where, what is wrong and what would do.
func (e *PathError) Error() string {
	return fmt.Sprintf("bar %d beat %d (section %s, bar %d): %s; %s", e.Bar, e.Beat, e.Section, e.SectionBar, e.What, e.Want)
}

func (m *moment) fail(what, want string) error {
	return &PathError{Section: m.bar.Section, SectionBar: m.bar.SectionBar, Bar: m.at.Bar, Beat: m.at.Beat, What: what, Want: want}
}

// moments lists what the hand has to do over one pass, in order of time: within a
// half beat first the bass note, then a push into the next beat.
func moments(t *tune.Tune, line []tune.LineNote, layer tune.Layer) []moment {
	bars, grid := t.Unroll(), t.Grid()
	var all []moment
	strikes := t.Strikes(layer)
	// sounding returns the note of the line at a half beat, and whether it starts there.
	next := 0
	sounding := func(half int) (*tune.LineNote, bool) {
		for next < len(line) && grid.Half(line[next].At) <= half {
			next++
		}
		if next == 0 {
			return nil, false
		}
		n := &line[next-1]
		start := grid.Half(n.At)
		if half >= start+n.Halves {
			return nil, false
		}
		return n, start == half
	}
	pushed := false // the hand is at this half beat's bass note since the one before
	for half := range grid.Total() {
		at := grid.At(half)
		bass, sounds := sounding(half)
		m := moment{bar: bars[at.Bar-1], at: at, when: at, bass: bass, sounds: sounds, placed: sounds && !pushed}
		pushed = false
		m.chord, _ = m.bar.Bar.ChordAt(m.bar.Meter, at.Beat, at.Off)
		if len(strikes) > 0 && strikes[0].Hit != tune.HitPush && grid.Half(strikes[0].Bass) == half {
			m.strikes(&strikes[0])
			strikes = strikes[1:]
		}
		if sounds || m.strike != nil {
			all = append(all, m)
		}
		if len(strikes) == 0 || strikes[0].Hit != tune.HitPush || grid.Half(strikes[0].Times[0]) != half {
			continue
		}
		push := moment{bar: m.bar, at: strikes[0].At, when: at}
		push.strikes(&strikes[0])
		strikes = strikes[1:]
		switch follows := half+1 < grid.Total(); {
		case follows:
			push.bass, push.placed = sounding(half + 1)
			pushed = push.placed
		case len(line) > 0 && grid.Half(line[0].At) == 0:
			push.bass, push.placed = &line[0], true
		}
		all = append(all, push)
	}
	return all
}

// strikes gives a moment the strike that falls on it.
func (m *moment) strikes(s *tune.Strike) {
	m.strike, m.chord, m.forced = s, s.Chord, s.Shape.Frets
}
