package session

import (
	"path/filepath"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/trainer/clock"
	"footfall/trainer/history"
	"footfall/trainer/sound"
)

// rhythmic is a desk at which rhythms are tapped, unheard.
func rhythmic() *Desk {
	return &Desk{Neck: fretboard.StandardNeck(), Hand: fretboard.DefaultHand(), Now: clock.Now, Seed: func() uint64 { return 1 }, Sounding: Sounding{
		Sound: sound.Options{Mute: true}, CountIn: 1, Mix: sound.DefaultMix, Score: take.DefaultSettings(),
	}}
}

// asked is the item of the question that a session tells, and judged the verdict.
func questionOf(told []Told) (q Question) {
	for _, t := range told {
		if asked, ok := t.Event.(Question); ok {
			q = asked
		}
	}
	return q
}

func judgedOf(t *testing.T, told []Told) Judged {
	for _, e := range told {
		if j, ok := e.Event.(Judged); ok {
			return j
		}
	}
	t.Fatalf("no verdict in %+v", told)
	return Judged{}
}

// charleston begins a sitting whose question is that rhythm, swung, at 160.
func charleston(t *testing.T) (*Session, Question) {
	s, err := rhythmic().Drill(Choice{Drill: "hits", Chords: "first", Questions: 300}, false)
	require.NoError(t, err)
	q := questionOf(s.Begin())
	for q.Item != "hits:4/4 1 2+:swung:160" {
		q = questionOf(s.Do(Answer{Reply: drills.Typed(memory.Lines, q.Right[0])}))
	}
	return s, q
}

// Scripted tappers, through the music from its count-in to its end: what they did is
// told, kept by the way they did it, and asked about again.
func TestTappedThrough(t *testing.T) {
	const beat = 60 * time.Second / 160
	swung, straight := beat*2/3, beat/2
	for _, tt := range []struct {
		what      string
		off, late time.Duration
		leave     int // a hit that is left out, −1 for none
		result    memory.Verdict
		says      string
	}{
		{"exactly", swung, 0, -1, memory.Sure, "All 8 hits, in time; you swing 2 to 1."},
		{"late", swung, 40 * time.Millisecond, -1, memory.Sure, "All 8 hits, 40 ms late; you swing 2 to 1."},
		{"straight", straight, 0, -1, memory.Missed, "All 8 hits, in time. You play it straight; 2 to 1 was asked."},
		{"one short", swung, 0, 5, memory.Slow, "7 of 8 hits, in time; you swing 2 to 1. Bar 3 beat 2+ missing."},
	} {
		synctest.Test(t, func(t *testing.T) {
			s, q := charleston(t)
			require.Equal(t, "1 2+", q.Right[0])
			taps, err := s.Tap()
			require.NoError(t, err)
			start := time.Now()
			for range 3 { // in the count-in it is noodling
				time.Sleep(200 * time.Millisecond)
				taps.Strike(memory.Typed)
			}
			for b := range taps.Beats() { // counts in, then the first bar
				if b.Bar == 1 {
					break
				}
			}
			first := clock.Now().Add(-(taps.player.Now().At.Duration() - taps.start))
			require.InDelta(t, 4*beat.Seconds(), first.Sub(start).Seconds(), 0.2, "a bar is counted in")
			for i := range 8 {
				at := first.Add(time.Duration(i/2) * 4 * beat).Add(tt.late)
				if i%2 == 1 {
					at = at.Add(beat + tt.off)
				}
				if i == tt.leave {
					continue
				}
				time.Sleep(at.Sub(clock.Now()))
				taps.Heard(clock.Now(), 60, false)
				time.Sleep(12 * time.Millisecond)
				taps.Heard(clock.Now(), 64, false) // of the same strum
			}
			for range taps.Beats() {
			}
			j := judgedOf(t, s.Do(Answer{Reply: taps.Reply()}))
			assert.Equal(t, tt.says, j.Why, tt.what)
			assert.Equal(t, tt.result, j.Answer.Verdict, tt.what)
			assert.Equal(t, memory.MIDI, j.Answer.Way)
			assert.Zero(t, j.Answer.Took)
			assert.NotEmpty(t, j.Answer.Given)
			s.Do(Quit{})
			taps.Close()
		})
	}
}

// What an ear hears of the program's own bass is no tap; a strum is one.
func TestTheBassIsNoTap(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, _ := charleston(t)
		taps, err := s.Tap()
		require.NoError(t, err)
		for b := range taps.Beats() {
			if b.Bar == 1 && !b.Off {
				n := taps.score.Bars[0].Notes[b.Beat-1]
				taps.Heard(clock.Now(), n.MIDI, true)
				if b.Beat == 3 {
					taps.Heard(clock.Now().Add(150*time.Millisecond), 0, true)
				}
			}
		}
		r := taps.Reply()
		require.Len(t, r.Taps, 1)
		require.Equal(t, memory.Microphone, r.Way)
		taps.Close()
	})
}

// The end of the sitting ends the music; a question of another kind, or one that has
// been answered, is not tapped.
func TestTapsOfNothing(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := rhythmic()
		s, err := d.Drill(Choice{Drill: "hits", Chords: "first"}, true)
		require.NoError(t, err)
		_, err = s.Tap()
		require.ErrorContains(t, err, "no question waits")
		s.Begin()
		taps, err := s.Tap()
		require.NoError(t, err)
		again, err := s.Tap() // begins anew
		require.NoError(t, err)
		for range taps.Beats() {
		}
		require.Empty(t, taps.Reply().Taps)
		s.Do(Leave{})
		for range again.Beats() {
		}
		other, err := d.Drill(Choice{Drill: "spell", Chords: "first"}, true)
		require.NoError(t, err)
		other.Begin()
		_, err = other.Tap()
		require.ErrorContains(t, err, "not tapped")
		time.Sleep(time.Second)
	})
}

// Rhythms are kept by their keys, and come back when they are due.
func TestRhythmsAreKept(t *testing.T) {
	var since atomic.Int64 // the history asks in goroutines of its own
	now := func() time.Time { return time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC).Add(time.Duration(since.Load())) }
	k, err := history.Keep(filepath.Join(t.TempDir(), "history.db"), now, nil)
	require.NoError(t, err)
	defer k.Close()
	d := rhythmic()
	d.History, d.Now = k, now
	s, err := d.Drill(Choice{Drill: "hits", Chords: "first", Questions: 3}, false)
	require.NoError(t, err)
	q := questionOf(s.Begin())
	for range 3 {
		since.Add(int64(10 * time.Second))
		r := drills.Typed(memory.Lines, q.Right[0])
		r.Final = true
		told := s.Do(Answer{Reply: r})
		require.Equal(t, memory.Sure, judgedOf(t, told).Answer.Verdict, "however long it took")
		if next := questionOf(told); next.ID > 0 {
			q = next
		}
	}
	known, err := d.known()
	require.NoError(t, err)
	require.NotEmpty(t, known)
	for it, st := range known {
		require.Equal(t, memory.Hits, it.Kind)
		require.False(t, st.New())
	}
	first := memory.Item{Kind: memory.Hits, Rhythm: "4/4 1", About: memory.FeelStraight, Tempo: "80"}
	require.Contains(t, known, first)
}
