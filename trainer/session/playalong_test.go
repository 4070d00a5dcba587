package session

import (
	"fmt"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/fretboard/playing"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/trainer/listen"
	"footfall/trainer/sound"
)

const two = `tune Test
key C
meter 2/4
tempo 200

[A]
chords | Dm7 | G7 |
bass   | 1 b3 | 1 \5 |
[B]
chords | Cmaj7 |
bass   | 1 3 |
`

// ear is an input whose notes a test plays.
type ear struct {
	*listen.Feed
}

func (ear) Close() error { return nil }

func open(t testing.TB, text, plan string, with func(*Passage, *Sounding)) *PlayAlong {
	t.Helper()
	tn, faults := tune.Read(text)
	require.Empty(t, faults)
	d := &Desk{Neck: fretboard.StandardNeck(), Hand: fretboard.DefaultHand(), Now: time.Now, Sounding: Sounding{
		Sound: sound.Options{Mute: true}, CountIn: 1, Mix: sound.DefaultMix, Score: take.DefaultSettings(),
	}}
	p := Passage{Tune: Tune{Name: "test", Tune: tn}, Ramp: plan, Layer: "bass"}
	if with != nil {
		with(&p, &d.Sounding)
	}
	s, err := d.PlayAlong(p)
	require.NoError(t, err)
	t.Cleanup(s.Close)
	return s
}

// listening makes an input hear a play-along.
func listening(in listen.Input) func(time.Time) (listen.Input, error) {
	return func(time.Time) (listen.Input, error) { return in, nil }
}

// hear reads what a play-along tells until it is over, and lets do see each event, and
// nil every two milliseconds.
func hear(t *testing.T, s *PlayAlong, do func(Event)) {
	t.Helper()
	require.NoError(t, s.Play())
	deadline := time.After(60 * time.Second)
	ticker := time.NewTicker(2 * time.Millisecond)
	defer ticker.Stop()
	for {
		select {
		case e := <-s.Events():
			do(e)
			if _, over := e.(Over); over {
				return
			}
		case <-ticker.C:
			do(nil)
		case <-deadline:
			t.Fatal("the play-along does not end")
		}
	}
}

// judging says yes to each pass.
func judging(s *PlayAlong) func(Event) {
	return func(e Event) {
		if p, ok := e.(Pass); ok && p.Clean == nil {
			s.Judge(true)
		}
	}
}

func TestPassesFollowTheRamp(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := open(t, two, "260:300+20,up", func(p *Passage, _ *Sounding) { p.Passes, p.Section = 4, "B" })
		hear(t, s, judging(s))
		var tempos []float64
		for i, r := range s.Results() {
			tempos = append(tempos, r.Tempo)
			assert.True(t, r.Judged && r.Clean)
			assert.Equal(t, i+1, r.Pass)
		}
		assert.Equal(t, []float64{260, 280, 300, 300}, tempos)
		// Two beats at 260 a minute.
		assert.InDelta(t, 2*60.0/260, s.Results()[0].Length.Seconds(), 0.001)
	})
}

// Nobody says whether the passes were clean: the ramp climbs all the same, and the
// end waits for a word on the last.
func TestARampClimbsWithoutAWord(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := open(t, two, "260:300+20,up", func(p *Passage, _ *Sounding) { p.Passes, p.Section = 2, "B" })
		told := 0
		hear(t, s, func(e Event) {
			if p, ok := e.(Pass); ok {
				told++
				assert.Nil(t, p.Clean)
				assert.Equal(t, told == 2, p.Last)
				if told == 2 {
					s.NoWord()
				}
			}
		})
		require.Len(t, s.Results(), 2)
		assert.Equal(t, 280.0, s.Results()[1].Tempo)
		assert.False(t, s.Results()[0].Judged || s.Results()[1].Judged)
	})
}

func TestALadderWaitsForTheJudgement(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := open(t, two, "240:300+20,ladder2", func(p *Passage, _ *Sounding) { p.Passes = 4; p.Section = "B" })
		verdicts := []bool{true, true, false, true}
		hear(t, s, func(e Event) {
			if p, ok := e.(Pass); ok {
				s.Judge(verdicts[p.N-1])
			}
		})
		var tempos []float64
		for _, r := range s.Results() {
			tempos = append(tempos, r.Tempo)
		}
		assert.Equal(t, []float64{240, 240, 260, 240}, tempos, "two clean passes go up a step, one that failed goes down")
	})
}

// play returns a do for hear that plays each bass note late, except those that
// leave says, and hands the session what is heard.
func play(s *PlayAlong, in ear, late time.Duration, leave func(pass int, e *fretboard.Event) bool) func(Event) {
	type key struct{ pass, event int }
	done := map[key]bool{}
	return func(Event) {
		now := s.Now()
		if now.State != sound.Playing {
			return
		}
		placed := harmony.Place(now.Bar, now.Start)
		events := s.Arrangement().Events
		for i := range events {
			e := &events[i]
			if e.Kind != fretboard.BassEvent || e.At.Bar != now.Point.Bar || done[key{now.Pass, i}] {
				continue
			}
			due := placed.Beat(e.At.Beat, e.At.Off).Duration() + late
			if now.At.Duration() < due {
				continue
			}
			done[key{now.Pass, i}] = true
			if leave != nil && leave(now.Pass, e) {
				continue
			}
			// Stamp it where it was due, whenever the loop came round.
			at := time.Now().Add(due - now.At.Duration())
			in.Hand(listen.Note{At: at.Sub(s.epoch), On: true, MIDI: e.Note.MIDI(), Velocity: 0.8, Confidence: 1})
		}
	}
}

func TestPassesAreScoredAsPlayed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		in := ear{listen.NewFeed("test", listen.Options{}, "waiting")}
		in.Found(0, "hearing")
		var told []Pass
		s := open(t, two, "300", func(p *Passage, g *Sounding) { p.Passes, g.Input = 2, listening(in) })
		player := play(s, in, 20*time.Millisecond, func(pass int, e *fretboard.Event) bool {
			return e.At.Bar == 2 && e.At.Beat == 2 && pass == 2
		})
		hear(t, s, func(e Event) {
			if p, ok := e.(Pass); ok {
				told = append(told, p)
			}
			player(e)
		})
		require.Len(t, told, 2)
		first, second := told[0].Result, told[1].Result
		assert.Nil(t, s.Results()[0].Score, "only the last pass's notes are held")
		assert.Equal(t, second, s.Results()[1])
		assert.Equal(t, 6, first.Score.Matched)
		assert.InDelta(t, 20, float64(first.Score.Lead().Microseconds())/1000, 3)
		assert.True(t, first.Clean && *told[0].Clean, first.Why)
		assert.Equal(t, 5, second.Score.Matched)
		assert.Equal(t, 1, second.Score.Missed)
		assert.False(t, second.Clean || *told[1].Clean)
		assert.Equal(t, 300.0, second.Tempo)
	})
}

func TestTempoAndLoopChangeWhileItRuns(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := open(t, two, "300", func(p *Passage, _ *Sounding) { p.Passes = 3 })
		changed, judge := false, judging(s)
		hear(t, s, func(e Event) {
			judge(e)
			if b, ok := e.(Beat); ok && !changed && b.Now.State == sound.Playing && b.Now.Point.Bar == 2 {
				changed = true
				s.SetTempo(240)
				s.SetLoop(take.Bars{First: 1, Last: 2})
			}
		})
		last := s.Results()[len(s.Results())-1]
		assert.Equal(t, 240.0, last.Tempo)
		assert.InDelta(t, 1.0, last.Length.Seconds(), 0.001, "four beats at 240")
	})
}

// Each beat is told once, in order, as it is heard.
func TestEachBeatIsTold(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := open(t, two, "300", func(p *Passage, _ *Sounding) { p.Passes, p.Section = 1, "B" })
		var beats []string
		judge := judging(s)
		hear(t, s, func(e Event) {
			judge(e)
			if b, ok := e.(Beat); ok && !b.Off && b.Now.State >= sound.Counting && b.Now.State != sound.Finished {
				beats = append(beats, fmt.Sprintf("%v %d.%d", b.Now.State == sound.Playing, b.Now.Point.Bar, b.Now.Beat))
			}
		})
		require.NotEmpty(t, beats)
		assert.Equal(t, []string{"false 0.1", "false 0.2", "true 3.1", "true 3.2"}, beats)
	})
}

// A passage ends after the pass in which its time is over.
func TestThePassEndsInWhichTheTimeIsOver(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := open(t, two, "300", func(p *Passage, _ *Sounding) { p.Section, p.Length = "B", 500*time.Millisecond })
		hear(t, s, judging(s))
		n := len(s.Results())
		require.Positive(t, n)
		assert.GreaterOrEqual(t, s.Results()[n-1].At.Add(s.Results()[n-1].Length).Sub(s.began), 490*time.Millisecond)
		if n > 1 {
			assert.Less(t, s.Results()[n-2].At.Add(s.Results()[n-2].Length).Sub(s.began), 500*time.Millisecond)
		}
	})
}

func TestASectionThatIsNotThere(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		tn, _ := tune.Read(two)
		d := &Desk{Neck: fretboard.StandardNeck(), Hand: fretboard.DefaultHand(), Now: time.Now}
		_, err := d.PlayAlong(Passage{Tune: Tune{Tune: tn}, Section: "X"})
		assert.ErrorContains(t, err, `no section "X"`)
	})
}

// Source of the fall: Friberg and Sundström 2002, as harmony.FallingRatio has it.
func TestSwingFallsWithTheTempoWhereItIsAsked(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		swung := strings.Replace(two, "tempo 200\n", "tempo 200\nswing 2:1\n", 1)
		for _, c := range []struct {
			text    string
			falling bool
			want    float64
		}{{swung, false, 2}, {swung, true, harmony.FallingRatio(200)}, {two, true, 1}} {
			s := open(t, c.text, "200", func(_ *Passage, g *Sounding) { g.Falling = c.falling })
			score, err := s.music()
			require.NoError(t, err)
			bar := harmony.Bar{Meter: s.passage.Tune.Tune.Meter, Tempo: score.Tempo, Swing: score.Swing}
			off := float64(bar.OffPart()) / harmony.Parts
			assert.InDelta(t, c.want, off/(1-off), 0.01)
		}
	})
}

// room is an ear that hears the click too.
type room struct {
	ear
	click func(time.Duration)
}

func (r room) Click(at time.Duration) { r.click(at) }

// The ear is told of each click before it sounds, a beat apart.
func TestTheEarIsWarnedOfClicks(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		in := ear{listen.NewFeed("test", listen.Options{}, "waiting")}
		in.Found(0, "hearing")
		var mu sync.Mutex
		var clicks []time.Duration
		s := open(t, two, "300", func(p *Passage, g *Sounding) {
			p.Passes, p.Section = 1, "B"
			g.Time.Background = playing.ClickSound
			g.Input = listening(room{in, func(at time.Duration) {
				mu.Lock()
				defer mu.Unlock()
				clicks = append(clicks, at)
			}})
		})
		s.mu.Lock()
		s.sounding.Sound.Mute = false // as with a device: the transport is the same
		s.mu.Unlock()
		late := 0
		hear(t, s, func(Event) {
			mu.Lock()
			defer mu.Unlock()
			for _, at := range clicks[late:] {
				assert.Greater(t, at, time.Since(s.epoch)-60*time.Millisecond)
			}
			late = len(clicks)
		})
		require.GreaterOrEqual(t, len(clicks), 4, "a bar counted in and a bar played")
		for i := 1; i < len(clicks); i++ {
			assert.InDelta(t, 0.2, (clicks[i] - clicks[i-1]).Seconds(), 0.02)
		}
	})
}
