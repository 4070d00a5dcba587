package sound

import (
	"runtime"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/fretboard"
	"footfall/fretboard/playing"
)

// Eight hours of click and strings on a device take no more memory at their end
// than after half an hour, and the clock still says what is heard.
func TestEightHoursOfSound(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	tn, ok := content.Tune("tin-kettle-blues")
	require.True(t, ok)
	a, err := fretboard.Arrange(tn, fretboard.StandardNeck(), fretboard.DefaultHand(), fretboard.Bass)
	require.NoError(t, err)
	score, err := playing.Of(a, false)
	require.NoError(t, err)
	score.Tempo = 120
	synctest.Test(t, func(t *testing.T) {
		s := &shop{}
		p, err := openWith(score, Options{Rate: 2000}, s.open)
		require.NoError(t, err)
		defer p.Close()
		require.NoError(t, p.Play())
		began, seen := time.Now(), uint64(0)
		heap := func() (m runtime.MemStats) {
			runtime.GC()
			runtime.GC()
			runtime.ReadMemStats(&m)
			return m
		}
		bars := 0
		wait := func(d time.Duration) {
			for end := time.Now().Add(d); time.Now().Before(end); {
				time.Sleep(time.Minute)
				var played []Played
				played, seen = p.Since(seen)
				bars += len(played)
			}
		}
		wait(30 * time.Minute)
		early, goroutines := heap(), runtime.NumGoroutine()
		s.device(0).loud.Store(false)
		wait(8*time.Hour - time.Since(began))
		late := heap()
		t.Logf("heap %.2f MB, then %.2f MB", float64(early.HeapAlloc)/1e6, float64(late.HeapAlloc)/1e6)
		assert.Less(t, int64(late.HeapAlloc)-int64(early.HeapAlloc), int64(1<<18))
		assert.LessOrEqual(t, runtime.NumGoroutine(), goroutines)
		assert.True(t, s.device(0).loud.Load(), "it still sounds")
		assert.Empty(t, p.Status())
		now := p.Now()
		assert.Equal(t, Playing, now.State)
		assert.InDelta(t, time.Since(began).Seconds(), now.At.Duration().Seconds(), 0.05)
		// A bar lasts two seconds.
		assert.InDelta(t, 8*3600/2, bars, 2)
	})
}
