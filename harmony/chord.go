package harmony

import (
	"fmt"
	"slices"
)

// Chord is a chord symbol that has been read.
type Chord struct {
	// Symbol is the text it was read from, without the white space around it. It is
	// for showing: what the chord is, is its Root, Bass and Quality.
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

// class is the family that a chord's function and its shapes go by.
type class uint8

// The twelve quality classes.
const (
	classMajor          class = iota // 1 3 5, 6, 6/9, add9
	classMajor7                      // 1 3 5 7 and its tensions
	classDominant                    // 1 3 b7 and its natural tensions
	classAltered                     // 1 3 b7 with an altered fifth or ninth
	classMinor                       // 1 b3 5, add9
	classMinor6                      // 1 b3 5 6, 6/9
	classMinor7                      // 1 b3 5 b7 and its tensions
	classMinorMajor7                 // 1 b3 5 7
	classHalfDiminished              // 1 b3 b5 b7
	classDiminished                  // 1 b3 b5, bb7
	classAugmented                   // 1 3 #5
	classSuspended                   // sus2, sus4, 7sus, power chords
)

// Notes spells the chord's degrees over its root, in the order of Degrees.
func (c Chord) Notes() []Note {
	notes := make([]Note, len(c.Degrees))
	for i, d := range c.Degrees {
		notes[i] = d.Of(c.Root)
	}
	return notes
}

// Note spells a degree over the chord's root: the b7 of Dm is C.
func (c Chord) Note(d Degree) Note { return d.Of(c.Root) }

// String returns the symbol.
func (c Chord) String() string { return c.Symbol }

// SoundsAs reports whether two chords are one to the ear, so that going from one
// to the other is no change: root and bass of one pitch class and the same tones
// over the root, however they are spelled. F#7 sounds as Gb7, Am7 not as C6, no
// chord only as no chord.
func (c Chord) SoundsAs(d Chord) bool {
	if c.None || d.None {
		return c.None && d.None
	}
	return c.Root.Semitone() == d.Root.Semitone() && c.Bass.Semitone() == d.Bass.Semitone() && c.tones() == d.tones()
}

// tones says which of the twelve semitones over the root the chord has.
func (c Chord) tones() (has [12]bool) {
	for _, d := range c.Degrees {
		has[mod(d.Semitones(), 12)] = true
	}
	return has
}

// has reports whether the chord holds a degree.
func (c Chord) has(number, alter int8) bool {
	return slices.Contains(c.Degrees, Degree{number, alter})
}

// class returns the chord's family, classMajor for no chord.
func (c Chord) class() class { return c.Quality().Row().class }

// Transpose moves the chord from one key to another and keeps the way it is
// written. Root and slash bass keep their place in the key, so that a chord on
// the b6 stays one, save that a double accidental becomes a simple one and a root such
// as Fb or B# that is none of the key's own notes a natural one: Gbdim7 in Eb is Edim7
// in Db, for which the place in the key would be Fb.
func (c Chord) Transpose(from, to Key) Chord {
	if c.None {
		return c
	}
	by := to.Tonic.fifths() - from.Tonic.fifths()
	out := c
	out.Root = to.plain(noteAtFifths(c.Root.fifths() + by).simple())
	if d := c.DegreeOf(c.Bass.Semitone()); d.Of(c.Root) == c.Bass {
		out.Bass = d.Of(out.Root).simple()
	} else {
		out.Bass = to.plain(noteAtFifths(c.Bass.fifths() + by).simple())
	}
	body, slash := c.body()
	out.Symbol = out.Root.String() + apart(body)
	if slash {
		out.Symbol += "/" + out.Bass.String()
	}
	return out
}

// body returns what the symbol has between its root and its slash bass, and
// whether it has one.
func (c Chord) body() (string, bool) {
	r := symbolReader{runes: []rune(c.Symbol)}
	r.note()
	rest := r.runes[r.at:]
	for i := len(rest) - 2; i >= 0; i-- {
		if rest[i] == '/' && rest[i+1] >= 'A' && rest[i+1] <= 'G' {
			return string(rest[:i]), true
		}
	}
	return string(rest), false
}

// Caution says what many charts mean by a symbol that is read by its letter here, ""
// for all but the bare ° and o, which stand for the triad (tonal 6.4.2) and on charts
// often for the chord with its seventh.
func (c Chord) Caution() string {
	body, _ := c.body()
	if body != "°" && body != "º" && body != "o" {
		return ""
	}
	return fmt.Sprintf("the triad; where a chart means the seventh too, write %s°7", c.Root)
}

// apart puts brackets around a tension that starts a symbol's body, lest its
// accidental be read as the root's.
func apart(body string) string {
	runes := []rune(body)
	if len(runes) == 0 || accidental(runes[0]) == 0 {
		return body
	}
	end := 1
	for end < len(runes) && isDigit(runes[end]) {
		end++
	}
	return "(" + string(runes[:end]) + ")" + string(runes[end:])
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
	return c.outside(above)
}

// outside names a note that is no chord tone, by its semitones above the root:
// as tensions 9, 11 and 13 where the chord has a seventh, else by 4 and 6.
func (c Chord) outside(above int) Degree {
	seventh := c.has(7, 0) || c.has(7, -1) || c.has(7, -2)
	minor := c.has(3, -1)
	pick := func(when bool, yes, no Degree) Degree {
		if when {
			return yes
		}
		return no
	}
	switch above {
	case 1:
		return Degree{9, -1}
	case 2:
		return Degree{9, 0}
	case 3:
		return pick(c.has(3, 0) && seventh, Degree{9, 1}, Degree{3, -1})
	case 4:
		return Degree{3, 0}
	case 5:
		return pick(seventh, Degree{11, 0}, Degree{4, 0})
	case 6:
		return pick(minor, Degree{5, -1}, pick(seventh, Degree{11, 1}, Degree{4, 1}))
	case 7:
		return Degree{5, 0}
	case 8:
		return pick(seventh, Degree{13, -1}, Degree{6, -1})
	case 9:
		return pick(minor && c.has(5, -1) && !c.has(7, -1), Degree{7, -2}, pick(seventh, Degree{13, 0}, Degree{6, 0}))
	case 10:
		return Degree{7, -1}
	case 11:
		return Degree{7, 0}
	default:
		return Degree{1, 0}
	}
}
