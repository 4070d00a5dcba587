package fretboard

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/harmony"
)

func chordNamed(t *testing.T, symbol string) harmony.Chord {
	c, err := harmony.ParseChord(symbol)
	require.NoError(t, err)
	return c
}

// What a shell says above each bass of a chord, worked out by hand from the rule of the
// design: third and seventh, over one of them the other and the root or the fifth; half
// of it with the root or the fifth in the other's place.
func TestTonesOfShells(t *testing.T) {
	for _, row := range []struct {
		symbol             string
		bass               int
		heard, half, parts [][2]int
	}{
		{"C7", 0, [][2]int{{4, 10}}, [][2]int{{4, 7}, {10, 7}}, nil},
		{"C7", 7, [][2]int{{4, 10}}, [][2]int{{4, 0}, {10, 0}}, nil},
		{"C7", 2, [][2]int{{4, 10}}, [][2]int{{4, 0}, {10, 0}, {4, 7}, {10, 7}}, [][2]int{{0, 7}}},
		{"C7", 4, [][2]int{{10, 0}, {10, 7}}, nil, [][2]int{{0, 7}}},
		{"Cm6", 3, [][2]int{{9, 0}, {9, 7}}, nil, [][2]int{{0, 7}}},
		{"C", 0, [][2]int{{4, 7}}, nil, nil},
		{"C7sus4", 0, [][2]int{{5, 10}}, [][2]int{{5, 7}, {10, 7}}, nil},
	} {
		heard, half, parts := shellTones(chordNamed(t, row.symbol), row.bass)
		assert.Equal(t, row.heard, heard, "%s over %d", row.symbol, row.bass)
		assert.Equal(t, row.half, half, "%s over %d", row.symbol, row.bass)
		assert.Equal(t, row.parts, parts, "%s over %d", row.symbol, row.bass)
	}
}

// Shells that players find in grips they know, and shells that they have to look for
// (common practice, no source).
func TestShellsThatArePartsOfGrips(t *testing.T) {
	f := gripFinder{neck: StandardNeck(), hand: DefaultHand(), w: &arrangingShells, school: Shells}
	for _, row := range []struct {
		symbol, frets string
		part          bool
	}{
		{"Dm7", "x-5-3-5-x-x", true}, {"Dm7", "x-5-x-5-6-x", true}, {"Dm7", "10-x-10-10-x-x", true}, {"Dm7", "10-x-x-10-13-x", false},
		{"Dm7b5", "x-5-3-5-x-x", false}, {"Dm7b5", "x-5-x-5-6-x", true}, {"Dm7b5", "10-x-10-10-x-x", true},
		{"Edim7", "x-7-5-6-x-x", false}, {"Edim7", "x-7-x-6-8-x", true}, {"Edim7", "12-x-11-12-x-x", true},
		{"Cmaj7", "x-3-2-4-x-x", true}, {"G7", "3-x-x-4-6-x", false}, {"D7sus4", "x-5-5-5-x-x", true},
		{"C", "8-x-x-9-8-x", true}, {"C", "8-x-5-x-5-x", false},
		{"Em7", "0-x-5-7-x-x", true}, {"Em7", "0-x-5-x-3-x", false}, // on the open string
	} {
		frets := fretsOf(t, row.frets)
		assert.Equal(t, row.part, f.partOfGrip(chordNamed(t, row.symbol), frets, lowestPlace(frets)), "%s %s", row.symbol, row.frets)
	}
}
