package harmony

import (
	"fmt"
	"strings"
)

// Letter is one of the seven note letters, C = 0 to B = 6.
type Letter int8

// The note letters.
const (
	C Letter = iota
	D
	E
	F
	G
	A
	B
)

// letterSemitones holds the semitones of the natural notes above C.
var letterSemitones = [7]int{0, 2, 4, 5, 7, 9, 11}

// String returns the capital letter.
func (l Letter) String() string { return string("CDEFGAB"[l]) }

// Note is a spelled note name without a register: a letter and its alteration
// in semitones (−1 is one flat, +1 one sharp). The zero value is C.
type Note struct {
	Letter Letter
	Alter  int8
}

// ParseNote reads a note name: "C", "Bb", "F#", "E♭", up to two accidentals.
func ParseNote(s string) (Note, error) {
	r := symbolReader{runes: []rune(s)}
	n, ok := r.note()
	if !ok || r.at != len(r.runes) {
		return Note{}, fmt.Errorf("%q is no note; write a letter A to G with b or #, such as Eb", s)
	}
	return n, nil
}

// Semitone returns the note's pitch class, 0 (C) to 11 (B).
func (n Note) Semitone() int {
	return mod(letterSemitones[n.Letter]+int(n.Alter), 12)
}

// String spells the note with ASCII accidentals: "Bb", "F#", "Ebb".
func (n Note) String() string {
	return n.Letter.String() + accidentals(int(n.Alter))
}

// accidentals spells an alteration in semitones with b and #.
func accidentals(alter int) string {
	if alter < 0 {
		return strings.Repeat("b", -alter)
	}
	return strings.Repeat("#", alter)
}

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

func mod(a, m int) int { return ((a % m) + m) % m }
