package fretboard

import (
	"strings"
	"sync"

	"footfall/harmony"
)

// quality is a chord type that a shape may be read as.
type quality struct {
	// suffix follows the root in the symbol.
	suffix string
	// mayMiss are the degrees besides the root without which it is still read,
	// mayAdd those that the symbol does not name but that may sound with it, as
	// the 11 in a full stack of thirds up to the 13.
	mayMiss, mayAdd string
	// cost says how far the name is from everyday, 0 being nearest.
	cost float64
	// rootless is set where players use the chord without its root, upper where
	// it is read over a bass note from outside it.
	rootless, upper bool

	degrees []harmony.Degree
	// Masks with a bit for each number of semitones above the root.
	tones, need, more uint16
	name              [12]harmony.Degree
}

// qualityRows holds the chord types that shapes are read as. Which tones may be
// missing, and the costs that order the readings: common practice, no source.
var qualityRows = []quality{
	{suffix: "", mayMiss: "5", upper: true},
	{suffix: "m", mayMiss: "5", upper: true},
	{suffix: "5", cost: 0.2},
	{suffix: "dim", cost: 0.3, upper: true},
	{suffix: "aug", cost: 0.3, upper: true},
	{suffix: "sus4", cost: 0.3},
	{suffix: "sus2", cost: 0.4},
	{suffix: "(b5)", cost: 1.5},
	{suffix: "6", mayMiss: "5", cost: 0.4},
	{suffix: "m6", mayMiss: "5", cost: 0.4},
	{suffix: "6/9", mayMiss: "5", cost: 0.6},
	{suffix: "m6/9", mayMiss: "5", cost: 0.8},
	{suffix: "7", mayMiss: "5", upper: true},
	{suffix: "maj7", mayMiss: "5", upper: true},
	{suffix: "m7", mayMiss: "5", upper: true},
	{suffix: "m7b5", cost: 0.1, upper: true},
	{suffix: "dim7", cost: 0.1, upper: true},
	{suffix: "mMaj7", mayMiss: "5", cost: 0.5},
	{suffix: "mMaj7b5", cost: 1.2},
	{suffix: "7b5", cost: 0.6},
	{suffix: "7#5", cost: 0.6},
	{suffix: "maj7b5", cost: 0.8},
	{suffix: "maj7#5", cost: 0.8},
	{suffix: "7sus4", mayMiss: "5", cost: 0.4},
	{suffix: "9sus4", mayMiss: "5", cost: 0.6},
	{suffix: "13sus4", mayMiss: "5 9", cost: 0.9},
	{suffix: "7sus2", cost: 0.9},
	{suffix: "maj7sus4", cost: 1},
	{suffix: "maj7sus2", cost: 1},
	{suffix: "sus24", cost: 0.9},
	{suffix: "7sus4(b9)", mayMiss: "5", cost: 1},
	{suffix: "add9", mayMiss: "5", cost: 0.5},
	{suffix: "madd9", mayMiss: "5", cost: 0.5},
	{suffix: "add11", cost: 1.5},
	{suffix: "madd11", cost: 1.5},
	{suffix: "9", mayMiss: "5", cost: 0.2, rootless: true},
	{suffix: "maj9", mayMiss: "5", cost: 0.2, rootless: true},
	{suffix: "m9", mayMiss: "5", cost: 0.2, rootless: true},
	{suffix: "mMaj9", mayMiss: "5", cost: 0.7, rootless: true},
	{suffix: "m9b5", cost: 0.8},
	{suffix: "7b9", mayMiss: "5", cost: 0.3, rootless: true},
	{suffix: "7#9", mayMiss: "5", cost: 0.3},
	{suffix: "9b5", cost: 0.7},
	{suffix: "9#5", cost: 0.7},
	{suffix: "7b5b9", cost: 0.9},
	{suffix: "7#5b9", cost: 0.8},
	{suffix: "7b5#9", cost: 1},
	{suffix: "7#5#9", cost: 0.8},
	{suffix: "7#11", cost: 0.6},
	{suffix: "9#11", mayMiss: "5 9", cost: 0.8},
	{suffix: "maj7#11", cost: 0.5},
	{suffix: "maj9#11", mayMiss: "5", cost: 0.7},
	{suffix: "7b9#11", cost: 0.9},
	{suffix: "7#9#11", cost: 0.9},
	{suffix: "6/9#11", mayMiss: "5", cost: 1},
	{suffix: "m7#5", cost: 1.2},
	{suffix: "m7b9", mayMiss: "5", cost: 1.1},
	{suffix: "11", mayMiss: "5 9", mayAdd: "3", cost: 1.3},
	{suffix: "maj11", mayMiss: "5 9", cost: 0.8},
	{suffix: "m11", mayMiss: "5 9", cost: 0.4},
	{suffix: "mMaj11", mayMiss: "5 9", cost: 1.2},
	{suffix: "13", mayMiss: "5 9", cost: 0.3, rootless: true, mayAdd: "11"},
	{suffix: "maj13", mayMiss: "5 9", cost: 0.5, mayAdd: "11"},
	{suffix: "m13", mayMiss: "5 9", cost: 0.7, mayAdd: "11"},
	{suffix: "7b13", cost: 0.9},
	{suffix: "13b9", mayMiss: "5", cost: 0.6},
	{suffix: "13#11", mayMiss: "5 9", cost: 0.9},
}

// qualities returns qualityRows with what their symbols say filled in.
var qualities = sync.OnceValue(func() []quality {
	all := make([]quality, len(qualityRows))
	for i, q := range qualityRows {
		c, err := harmony.ParseChord("C" + q.suffix)
		if err != nil {
			panic("fretboard: qualityRows: " + err.Error())
		}
		q.degrees = c.Degrees
		for _, d := range q.degrees {
			q.tones |= bit(d)
			q.name[at(d)] = d
		}
		q.need = q.tones
		for _, d := range readDegrees(q.mayMiss) {
			q.need &^= bit(d)
		}
		for _, d := range readDegrees(q.mayAdd) {
			q.more |= bit(d)
			q.name[at(d)] = d
		}
		all[i] = q
	}
	return all
})

// readDegrees reads the degrees of a row of the table.
func readDegrees(s string) []harmony.Degree {
	var degrees []harmony.Degree
	for _, f := range strings.Fields(s) {
		d, err := harmony.ParseDegree(f)
		if err != nil {
			panic("fretboard: qualityRows: " + err.Error())
		}
		degrees = append(degrees, d)
	}
	return degrees
}
