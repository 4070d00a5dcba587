//go:build unix

package session

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/take"
	"footfall/harmony"
	"footfall/trainer/listen"
	"footfall/trainer/sound"
)

// A player, or an input, that is early or late all through: it is followed, each note is
// right, and the delay is offered. Once it is kept, what comes is on time, from the middle
// of a pass on too, and is so when the port is opened again.
func TestADelayIsOfferedAndKept(t *testing.T) {
	for _, late := range []time.Duration{-150 * ms, 90 * ms} {
		synctest.Test(t, func(t *testing.T) {
			type kept struct {
				port string
				by   time.Duration
			}
			var told []kept
			feed := listen.NewFeed("wire", listen.Options{}, "")
			feed.Found(0, "")
			s := open(t, fourBars, "", func(p *Passage, so *Sounding) {
				p.Passes = 3
				so.Input = listening(ear{feed})
				so.KeepDelay = func(port string, by time.Duration, notes int) error {
					told = append(told, kept{port, by})
					return nil
				}
			})
			var due []take.Expected
			var passes []*take.Score
			followed := false
			hear(t, s, func(e Event) {
				switch e := e.(type) {
				case Followed:
					followed = followed || e.Pass == 1 && (e.Shift-late).Abs() < 20*ms
				case Pass:
					passes = append(passes, e.Result.Score)
					by, offered := s.Delay()
					assert.Equal(t, e.N == 1, offered, "pass %d", e.N)
					if offered {
						assert.InDelta(t, late, by, float64(8*ms))
						s.KeepDelay()
						_, offered = s.Delay()
						assert.False(t, offered)
					}
				}
				now := s.Now()
				if now.State == sound.Counting && due == nil {
					first := harmony.Place(now.Bar, now.Start).Next(now.Bar)
					first.Swing = s.Arrangement().Tune.Swing
					for range 3 {
						due = append(due, take.Expect(s.Arrangement(), first, take.Bars{})...)
						for range 4 {
							first = first.Next(first.Bar)
						}
					}
				}
				for len(due) > 0 && now.At.Duration() >= due[0].Time+late {
					for _, w := range due[0].Notes {
						feed.Hand(listen.Note{At: feed.Now(), On: true, MIDI: w.MIDI, Confidence: 1, Channel: 1})
					}
					due = due[1:]
				}
			})
			synctest.Wait()
			require.Len(t, passes, 3)
			for i, sc := range passes {
				assert.Equal(t, sc.Expected, sc.Matched, "pass %d: %v", i+1, sc.Report())
				assert.LessOrEqual(t, sc.Extra, 0, "pass %d", i+1)
			}
			assert.True(t, followed)
			require.Len(t, told, 1)
			assert.Equal(t, "wire", told[0].port)
			assert.Less(t, passes[2].Fit.Offset.Abs(), 10*ms)
		})
	}
}
