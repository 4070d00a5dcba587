package drills_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills"
	"footfall/fretboard"
)

// The b7 of Dm7 on string 5 is C at fret 3, MIDI 48 (MIDI 1.0: middle C is 60), heard
// alone and then under D F A C.
func TestTheAnswerIsHeard(t *testing.T) {
	m, err := drills.OfSymbols("", "", "Dm7", fretboard.StandardNeck())
	require.NoError(t, err)
	qs, err := drills.Kinds[0].Draw(m)
	require.NoError(t, err)
	for _, q := range qs {
		if it := q.Item(); it.Degree == "b7" && it.String == 5 {
			heard := drills.Heard(q, m.Neck)
			assert.Equal(t, []int{48}, heard[0])
			assert.Equal(t, []int{48, 62, 53, 57, 60}, heard[1])
			return
		}
	}
	t.Fatal("the question is not there")
}

// Whatever is asked of a tune, what is heard of its answer is on an instrument.
func TestEveryAnswerIsHeard(t *testing.T) {
	m, err := drills.OfSymbols("", "", "Dm7 G7 Cmaj7 Bm7b5", fretboard.StandardNeck())
	require.NoError(t, err)
	for _, k := range drills.Kinds {
		qs, err := k.Draw(m)
		if err != nil {
			continue
		}
		for _, q := range qs {
			for _, chord := range drills.Heard(q, m.Neck) {
				require.NotEmpty(t, chord, q.Item().Key())
				for _, midi := range chord {
					require.True(t, midi >= 28 && midi <= 88, "%s sounds %d", q.Item().Key(), midi)
				}
			}
		}
	}
}
