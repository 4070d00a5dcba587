package fretboard_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/fretboard"
	"footfall/harmony"
)

// A ii V I in drop 2 and in drop 3, as players know it: two voices fall a step each
// time, the others stay (common practice, no source; the shapes are of the published
// tables of inversions). From open strings an open shape may follow, else none.
func TestNearestFollowsATwoFive(t *testing.T) {
	n, h := fretboard.StandardNeck(), fretboard.DefaultHand()
	for _, c := range []struct {
		from, symbol, to string
		steps            int
	}{
		{"x-5-7-5-6-x", "G7", "x-5-5-4-6-x", 3}, {"x-5-5-4-6-x", "Cmaj7", "x-3-5-4-5-x", 3},
		{"10-x-10-10-10-x", "G7", "10-x-9-10-8-x", 3}, {"10-x-9-10-8-x", "Cmaj7", "8-x-9-9-8-x", 3},
		{"x-3-2-0-1-0", "Am", "x-3-2-2-1-0", 2}, {"x-3-2-0-1-0", "C", "x-3-2-0-1-0", 0},
	} {
		chord, err := harmony.ParseChord(c.symbol)
		require.NoError(t, err)
		frets, err := n.Tuning.ParseFrets(c.from)
		require.NoError(t, err)
		all := n.Nearest(h, frets, chord)
		require.NotEmpty(t, all, c)
		assert.Equal(t, c.to, all[0].String())
		assert.Equal(t, c.steps, all[0].Steps)
		for i, m := range all {
			assert.GreaterOrEqual(t, m.Steps, all[max(0, i-1)].Steps)
			assert.True(t, slices.Contains(frets, 0) || !slices.Contains(m.Frets, 0), m.String())
		}
	}
	none, err := harmony.ParseChord("N.C.")
	require.NoError(t, err)
	assert.Empty(t, n.Nearest(h, []int{-1, 3, 2, 0, 1, 0}, none))
}

// What players know for a chord on its root are the design's standard grips; on a
// neck whose strings lie apart otherwise they are those of the search. None of them
// sounds both strings of the line.
func TestStandardShapes(t *testing.T) {
	h := fretboard.DefaultHand()
	for symbol, grip := range map[string]string{"G7": "3-x-3-4-3-x", "Dm7": "x-5-7-5-6-x", "C6": "8-x-7-9-8-x", "E7b9": "x-7-6-7-6-x", "Am7b5": "5-x-5-5-4-x"} {
		chord, err := harmony.ParseChord(symbol)
		require.NoError(t, err)
		for _, tuning := range []fretboard.Tuning{fretboard.Standard, {38, 45, 50, 55, 57, 62}} {
			n := fretboard.StandardNeck()
			n.Tuning = tuning
			shapes := n.Standard(h, fretboard.Query{Chord: chord, Bass: harmony.Degree{Number: 1}})
			require.NotEmpty(t, shapes)
			var texts []string
			for _, s := range shapes {
				texts = append(texts, s.String())
				require.Less(t, s.Frets[0]*s.Frets[1], 0, s.String())
				require.NoError(t, n.Fits(h, fretboard.Query{Chord: chord, Bass: harmony.Degree{Number: 1}}, s.Frets), s.String())
			}
			if tuning[0] == 40 {
				assert.Contains(t, texts, grip)
			}
		}
	}
}
