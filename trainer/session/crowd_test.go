package session

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"

	"footfall/drills/take"
	"footfall/trainer/listen"
	"footfall/trainer/sound"
)

// Notes that come in crowds, faster than a cable carries, are heard together: each is
// told, in order, with the time at which it came, at the next look.
func TestNotesInCrowds(t *testing.T) {
	const crowds, notes = 4, 400 // of 4,000 a second
	synctest.Test(t, func(t *testing.T) {
		feed := listen.NewFeed("crowd", listen.Options{}, "")
		feed.Found(0, "hearing")
		s := open(t, two, "60", func(p *Passage, o *Sounding) { p.Passes, o.Input = 1, listening(ear{feed}) })
		var handed [crowds * notes]time.Time
		go func() {
			for s.Now().State != sound.Playing {
				time.Sleep(time.Millisecond)
			}
			for i := range crowds {
				for j := range notes {
					handed[i*notes+j] = time.Now()
					feed.Hand(listen.Note{At: feed.Now(), On: true, MIDI: 100, Velocity: 0.5, Confidence: 1})
					time.Sleep(250 * time.Microsecond)
				}
				time.Sleep(200 * time.Millisecond)
			}
		}()
		told, moments := 0, map[time.Time]bool{}
		hear(t, s, func(e Event) {
			if m, ok := e.(Marked); ok {
				assert.Equal(t, handed[told], m.Stamped.Round(0))
				assert.LessOrEqual(t, time.Since(m.Stamped), look+time.Millisecond)
				told++
				moments[time.Now()] = true
			}
		})
		assert.Equal(t, crowds*notes, told)
		assert.LessOrEqual(t, len(moments), crowds*44, "those of 100 ms in ten looks, and the first and last one by one")
	})
}

// Of a take that is all noise the history keeps some notes, not a million.
func TestNoiseIsKeptInPart(t *testing.T) {
	sc := &take.Score{Played: make([]take.Played, 5000), Extras: make([]int, 5000)}
	assert.Len(t, takeEvents(sc), extrasKept)
	sc.Extras = sc.Extras[:20]
	assert.Len(t, takeEvents(sc), 20)
}
