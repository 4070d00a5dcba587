package harmony

import "fmt"

// Interval is the distance between two spelled pitches: letters counted with
// both ends (a third is 3), and semitones, which may differ for one number.
// Number is at least 1; a falling interval is told by Down.
type Interval struct {
	Number    int
	Semitones int
	Down      bool
}

// Between returns the interval from one pitch to another.
func Between(from, to Pitch) Interval {
	steps := to.step() - from.step()
	semitones := to.MIDI() - from.MIDI()
	if steps < 0 || steps == 0 && semitones < 0 {
		return Interval{1 - steps, -semitones, true}
	}
	return Interval{1 + steps, semitones, false}
}

// step counts letters from C0.
func (p Pitch) step() int { return 7*int(p.Octave) + int(p.Letter) }

var (
	simpleNumbers = [...]string{"unison", "second", "third", "fourth", "fifth", "sixth", "seventh"}
	wideNumbers   = [...]string{"octave", "ninth", "tenth", "eleventh", "twelfth", "thirteenth", "fourteenth", "double octave"}
)

// String names the interval by quality and number: "minor third", "augmented
// eleventh", "perfect fifth down".
func (i Interval) String() string {
	s := i.quality() + " " + i.number()
	if i.Down {
		s += " down"
	}
	return s
}

func (i Interval) number() string {
	switch {
	case i.Number <= 7:
		return simpleNumbers[i.Number-1]
	case i.Number <= 15:
		return wideNumbers[i.Number-8]
	default:
		return fmt.Sprintf("%dth", i.Number)
	}
}

func (i Interval) quality() string {
	step := i.Number - 1
	off := i.Semitones - (letterSemitones[step%7] + 12*(step/7))
	perfect := step%7 == 0 || step%7 == 3 || step%7 == 4
	switch {
	case off == 0 && perfect:
		return "perfect"
	case off == 0:
		return "major"
	case off == -1 && !perfect:
		return "minor"
	case off == 1:
		return "augmented"
	case off > 1:
		return fmt.Sprintf("%d-fold augmented", off)
	}
	if !perfect {
		off++
	}
	if off == -1 {
		return "diminished"
	}
	return fmt.Sprintf("%d-fold diminished", -off)
}
