package fretboard_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/fretboard"
	"footfall/harmony/tune/edit"
)

// Every built-in tune can end at three places: each is a shape of its last chord that
// the hand holds, farther up the neck than the one before, and written into the tune
// it is what the arrangement plays last, over a line that still fits. Undo gives the
// tune back.
func TestBuiltInTunesEndAtThreePlaces(t *testing.T) {
	n, h := fretboard.StandardNeck(), fretboard.DefaultHand()
	for _, name := range content.TuneNames() {
		text, ok := content.TuneText(name)
		require.True(t, ok)
		doc, faults := edit.Open(text)
		require.Empty(t, faults)
		before, was := doc.Text(), doc.Tune().Unroll()
		e, err := fretboard.EndingsOf(doc.Tune(), n, h)
		require.NoError(t, err, name)
		require.Len(t, e.Shapes, 3, name)
		fret := -1
		for place, s := range e.Shapes {
			_, read := n.ReadAs(s.Frets, e.Chord)
			assert.True(t, read, "%s: %s is not read as %s", name, s, e.Chord.Symbol)
			assert.LessOrEqual(t, s.SpanMM, h.ReachMM)
			lowest := slices.Min(slices.DeleteFunc(slices.Clone(s.Frets), func(f int) bool { return f < 0 }))
			assert.Greater(t, lowest, fret, name)
			fret = lowest
			require.NoError(t, doc.SetEnding(e.Beat, e.Rows(place)), name)
			a, err := fretboard.Arrange(doc.Tune(), n, h, fretboard.BassHalves)
			require.NoError(t, err, "%s at %s", name, s)
			last := a.Events[len(a.Events)-1]
			assert.Equal(t, fretboard.ShapeEvent, last.Kind, name)
			assert.Equal(t, s.Frets, last.Frets, name)
			assert.True(t, last.Held, name)
			// What comes before the ending is played as it was.
			now := doc.Tune().Unroll()
			require.Len(t, now, len(was))
			for i := range was[:len(was)-1] {
				require.Equal(t, was[i].Bar.Bass, now[i].Bar.Bass, "%s bar %d", name, i+1)
			}
			require.True(t, doc.Undo())
			assert.Equal(t, before, doc.Text(), name)
		}
	}
}

func TestATuneWithoutALastChordHasNoEnding(t *testing.T) {
	doc, faults := edit.Open("tune Quiet\nkey C\nmeter 4/4\ntempo 100\n\n[A]\nchords | C | N.C. |\n")
	require.Empty(t, faults)
	_, err := fretboard.EndingsOf(doc.Tune(), fretboard.StandardNeck(), fretboard.DefaultHand())
	assert.EqualError(t, err, "no chord sounds in the last bar, so there is nothing to end on")
}
