//go:build unix

package session

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/take"
	"footfall/fretboard/playing"
	"footfall/harmony"
	"footfall/trainer/listen"
	"footfall/trainer/sound"
)

// microphone is an input that hears what a test plays to its ear.
type microphone struct {
	*listen.Feed
	strums chan listen.Strum
}

func (m microphone) Strums() <-chan listen.Strum { return m.strums }
func (microphone) Close() error                  { return nil }

// The arrangement itself, played to the ear of a running play-along 150 ms early, bass and
// shapes: it is followed, all of it is right, and the delay is offered. Once that is kept, the
// next pass is on time.
func TestAnEarlyTakeByEar(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		const late = -150 * ms
		in := microphone{listen.NewFeed("microphone", listen.Options{}, ""), make(chan listen.Strum, listen.StrumBacklog)}
		in.Found(0, "")
		ear, err := listen.NewEar(in.Feed, in.strums)
		require.NoError(t, err)
		var kept time.Duration
		s := open(t, fourBars, "", func(p *Passage, so *Sounding) {
			p.Passes, p.Layer = 2, "bass+changes"
			so.Input = listening(in)
			so.KeepDelay = func(_ string, by time.Duration, _ int) error {
				kept = by
				return nil
			}
		})
		score, err := playing.Of(s.Arrangement(), false)
		require.NoError(t, err)
		mix := sound.DefaultMix
		mix.MuteClick = true
		var pass []float32
		require.NoError(t, sound.Perform(score, listen.EarRate, sound.Export{Mix: mix}, func(piece []float32) error {
			pass = append(pass, piece...)
			return nil
		}))
		pass = pass[:8*listen.EarRate]
		const piece = listen.EarRate / 100
		first, pushed := harmony.Instant(0), 0 // where the music begins, and what was played from there on
		played := func(i int) float32 {
			if i < 0 || i >= 2*len(pass) {
				return 0
			}
			return pass[i%len(pass)]
		}
		var passes []*take.Score
		followed := false
		hear(t, s, func(e Event) {
			switch e := e.(type) {
			case Followed:
				followed = followed || (e.Shift-late).Abs() < 20*ms
			case Pass:
				passes = append(passes, e.Result.Score)
				by, offered := s.Delay()
				assert.Equal(t, e.N == 1, offered, "pass %d", e.N)
				if offered {
					assert.InDelta(t, late, by, float64(15*ms))
					s.KeepDelay()
				}
			}
			now := s.Now()
			if first == 0 && now.State == sound.Counting {
				first = harmony.Place(now.Bar, now.Start).End()
				pushed = int((now.At-first).Duration().Seconds()*listen.EarRate) + int((-late).Seconds()*listen.EarRate)
			}
			for first != 0 {
				end := (now.At - first).Duration() - late
				if float64(pushed+piece) > end.Seconds()*listen.EarRate {
					return
				}
				block := make([]float32, piece)
				for i := range block {
					block[i] = played(pushed + i)
				}
				pushed += piece
				behind := end - time.Duration(float64(pushed)/listen.EarRate*float64(time.Second))
				ear.Hear(block, in.Now()-behind)
			}
		})
		synctest.Wait()
		require.Len(t, passes, 2)
		for i, sc := range passes {
			t.Log(sc.Report())
			assert.Equal(t, sc.Expected, sc.Matched, "pass %d", i+1)
			assert.Zero(t, sc.Extra, "pass %d", i+1)
		}
		assert.True(t, followed)
		assert.InDelta(t, late, kept, float64(15*ms))
		assert.Less(t, passes[1].Fit.Offset.Abs(), 10*ms)
	})
}
