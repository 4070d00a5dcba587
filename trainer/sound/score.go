package sound

import (
	"fmt"
	"math"
	"slices"

	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// MaxStrings is the most strings an instrument may have.
const MaxStrings = 8

// Note is one string struck once.
type Note struct {
	Beat   int // from 1
	Off    bool
	Halves int // length in half beats; 0 rings until the string is struck again
	// Short lets it end a clip before that.
	Short bool
	// Part is the layer the note belongs to.
	Part     Part
	String   int // 1 the highest sounding
	MIDI     int
	Velocity float32 // above 0 to 1
}

// Part is what a sound belongs to in the mix.
type Part uint8

// The parts of the mix.
const (
	PartClick Part = iota
	PartBass
	PartShapes
	parts
)

// Bar is a bar to be played.
type Bar struct {
	Meter tune.Meter
	// Section is the section's name where the bar begins one, else empty.
	Section string
	// Notes are in the order of their beats.
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
		return fmt.Errorf("no bars to play")
	}
	if s.Strings < 0 || s.Strings > MaxStrings {
		return fmt.Errorf("%d strings: an instrument may have up to %d", s.Strings, MaxStrings)
	}
	for i, b := range s.Bars {
		timed := harmony.Bar{Meter: b.Meter, Tempo: s.Tempo, Swing: s.Swing}
		if err := timed.Check(); err != nil {
			return fmt.Errorf("bar %d: %w", i+1, err)
		}
		last := 0
		for _, n := range b.Notes {
			at := harmony.HalfOf(n.Beat, n.Off)
			switch {
			case n.Beat < 1 || n.Beat > b.Meter.Beats():
				return fmt.Errorf("bar %d beat %d: the bar has beats 1 to %d", i+1, n.Beat, b.Meter.Beats())
			case at < last:
				return fmt.Errorf("bar %d beat %d: comes after a later note", i+1, n.Beat)
			case n.String < 1 || n.String > s.Strings:
				return fmt.Errorf("bar %d beat %d: string %d, there are 1 to %d", i+1, n.Beat, n.String, s.Strings)
			case n.MIDI < 0 || n.MIDI > 127 || n.Part != PartBass && n.Part != PartShapes ||
				math.IsNaN(float64(n.Velocity)) || n.Velocity <= 0 || n.Velocity > 1 || n.Halves < 0:
				return fmt.Errorf("bar %d beat %d: note %+v cannot be played", i+1, n.Beat, n)
			}
			last = at
		}
	}
	return nil
}

// clip is the part of a beat by which a short strike ends before its time, so
// that what follows is heard apart: an eighth, and at most half its length (common
// practice, no source).
const clip = 8

// Velocities of the model, as fractions of the loudest: the line stands out, the
// hits lie under it. Common practice, no source.
const (
	bassVelocity  = 0.9
	shapeVelocity = 0.6
)

// FromArrangement makes the music of an arrangement. A shape is struck on the
// strings above its bass note, which the line sounds; only a shape over a rest
// of the line strikes all of its strings.
func FromArrangement(a *fretboard.Arrangement) (*Score, error) {
	t := a.Tune
	bars := t.Unroll()
	s := &Score{
		Title: t.Title, Key: t.Key, Tempo: t.Tempo, Swing: harmony.Swing{Ratio: t.Swing},
		Bars: make([]Bar, len(bars)), Strings: len(a.Neck.Tuning),
	}
	for i, b := range bars {
		s.Bars[i].Meter = b.Meter
		if b.SectionBar == 1 {
			s.Bars[i].Section = b.Section
		}
	}
	for i := range a.Events {
		e := &a.Events[i]
		b := &s.Bars[e.At.Bar-1]
		times := e.Strikes()
		for i, at := range times {
			if e.Kind == fretboard.BassEvent {
				b.Notes = append(b.Notes, Note{
					Beat: at.Beat, Off: at.Off, Halves: e.Halves, Part: PartBass,
					String: e.Place.String, MIDI: a.Neck.MIDI(e.Place), Velocity: bassVelocity,
				})
				continue
			}
			halves := e.Halves
			if i+1 < len(times) {
				halves = 1
			}
			for j, fret := range e.Frets {
				place := fretboard.Place{String: len(e.Frets) - j, Fret: fret}
				if fret < 0 || place == e.Place && !e.Free {
					continue
				}
				b.Notes = append(b.Notes, Note{
					Beat: at.Beat, Off: at.Off, Halves: halves, Short: !e.Held || i+1 < len(times), Part: PartShapes,
					String: place.String, MIDI: a.Neck.MIDI(place), Velocity: shapeVelocity,
				})
			}
		}
	}
	for i := range s.Bars {
		slices.SortStableFunc(s.Bars[i].Notes, func(a, b Note) int {
			return harmony.HalfOf(a.Beat, a.Off) - harmony.HalfOf(b.Beat, b.Off)
		})
	}
	return s, s.Check()
}
