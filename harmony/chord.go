package harmony

// Chord is a chord symbol that has been read.
type Chord struct {
	// Symbol is the text it was read from, without the white space around it.
	Symbol string
	// None is set for "N.C.": no chord sounds, and every other field is empty.
	None bool
	// Root is the note that degrees are counted from.
	Root Note
	// Degrees are the chord's tones, low to high, tensions as 9, 11 and 13. It
	// starts with 1.
	Degrees []Degree
	// Bass is the note named to be lowest: that of a slash bass, else the root.
	Bass Note
}

// Class is the family that a chord's function and its shapes go by.
type Class uint8

// The twelve quality classes.
const (
	ClassMajor          Class = iota // 1 3 5, 6, 6/9, add9
	ClassMajor7                      // 1 3 5 7 and its tensions
	ClassDominant                    // 1 3 b7 and its natural tensions
	ClassAltered                     // 1 3 b7 with an altered fifth or ninth
	ClassMinor                       // 1 b3 5, add9
	ClassMinor6                      // 1 b3 5 6, 6/9
	ClassMinor7                      // 1 b3 5 b7 and its tensions
	ClassMinorMajor7                 // 1 b3 5 7
	ClassHalfDiminished              // 1 b3 b5 b7
	ClassDiminished                  // 1 b3 b5, bb7
	ClassAugmented                   // 1 3 #5
	ClassSuspended                   // sus2, sus4, 7sus, power chords
)

// Notes spells the chord's degrees over its root, in the order of Degrees.
func (c Chord) Notes() []Note {
	notes := make([]Note, len(c.Degrees))
	for i, d := range c.Degrees {
		notes[i] = d.Of(c.Root)
	}
	return notes
}

// DegreeOf names any MIDI note number against the chord: a chord tone by its
// own degree, any other note by the degree the chord's family gives it. E♭ over
// C7 is #9, over Cm7 b3; A over Cdim7 is bb7, over C6 it is 6.
func (c Chord) DegreeOf(midi int) Degree {
	above := mod(midi-c.Root.Semitone(), 12)
	for _, d := range c.Degrees {
		if mod(d.Semitones(), 12) == above {
			return d
		}
	}
	return [12]Degree{{1, 0}, {9, -1}, {9, 0}, {3, -1}, {3, 0}, {4, 0}, {4, 1}, {5, 0}, {6, -1}, {6, 0}, {7, -1}, {7, 0}}[above]
}
