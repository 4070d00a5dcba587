package taps

import (
	"context"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/listen"
	"footfall/trainer/sound"
)

// fake is an input that a test plays on.
type fake struct{ *listen.Feed }

func (f fake) Close() error { f.Shut(); return nil }

func newFake(epoch time.Time) fake {
	return fake{listen.NewFeed("fake", listen.Options{Now: func() time.Duration { return time.Since(epoch) }}, "")}
}

// A player who follows the click and is always 20 ms late, on a string of
// channel 3 that is reported an octave low.
func TestRound(t *testing.T) { synctest.Test(t, round) }

func round(t *testing.T) {
	epoch := time.Now().Add(-time.Hour)
	in := newFake(epoch)
	in.Hand(listen.Note{On: true, MIDI: 1}) // from before the click
	var told []int
	var tapping sync.WaitGroup
	round, err := Play(context.Background(), in, Options{
		Epoch: epoch, Tempo: 300, Bars: 2, Sound: sound.Options{Mute: true},
		Beat: func(beat int) {
			told = append(told, beat)
			if beat > 0 {
				tapping.Go(func() {
					time.Sleep(20 * time.Millisecond)
					in.Hand(listen.Note{At: in.Now(), On: true, MIDI: 38, Channel: 3, Confidence: 1})
				})
			}
		},
	})
	require.NoError(t, err)
	tapping.Wait()
	assert.Equal(t, []int{-3, -2, -1, 0, 1, 2, 3, 4, 5, 6, 7, 8}, told)
	assert.NotEmpty(t, round.Silent)
	require.Len(t, round.Beats, 8)
	for i := 1; i < 8; i++ {
		assert.InDelta(t, float64(200*time.Millisecond), float64(round.Beats[i]-round.Beats[i-1]), 10)
	}
	require.Len(t, round.Notes, 8)
	learned, err := listen.LearnString(4, 50, round.Notes, round.Beats)
	require.NoError(t, err)
	assert.Equal(t, 3, learned.Channel)
	assert.Equal(t, -12, learned.Transpose)
	// The beat is told up to 5 ms after it is heard.
	assert.GreaterOrEqual(t, learned.Delay.Median, 20*time.Millisecond)
	assert.LessOrEqual(t, learned.Delay.Median, 26*time.Millisecond)
}

func TestRoundEndsEarly(t *testing.T) { synctest.Test(t, endsEarly) }

func endsEarly(t *testing.T) {
	epoch := time.Now()
	in := newFake(epoch)
	ctx, cancel := context.WithTimeout(context.Background(), 50*time.Millisecond)
	defer cancel()
	o := Options{Epoch: epoch, Tempo: 120, Bars: 1, Sound: sound.Options{Mute: true}}
	_, err := Play(ctx, in, o)
	assert.ErrorIs(t, err, context.DeadlineExceeded)
	require.NoError(t, in.Close())
	_, err = Play(context.Background(), in, o)
	assert.EqualError(t, err, "the input was closed")
	o.Bars = 0
	_, err = Play(context.Background(), in, o)
	assert.Error(t, err)
	o.Bars, o.Tempo = 1, 3000
	_, err = Play(context.Background(), in, o)
	assert.Error(t, err)
}
