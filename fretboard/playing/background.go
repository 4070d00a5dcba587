package playing

import (
	"fmt"
	"slices"

	"footfall/harmony"
)

// Click says which beats the click is heard on. The count-in always has all.
type Click uint8

// The choices of beats.
const (
	ClickAll       Click = iota // every beat
	ClickTwoFour                // beats 2, 4 and 6
	ClickFirst                  // the first beat of each bar
	ClickAlternate              // every beat of one bar, none of the next, to test inner time
)

// ClickNames are the words for the choices, in their order, as the settings have
// them.
var ClickNames = []string{"all", "2and4", "first", "alternate"}

// String returns the choice's word.
func (c Click) String() string { return ClickNames[c] }

// ClickOf reads a choice by its word.
func ClickOf(word string) (Click, error) {
	i, err := wordOf("click", word, ClickNames)
	return Click(i), err
}

func wordOf(what, word string, names []string) (int, error) {
	i := slices.Index(names, word)
	if i < 0 {
		return 0, fmt.Errorf("%s %q: give one of %q", what, word, names)
	}
	return i, nil
}

// heard reports whether a beat clicks; played counts the bars since the count-in,
// from 0.
func (c Click) heard(beat, played int) bool {
	switch c {
	case ClickTwoFour:
		return beat%2 == 0
	case ClickFirst:
		return beat == 1
	case ClickAlternate:
		return played%2 == 0
	default:
		return true
	}
}

// Background is what keeps time beside the strings.
type Background uint8

// The backgrounds.
const (
	Auto       Background = iota // the hi-hat above 100 beats a minute, else the click
	ClickSound                   // a click on the beats that Click names
	HiHat                        // closed by the foot on two and four
	Brushes                      // sweeps and taps of brushes on a snare drum
)

// BackgroundNames are the words for the backgrounds, in their order, as the settings
// have them.
var BackgroundNames = []string{"auto", "click", "hi-hat", "brushes"}

// String returns the background's word.
func (b Background) String() string { return BackgroundNames[b] }

// BackgroundOf reads a background by its word.
func BackgroundOf(word string) (Background, error) {
	i, err := wordOf("background", word, BackgroundNames)
	return Background(i), err
}

// Drum is a sound that keeps time.
type Drum uint8

// The sounds.
const (
	Silence Drum = iota
	Accent       // the click on a first beat
	Tick         // the click on another
	Chick        // the hi-hat, closed by the foot
	Tap          // a brush on the snare drum
	Sweep        // a brush drawn over it
	Drums        // how many there are
)

// Stroke is what keeps time at a half beat.
type Stroke struct {
	Drum
	Velocity uint8
}

// Timekeeping says what keeps time, and by which clicks.
type Timekeeping struct {
	Background
	Click
}

// hiHatAbove is the tempo, in beats a minute, above which a click on every beat is
// too busy. A choice of the program.
const hiHatAbove = 100

// In returns the background of a bar: what Auto stands for at its tempo. Whoever has
// chosen the beats of the click keeps it.
func (t Timekeeping) In(b harmony.Bar) Background {
	switch {
	case t.Background != Auto:
		return t.Background
	case t.Click == ClickAll && b.Tempo/b.Meter.BeatQuarters() > hiHatAbove:
		return HiHat
	}
	return ClickSound
}

// BackBeat reports whether a beat is one that the hi-hat closes on: 2 and 4, of
// three 2 and 3. Common practice, no source.
func BackBeat(beat int, m harmony.Meter) bool {
	return beat%2 == 0 || m.Beats() == 3 && beat == 3
}

// CountIn returns the stroke of a count-in at a half beat, from 0.
func CountIn(half int) Stroke {
	switch {
	case half == 0:
		return Stroke{Accent, 120}
	case half%2 == 0:
		return Stroke{Tick, 90}
	}
	return Stroke{}
}

// At returns the stroke of a bar's half beat, from 0; played counts the bars since
// the count-in, from 0. The brushes sweep on the beats, tap on two and four, and skip
// after them (common practice, no source).
func (t Timekeeping) At(b harmony.Bar, half, played int) Stroke {
	beat, off := harmony.BeatOf(half)
	back := BackBeat(beat, b.Meter)
	switch t.In(b) {
	case HiHat:
		if back && !off {
			return Stroke{Chick, 96}
		}
	case Brushes:
		switch {
		case off && back:
			return Stroke{Tap, 52}
		case off:
		case back:
			return Stroke{Tap, 84}
		default:
			return Stroke{Sweep, 72}
		}
	default:
		if t.Click.heard(beat, played) {
			return CountIn(half)
		}
	}
	return Stroke{}
}

// Sounds reports whether something may sound at a bar's half beat, from 0, in any of
// the bars of the music.
func (t Timekeeping) Sounds(b harmony.Bar, half int) bool {
	return t.At(b, half, 0).Drum != Silence
}
