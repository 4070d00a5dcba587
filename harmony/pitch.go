package harmony

import (
	"fmt"
	"strconv"
	"strings"
)

// Pitch is a spelled note in a register. Octave is scientific: C4 is middle C,
// and the octave number goes with the letter, so Cb4 sounds like B3.
type Pitch struct {
	Note
	Octave int8
}

// MIDI returns the note number of MIDI 1.0, where A4 (440 Hz) is 69 and middle
// C (C4) is 60.
func (p Pitch) MIDI() int {
	return 12*(int(p.Octave)+1) + letterSemitones[p.Letter] + int(p.Alter)
}

// String spells the pitch with its octave: "Bb2".
func (p Pitch) String() string { return fmt.Sprintf("%s%d", p.Note, p.Octave) }

// PitchOf puts a spelled note into the register of a MIDI note number. It
// reports false where the number is not that note in any octave.
func PitchOf(n Note, midi int) (Pitch, bool) {
	base := letterSemitones[n.Letter] + int(n.Alter)
	if mod(midi-base, 12) != 0 {
		return Pitch{}, false
	}
	return Pitch{Note: n, Octave: int8((midi-base)/12 - 1)}, true
}

// ParsePitch reads a note name with its octave from −1 to 9, C4 being middle C:
// E2, Bb1. The error says what was found and what would do.
func ParsePitch(s string) (Pitch, error) {
	if i := strings.IndexAny(s, "-0123456789"); i > 0 {
		note, err := ParseNote(s[:i])
		octave, digits := strconv.Atoi(s[i:])
		if err == nil && digits == nil && octave >= -1 && octave <= 9 {
			return Pitch{Note: note, Octave: int8(octave)}, nil
		}
	}
	return Pitch{}, fmt.Errorf("%q is no pitch; write a note and its octave, such as E2 or Bb1", s)
}

// PitchAt spells a MIDI note number by its degree against the chord.
func (c Chord) PitchAt(midi int) Pitch {
	p, _ := PitchOf(c.Note(c.DegreeOf(midi)), midi)
	return p
}

// FlatName names a MIDI note number without a context, black keys as flats: 46 is
// Bb2, 60 is C4. A number below 0 is written as it is.
func FlatName(midi int) string {
	for _, alter := range []int8{0, -1} {
		for letter := range Letter(7) {
			if p, ok := PitchOf(Note{Letter: letter, Alter: alter}, midi); ok {
				return p.String()
			}
		}
	}
	return strconv.Itoa(midi)
}
