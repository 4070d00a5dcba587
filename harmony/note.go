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

// Awkward reports a name that a player reads twice where a plainer one sounds the
// same: Cb, Fb, B#, E#, and any double accidental.
func (n Note) Awkward() bool {
	switch n.Letter {
	case C, F:
		return n.Alter < 0 || n.Alter > 1
	case B, E:
		return n.Alter > 0 || n.Alter < -1
	default:
		return n.Alter < -1 || n.Alter > 1
	}
}

// Plain respells an awkward name by the nearest that is none: B for Cb, A for Bbb.
func (n Note) Plain() Note {
	for n.Awkward() {
		if n.Alter < 0 {
			n = noteAtFifths(n.fifths() + 12)
		} else {
			n = noteAtFifths(n.fifths() - 12)
		}
	}
	return n
}

// accidentals spells an alteration in semitones with b and #.
func accidentals(alter int) string {
	if alter < 0 {
		return strings.Repeat("b", -alter)
	}
	return strings.Repeat("#", alter)
}

func mod(a, m int) int { return ((a % m) + m) % m }
