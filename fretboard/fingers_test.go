package fretboard

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/harmony"
)

// The fingers that players use: the index lies flat where it is free and silences a
// string within; fingers stand one beside the other where a flat one would stop the
// next string. Common practice, no source.
func TestFingersThatPlayersUse(t *testing.T) {
	neck, hand := StandardNeck(), DefaultHand()
	for _, c := range []struct {
		frets   string
		fingers []int
	}{
		{"6-x-6-6-6-8", []int{1, 0, 1, 1, 1, 3}},
		{"6-x-6-7-6-x", []int{1, 0, 1, 2, 1, 0}},
		{"x-5-5-3-6-x", []int{0, 2, 3, 1, 4, 0}},
		{"10-x-10-10-x-x", []int{1, 0, 1, 1, 0, 0}},
		{"x-6-8-6-8-x", []int{0, 1, 3, 1, 4, 0}},
		{"4-x-5-5-4-x", []int{1, 0, 3, 4, 2, 0}},
	} {
		f, ok := neck.Fingering(hand, fretsOf(t, c.frets))
		require.True(t, ok, c.frets)
		assert.Equal(t, c.fingers, f.Fingers, c.frets)
	}
}

// No shape that the search finds has four fingers side by side in one fret, and each
// that the vocabulary has, whole and without open strings, has the fingers it names
// there, as an arrangement shows it.
func TestShapesHaveTheFingersOfTheVocabulary(t *testing.T) {
	neck, hand := StandardNeck(), DefaultHand()
	whole := 0
	for _, symbol := range []string{"Dm7", "G7", "Bb13#11", "Ebmaj7", "G7alt", "Bm7b5", "Cdim7", "Ab6", "F7sus4"} {
		c, err := harmony.ParseChord(symbol)
		require.NoError(t, err)
		for _, s := range neck.Shapes(hand, Query{Chord: c}) {
			var frets [mostStrings]int8
			in, open := map[[2]int]bool{}, false
			for i, f := range s.Frets {
				frets[i] = int8(f)
				in[[2]int{f, s.Fingers[i]}] = f > 0
				open = open || f == 0
			}
			for f := 1; f <= neck.HighestFret; f++ {
				require.False(t, in[[2]int{f, 1}] && in[[2]int{f, 2}] && in[[2]int{f, 3}] && in[[2]int{f, 4}], "%s: %s", symbol, s)
			}
			named, ok := fingersOf(neck, frets)
			for i, f := range s.Frets {
				ok = ok && named[i] > 0 == (f > 0) // no open string in the place of a fretted one
			}
			if ok && !open {
				for i := range s.Fingers {
					require.Equal(t, int(named[i]), s.Fingers[i], "%s: %s", symbol, s)
				}
				whole++
			}
		}
	}
	require.Greater(t, whole, 100)
}

// Best first means what a player would reach for: no open string above the fifth fret,
// nothing wider than four frets up there, and no six strings, before the grips that
// players know. Common practice, no source.
func TestBestShapesOnAGig(t *testing.T) {
	neck, hand := StandardNeck(), DefaultHand()
	for _, symbol := range []string{"G7alt", "Bb13#11", "F-7", "Eb7alt", "Bb-9", "Dm7b5", "Ab6", "Gbo7", "F13"} {
		c, err := harmony.ParseChord(symbol)
		require.NoError(t, err)
		shapes := neck.Shapes(hand, Query{Chord: c})
		for _, s := range shapes[:min(4, len(shapes))] {
			open, high, sounding := 0, 0, 0
			for _, f := range s.Frets {
				high = max(high, f)
				if f >= 0 {
					sounding++
				}
				if f == 0 && sounding > 1 {
					open++
				}
			}
			assert.False(t, open > 0 && high > 5, "%s: %s", symbol, s)
			assert.Less(t, s.SpanMM, 95.0, "%s: %s", symbol, s)
			assert.Less(t, sounding, 6, "%s: %s", symbol, s)
		}
	}
}
