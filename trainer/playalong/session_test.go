package playalong

import (
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/ramp"
	"footfall/drills/take"
	"footfall/fretboard"
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

func open(t *testing.T, text, plan string, with func(*Choice, *Gear)) *Session {
	t.Helper()
	tn, faults := tune.Read(text)
	require.Empty(t, faults)
	r, err := ramp.Parse(plan)
	require.NoError(t, err)
	c := Choice{Tune: tn, Neck: fretboard.StandardNeck(), Hand: fretboard.DefaultHand(), Ramp: r.Start(), CountIn: 1, Mix: sound.DefaultMix}
	g := Gear{Sound: sound.Options{Mute: true}, Began: time.Now(), Score: take.DefaultSettings(), Now: time.Now}
	if with != nil {
		with(&c, &g)
	}
	s, err := Open(c, g)
	require.NoError(t, err)
	t.Cleanup(s.Close)
	return s
}

// run polls until the session is over, playing what do says at each moment.
func run(t *testing.T, s *Session, do func()) {
	t.Helper()
	require.NoError(t, s.Play())
	for end := time.Now().Add(20 * time.Second); !s.Over(); {
		require.True(t, time.Now().Before(end), "the session does not end")
		s.Poll()
		if do != nil {
			do()
		}
		time.Sleep(2 * time.Millisecond)
	}
}

func TestPassesFollowTheRamp(t *testing.T) {
	t.Parallel()
	var mu sync.Mutex
	var kept []Result
	s := open(t, two, "260:300+20,up", func(c *Choice, g *Gear) {
		c.Passes, c.Section = 4, "B"
		g.Keep = func(r Result) error {
			mu.Lock()
			defer mu.Unlock()
			kept = append(kept, r)
			return nil
		}
	})
	run(t, s, func() { s.Judge(true) })
	var tempos []float64
	for _, r := range s.Results() {
		tempos = append(tempos, r.Tempo)
	}
	assert.Equal(t, []float64{260, 280, 300, 300}, tempos)
	require.Len(t, kept, 8, "each pass at its end, and when it is judged")
	// Two beats at 260 a minute.
	assert.InDelta(t, 2*60.0/260, kept[0].Length.Seconds(), 0.001)
}

func TestALadderWaitsForTheJudgement(t *testing.T) {
	t.Parallel()
	s := open(t, two, "240:300+20,ladder2", func(c *Choice, _ *Gear) { c.Passes = 4; c.Section = "B" })
	verdicts := []bool{true, true, false, true}
	run(t, s, func() {
		if s.Judging() {
			s.Judge(verdicts[len(s.Results())-1])
		}
	})
	var tempos []float64
	for _, r := range s.Results() {
		tempos = append(tempos, r.Tempo)
	}
	assert.Equal(t, []float64{240, 240, 260, 240}, tempos, "two clean passes go up a step, one that failed goes down")
}

// play returns a do for run that plays each bass note late, except those that
// leave says, and hands the session what is heard.
func play(s *Session, in ear, began time.Time, late time.Duration, leave func(pass int, e *fretboard.Event) bool) func() {
	type key struct{ pass, event int }
	done := map[key]bool{}
	return func() {
		for len(s.News()) > 0 {
			s.Tell(<-s.News())
		}
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
			in.Hand(listen.Note{At: at.Sub(began), On: true, MIDI: e.Note.MIDI(), Velocity: 0.8, Confidence: 1})
		}
	}
}

func TestPassesAreScoredAsPlayed(t *testing.T) {
	t.Parallel()
	began := time.Now()
	in := ear{listen.NewFeed("test", listen.Options{Now: func() time.Duration { return time.Since(began) }}, "waiting")}
	in.Found(0, "hearing")
	var kept []Result
	s := open(t, two, "300", func(c *Choice, g *Gear) {
		c.Passes = 2
		g.Input, g.Began = in, began
		g.Keep = func(r Result) error { kept = append(kept, r); return nil }
	})
	run(t, s, play(s, in, began, 20*time.Millisecond, func(pass int, e *fretboard.Event) bool {
		return e.At.Bar == 2 && e.At.Beat == 2 && pass == 2
	}))
	require.Len(t, kept, 2)
	first, second := kept[0], kept[1]
	assert.Nil(t, s.Results()[0].Score, "only the last pass's notes are held")
	assert.Equal(t, second, s.Results()[1])
	assert.Equal(t, 6, first.Score.Matched)
	assert.InDelta(t, 20, float64(first.Score.Lead().Microseconds())/1000, 3)
	assert.True(t, first.Clean, first.Why)
	assert.Equal(t, 5, second.Score.Matched)
	assert.Equal(t, 1, second.Score.Missed)
	assert.False(t, second.Clean)
	assert.Equal(t, 300.0, second.Tempo)
}

func TestTempoAndLoopChangeWhileItRuns(t *testing.T) {
	t.Parallel()
	s := open(t, two, "300", func(c *Choice, _ *Gear) { c.Passes = 3 })
	changed := false
	run(t, s, func() {
		if now := s.Now(); !changed && now.State == sound.Playing && now.Point.Bar == 2 {
			changed = true
			s.SetTempo(240)
			s.SetLoop(take.Bars{First: 1, Last: 2})
		}
	})
	last := s.Results()[len(s.Results())-1]
	assert.Equal(t, 240.0, last.Tempo)
	assert.InDelta(t, 1.0, last.Length.Seconds(), 0.001, "four beats at 240")
}

func TestASectionThatIsNotThere(t *testing.T) {
	t.Parallel()
	tn, _ := tune.Read(two)
	r, _ := ramp.Parse("100")
	_, err := Open(Choice{Tune: tn, Neck: fretboard.StandardNeck(), Hand: fretboard.DefaultHand(), Section: "X", Ramp: r.Start()}, Gear{Sound: sound.Options{Mute: true}, Now: time.Now})
	assert.ErrorContains(t, err, `no section "X"`)
}

// Source of the fall: Friberg and Sundström 2002, as harmony.FallingRatio has it.
func TestSwingFallsWithTheTempoWhereItIsAsked(t *testing.T) {
	t.Parallel()
	swung := strings.Replace(two, "tempo 200\n", "tempo 200\nswing 2:1\n", 1)
	for _, c := range []struct {
		text    string
		falling bool
		want    float64
	}{{swung, false, 2}, {swung, true, harmony.FallingRatio(200)}, {two, true, 1}} {
		s := open(t, c.text, "200", func(ch *Choice, _ *Gear) { ch.Falling = c.falling })
		score, err := s.music()
		require.NoError(t, err)
		bar := harmony.Bar{Meter: s.choice.Tune.Meter, Tempo: score.Tempo, Swing: score.Swing}
		off := float64(bar.OffPart()) / harmony.Parts
		assert.InDelta(t, c.want, off/(1-off), 0.01)
	}
}

// room is an ear that hears the click too.
type room struct {
	ear
	clicks *[]time.Duration
}

func (r room) Click(at time.Duration) { *r.clicks = append(*r.clicks, at) }

// The ear is told of each click before it sounds, a beat apart.
func TestTheEarIsWarnedOfClicks(t *testing.T) {
	t.Parallel()
	began := time.Now()
	in := ear{listen.NewFeed("test", listen.Options{Now: func() time.Duration { return time.Since(began) }}, "waiting")}
	in.Found(0, "hearing")
	var clicks []time.Duration
	s := open(t, two, "300", func(c *Choice, g *Gear) {
		c.Passes, c.Section = 1, "B"
		g.Input, g.Began = room{in, &clicks}, began
	})
	s.gear.Sound.Mute = false // as with a device: the transport is the same
	late := 0
	run(t, s, func() {
		for len(s.News()) > 0 {
			s.Tell(<-s.News())
		}
		for _, at := range clicks[late:] {
			assert.Greater(t, at, time.Since(began)-60*time.Millisecond)
		}
		late = len(clicks)
	})
	require.GreaterOrEqual(t, len(clicks), 4, "a bar counted in and a bar played")
	for i := 1; i < len(clicks); i++ {
		assert.InDelta(t, 0.2, (clicks[i] - clicks[i-1]).Seconds(), 0.02)
	}
}
