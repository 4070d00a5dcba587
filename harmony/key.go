package harmony

import (
	"fmt"
	"strings"
)

// Key is a tonic and its mode, major or minor.
type Key struct {
	Tonic Note
	Minor bool
}

// ParseKey reads a key of up to seven accidentals: "Bb", "Bb major", "Dm",
// "F# minor", with ♭ and ♯ too.
func ParseKey(s string) (Key, error) {
	r := symbolReader{runes: []rune(strings.TrimSpace(s))}
	bad := fmt.Errorf("%q is no key; write one such as Bb, F#m or D minor", s)
	if len(r.runes) > MaxSymbol {
		return Key{}, fmt.Errorf("a key has at most %d characters; write one such as Bb, F#m or D minor", MaxSymbol)
	}
	tonic, ok := r.note()
	if !ok {
		return Key{}, bad
	}
	k := Key{Tonic: tonic}
	switch mode := strings.TrimSpace(string(r.runes[r.at:])); {
	case mode == "", mode == "M":
	case mode == "m", mode == "-":
		k.Minor = true
	default:
		switch strings.ToLower(mode) {
		case "maj", "major":
		case "min", "minor":
			k.Minor = true
		default:
			return Key{}, bad
		}
	}
	if n := k.Signature(); n < -7 || n > 7 {
		same := k.simpler()
		return Key{}, fmt.Errorf("%s has more than seven accidentals; write %s", k, same)
	}
	return k, nil
}

// String writes the key as ParseKey reads it: "Bb", "F#m".
func (k Key) String() string {
	if k.Minor {
		return k.Tonic.String() + "m"
	}
	return k.Tonic.String()
}

// Signature returns the key signature: sharps if above 0, flats if below, −7 to
// 7 for every key that ParseKey reads.
func (k Key) Signature() int {
	if k.Minor {
		return k.Tonic.fifths() - 3
	}
	return k.Tonic.fifths()
}

// Alter returns the alteration, in semitones, that the key's signature gives a
// letter: sharps come in the order F C G D A E B, flats the other way.
func (k Key) Alter(l Letter) int8 {
	place := Note{Letter: l}.fifths() + 1
	switch signature := k.Signature(); {
	case signature > place:
		return 1
	case -signature > 6-place:
		return -1
	}
	return 0
}

// KeyOf returns the key of a signature: sharps if above 0, flats if below.
func KeyOf(signature int, minor bool) Key {
	if minor {
		return Key{Tonic: noteAtFifths(signature + 3), Minor: true}
	}
	return Key{Tonic: noteAtFifths(signature)}
}

// simpler returns the same-sounding key within six accidentals.
func (k Key) simpler() Key {
	for k.Signature() > 6 {
		k.Tonic = noteAtFifths(k.Tonic.fifths() - 12)
	}
	for k.Signature() < -6 {
		k.Tonic = noteAtFifths(k.Tonic.fifths() + 12)
	}
	return k
}

// Up returns the key a number of semitones higher, or lower where it is below 0,
// spelled with the fewest accidentals; of six sharps and six flats it takes the
// side this key is on, flats if on neither.
func (k Key) Up(semitones int) Key {
	from := k.Signature()
	sig := mod(from+7*semitones+5, 12) - 5 // −5 to 6
	if sig == 6 && from <= 0 {
		sig = -6
	}
	return Key{Tonic: noteAtFifths(k.Tonic.fifths() + sig - from), Minor: k.Minor}
}

// plain respells an awkward note that is none of the key's own by its natural name.
func (k Key) plain(n Note) Note {
	if k.Alter(n.Letter) == n.Alter {
		return n
	}
	return n.Plain()
}

// fifths returns the note's place on the line of fifths, C = 0, G = 1, F = −1.
func (n Note) fifths() int {
	return [7]int{0, 2, 4, -1, 1, 3, 5}[n.Letter] + 7*int(n.Alter)
}

// noteAtFifths is the inverse of fifths.
func noteAtFifths(f int) Note {
	letter := [7]Letter{F, C, G, D, A, E, B}[mod(f+1, 7)]
	return Note{letter, int8((f + 1 - mod(f+1, 7)) / 7)}
}

// simple respells a note that has a double accidental with at most one.
func (n Note) simple() Note {
	for n.Alter > 1 {
		n = noteAtFifths(n.fifths() - 12)
	}
	for n.Alter < -1 {
		n = noteAtFifths(n.fifths() + 12)
	}
	return n
}
