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
	err := Chords(context.Background(), [][]int{{40, 52, 55}, {45, 57}}, Options{Mute: true})
	require.ErrorContains(t, err, "sound is off")
	require.Less(t, time.Since(began), 2*time.Second)
	require.Error(t, Chords(context.Background(), nil, Options{Mute: true}))
	over, cancel := context.WithCancel(context.Background())
	cancel()
	require.NotPanics(t, func() { _ = Chords(over, [][]int{{40}}, Options{Mute: true}) })
}
