package hearing_test

import (
	"math"
	"math/rand/v2"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/trainer/hearing"
	"footfall/trainer/history"
	"footfall/trainer/listen"
	"footfall/trainer/session"
)

// drilled is a drill that is answered by what a microphone hears.
type drilled struct {
	t      *testing.T
	began  time.Time
	heard  time.Duration // so far
	feed   *listen.Feed
	ear    *listen.Ear
	s      *session.Session
	asked  int // the note that is asked for
	since  time.Duration
	right  int
	missed []time.Duration
}

func newDrilled(t *testing.T) *drilled {
	d := &drilled{t: t, began: time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)}
	now := func() time.Time { return d.began.Add(d.heard) }
	k, err := history.Keep(filepath.Join(t.TempDir(), "history.db"), now, nil)
	require.NoError(t, err)
	t.Cleanup(func() { k.Close() })
	desk := &session.Desk{Neck: fretboard.StandardNeck(), Hand: fretboard.DefaultHand(), History: k, Now: now, Seed: func() uint64 { return 7 }}
	d.feed = listen.NewFeed("microphone", listen.Options{Now: func() time.Duration { return d.heard }}, "")
	d.feed.Found(0, "")
	d.ear, err = listen.NewEar(d.feed, nil)
	require.NoError(t, err)
	d.s, err = desk.Drill(session.Choice{Drill: "find", Chords: "first", Questions: 100}, false)
	require.NoError(t, err)
	d.see(d.s.Begin())
	return d
}

// see takes in what the session tells.
func (d *drilled) see(told []session.Told) {
	for _, e := range told {
		switch e := e.Event.(type) {
		case session.Question:
			d.asked, d.since = fretboard.StandardNeck().MIDI(e.Ask.Place), d.heard
		case session.Judged:
			if e.Answer.Verdict == memory.Missed {
				d.missed = append(d.missed, d.heard)
			} else {
				d.right++
			}
		}
	}
}

// settle is how long after a question the faces leave a note to the one before.
const settle = 300 * time.Millisecond

// listenTo hears sound at a rate, and answers by it as a face does.
func (d *drilled) listenTo(samples []float32, rate int) {
	step := float64(rate) / listen.EarRate
	block := make([]float32, 0, 1024)
	for i := 0; float64(i)*step < float64(len(samples)-1); i++ {
		p := float64(i) * step
		k, f := int(p), float32(p-math.Floor(p))
		if block = append(block, samples[k]+f*(samples[k+1]-samples[k])); len(block) < cap(block) {
			continue
		}
		d.heard += time.Duration(len(block)) * time.Second / listen.EarRate
		d.ear.Hear(block, d.heard)
		block = block[:0]
		for more := true; more; {
			select {
			case n := <-d.feed.Notes():
				if (n.On || n.Rang) && !n.Unsure() && (n.Rang || d.heard-d.since >= settle) {
					before := len(d.missed)
					if d.see(d.s.Do(session.Answer{Reply: session.ReplyOf(n)})); len(d.missed) > before {
						d.t.Logf("at %v a wrong answer: %+v", d.heard, n)
					}
				}
			default:
				more = false
			}
		}
	}
}

// A minute each of speech, knocks, typing and a hand on the strings, with a right note
// plucked every few seconds: nothing but the notes answers, and each of them does but now
// and then one.
func TestADrillInANoisyRoom(t *testing.T) {
	if testing.Short() {
		t.Skip("analyses minutes of sound")
	}
	for _, kind := range []string{"speech", "knocks", "typing", "hand"} {
		t.Run(kind, func(t *testing.T) {
			r := rand.New(rand.NewPCG(19, 5))
			d := newDrilled(t)
			plucked := 0
			for d.heard < time.Minute {
				noise := hearing.Noise(t, r, kind)
				for len(noise) > 0 {
					n := min(len(noise), hearing.BankRate*5/2)
					d.listenTo(noise[:n], hearing.BankRate)
					noise = noise[n:]
					asked, before := d.asked, d.right
					d.listenTo(hearing.Plucked(asked, r), hearing.BankRate)
					if plucked++; d.right == before {
						t.Logf("%d not heard before %v", asked, d.heard)
					}
				}
			}
			t.Logf("%d of %d right notes answered, %d wrong answers kept", d.right, plucked, len(d.missed))
			assert.Empty(t, d.missed, "wrong answers kept")
			assert.GreaterOrEqual(t, d.right, plucked*9/10)
		})
	}
}
