package drills

import (
	"fmt"
	"strings"

	"footfall/fretboard"
	"footfall/harmony"
)

// Set is a named set of chords to practise with.
type Set struct {
	Name, Title, Says string
	// Symbols are chord symbols with spaces between.
	Symbols string
}

// Sets are the sets of chords there are, easiest first. Which chords stand
// together is common practice, no source.
var Sets = []Set{
	{"first", "First chords", "seven chords of C major", "C Dm7 Em7 F G7 Am7 Cmaj7"},
	{"triads", "Triads", "major and minor in common keys", "C Cm D Dm E Em F Fm G Gm A Am Bb Bm"},
	{"sevenths", "Sevenths", "the common seventh chords", "Cmaj7 C7 Cm7 Fmaj7 F7 Fm7 Bbmaj7 Bb7 Bbm7 Ebmaj7 Eb7 Gmaj7 G7 Gm7 Dmaj7 D7 Dm7 A7 Am7 E7 Em7"},
	{"two-fives", "Two-fives", "ii V I in six keys", "Dm7 G7 Cmaj7 Gm7 C7 Fmaj7 Cm7 F7 Bbmaj7 Fm7 Bb7 Ebmaj7 Am7 D7 Gmaj7 Em7 A7 Dmaj7"},
	{"minor-fives", "Minor two-fives", "ii V i in minor", "Dm7b5 G7 Cm6 Am7b5 D7 Gm6 Em7b5 A7 Dm6 Bm7b5 E7 Am6 Gm7b5 C7 Fm6"},
	{"dominants", "Dominants", "dominant sevenths round the circle of fifths", "C7 F7 Bb7 Eb7 Ab7 Db7 Gb7 B7 E7 A7 D7 G7"},
	{"flat-keys", "Flat keys", "chords of keys with four flats and more", "Abmaj7 Bbm7 Cm7 Dbmaj7 Eb7 Fm7 Gbmaj7 Ab7 Abm7 Db7 Ebm7"},
	{"colours", "Colors", "sixths, ninths, altered and diminished", "C6 F6 Bb6 Gm6 Cm6 G9 C9 F9 A7b9 D7b9 G7#9 E7#9 Bdim7 F#dim7 Caug Fmaj9 Bbmaj9 Dm9 Gm9"},
}

// OfSet makes material of a set.
func OfSet(s Set, neck fretboard.Neck) (Material, error) {
	return OfSymbols(s.Name, s.Title, s.Symbols, neck)
}

// OfSymbols makes material of chord symbols with spaces between. The error
// says which is none.
func OfSymbols(name, title, symbols string, neck fretboard.Neck) (Material, error) {
	m := Material{Name: name, Title: title, Neck: neck}
	for _, f := range strings.Fields(symbols) {
		c, err := harmony.ParseChord(f)
		if err != nil {
			return Material{}, fmt.Errorf("chord %q: %w", f, err)
		}
		m.Chords = append(m.Chords, c)
	}
	return m, nil
}
