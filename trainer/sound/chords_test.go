package sound

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Without a device the chords are over at once, with the reason; a context that has
// ended waits for nothing.
func TestChords(t *testing.T) {
	began := time.Now()
	err := Chords(context.Background(), NoCue, [][]int{{40, 52, 55}, {45, 57}}, Options{Mute: true})
	require.ErrorContains(t, err, "sound is off")
	require.Less(t, time.Since(began), 2*time.Second)
	require.Error(t, Chords(context.Background(), RightCue, nil, Options{Mute: true}))
	over, cancel := context.WithCancel(context.Background())
	cancel()
	require.NotPanics(t, func() { _ = Chords(over, WrongCue, [][]int{{40}}, Options{Mute: true}) })
}

// A cue is touched, not sounded: it is softer than a chord, over when the chord begins, and
// the chord after it is the same as without it.
func TestACueMasksNothing(t *testing.T) {
	chords := [][]int{{45}, {45, 57, 60, 64}}
	plain := chordScore(NoCue, chords)
	for _, cue := range []Cue{RightCue, WrongCue} {
		score := chordScore(cue, chords)
		require.NoError(t, score.Check())
		touches := len(cue.notes())
		require.Positive(t, touches)
		for i, n := range score.Bars[0].Notes {
			if i < touches {
				require.True(t, n.Dead)
				require.Less(t, n.Velocity, uint8(chordVelocity/2))
				require.LessOrEqual(t, n.Late, cueLength/2)
				continue
			}
			want := plain.Bars[0].Notes[i-touches]
			want.Late = cueLength
			require.Equal(t, want, n)
		}
		require.Equal(t, plain.Bars[1], score.Bars[1])
		require.NoError(t, chordScore(cue, nil).Check(), "a cue alone")
	}
	require.NotEqual(t, len(RightCue.notes()), len(WrongCue.notes()), "they are told apart")
}
