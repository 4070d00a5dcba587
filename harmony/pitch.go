package harmony

import (
	"fmt"
	"strconv"
	"strings"
)

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
