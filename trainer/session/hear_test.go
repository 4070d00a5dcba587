package session

import (
	"context"
	"errors"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"footfall/drills"
	"footfall/fretboard"
)

// The chords of a question are heard, and again when asked for; where nothing can
// be heard they are named.
func TestHearing(t *testing.T) {
	heard := make(chan [][]int, 8)
	var fails atomic.Bool
	h := &Hearing{play: func(_ context.Context, chords [][]int) error {
		broken := fails.Load()
		heard <- chords
		if broken {
			return errors.New("no device")
		}
		return nil
	}}
	d := &Desk{Neck: fretboard.StandardNeck(), Hand: fretboard.DefaultHand(), Now: time.Now, Seed: func() uint64 { return 1 }, Hearing: h}
	s, err := d.Drill(Choice{Drill: "ear", Chords: "Dm7 G7", Questions: 3}, false)
	require.NoError(t, err)
	q := s.Begin()[0].Event.(Question)
	require.Equal(t, q.Ask.Sounds, <-heard)
	require.NotContains(t, q.Prompt, "It sounds")
	s.Again()
	require.Equal(t, q.Ask.Sounds, <-heard)

	fails.Store(true)
	s.Again()
	<-heard
	require.Eventually(t, func() bool { return !d.heard() }, 5*time.Second, time.Millisecond)
	told := s.Do(Answer{Reply: drills.Typed(0, q.Right[0])})
	next := told[len(told)-1].Event.(Question)
	require.Contains(t, next.Prompt, next.Ask.Unheard, "named where it is not heard")
	require.Contains(t, next.Prompt, "It sounds")
	require.Empty(t, heard)
}
