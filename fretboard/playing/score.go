// Package playing works out how an arrangement is played: which string sounds when,
// how loud and how long, and what keeps time beside it.
//
// It is pure: whoever makes the sound, or writes it to a file, places its bars in
// time.
package playing

import (
	"errors"
	"fmt"
	"time"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// MaxStrings is the most strings an instrument may have.
const MaxStrings = 8

// Loudest is the highest velocity, as MIDI 1.0 has them.
const Loudest = 127

// Note is one string struck once.
type Note struct {
	Beat int // from 1
	Off  bool
	// Late is by how much later than that the string is struck, below 1 s: a strum goes
	// from the low strings to the high.
	Late time.Duration
	// Halves is the length in half beats from Beat and Off; 0 rings until the string
	// is struck again.
	Halves int
	// Clip is the part of a beat by which the note ends before that.
	Clip float64
	// Part is the layer the note belongs to.
	Part     Part
	String   int // 1 the highest sounding
	MIDI     int
	Velocity uint8 // 1 to Loudest
	// Dead notes are struck on a string that a finger only touches: no pitch is heard.
	Dead bool
}

// Part is what a sound belongs to in the mix.
type Part uint8

// The parts of the mix.
const (
	PartClick Part = iota // whatever keeps time
	PartBass
	PartShapes
	Parts // how many there are
)

// Bar is a bar to be played.
type Bar struct {
	Meter tune.Meter
	// Section is the section's name where the bar begins one, else empty.
	Section string
	// Notes are in the order in which they are struck.
	Notes []Note
}

// Score is one pass of music to be played. It must not be changed once it has
// been given to an engine.
type Score struct {
	Title string
	Key   harmony.Key
	Tempo float64 // quarter notes a minute
	Swing harmony.Swing
	Bars  []Bar
	// Strings is the number of strings that notes may name, at most MaxStrings.
	Strings int
}

// Check says what is wrong with a score, with bar and beat.
func (s *Score) Check() error {
	if len(s.Bars) == 0 {
		return errors.New("no bars to play")
	}
	if s.Strings < 0 || s.Strings > MaxStrings {
		return fmt.Errorf("%d strings: an instrument may have up to %d", s.Strings, MaxStrings)
	}
	for i, b := range s.Bars {
		if err := s.Timed(i).Check(); err != nil {
			return fmt.Errorf("bar %d: %w", i+1, err)
		}
		var last Note
		for _, n := range b.Notes {
			switch {
			case n.Beat < 1 || n.Beat > b.Meter.Beats():
				return fmt.Errorf("bar %d beat %d: the bar has beats 1 to %d", i+1, n.Beat, b.Meter.Beats())
			case order(n, last) < 0:
				return fmt.Errorf("bar %d beat %d: comes after a later note", i+1, n.Beat)
			case n.String < 1 || n.String > s.Strings:
				return fmt.Errorf("bar %d beat %d: string %d, there are 1 to %d", i+1, n.Beat, n.String, s.Strings)
			case n.MIDI < 0 || n.MIDI > 127 || n.Part != PartBass && n.Part != PartShapes ||
				n.Velocity < 1 || n.Velocity > Loudest || n.Halves < 0 || n.Late < 0 || n.Late >= time.Second || !(n.Clip >= 0 && n.Clip < 1):
				return fmt.Errorf("bar %d beat %d: note %+v cannot be played", i+1, n.Beat, n)
			}
			last = n
		}
	}
	return nil
}

// Timed is what the clock must know of a bar, counted from 0.
func (s *Score) Timed(bar int) harmony.Bar {
	return harmony.Bar{Meter: s.Bars[bar].Meter, Tempo: s.Tempo, Swing: s.Swing}
}

// Start returns when a note of a bar is struck. A strum never reaches beyond half of
// the time to the next half beat.
func (n *Note) Start(bar harmony.PlacedBar) harmony.Instant {
	half := harmony.HalfOf(n.Beat, n.Off)
	at := atHalf(bar, half)
	if n.Late == 0 {
		return at
	}
	return at + min(harmony.InstantOf(n.Late), (atHalf(bar, half+1)-at)/2)
}

// End returns when a note of a bar ends, in that bar or one of those after it, at
// most half of its length before its time; ok is false where it rings until its
// string is struck again.
func (n *Note) End(bar harmony.PlacedBar, after []Bar) (end harmony.Instant, ok bool) {
	if n.Halves == 0 {
		return 0, false
	}
	start, half := n.Start(bar), harmony.HalfOf(n.Beat, n.Off)+n.Halves
	for _, b := range after {
		if half < bar.Meter.Halves() {
			break
		}
		half -= bar.Meter.Halves()
		next := bar.Bar
		next.Meter = b.Meter
		bar = bar.Next(next)
	}
	end = atHalf(bar, half)
	beat, _ := harmony.BeatOf(half)
	length := bar.Beat(beat+1, false) - bar.Beat(beat, false)
	return end - min(harmony.Instant(n.Clip*float64(length)), (end-start)/2), true
}

func atHalf(bar harmony.PlacedBar, half int) harmony.Instant {
	beat, off := harmony.BeatOf(half)
	return bar.Beat(beat, off)
}
