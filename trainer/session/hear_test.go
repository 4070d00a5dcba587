package session

import (
	"context"
	"errors"
	"slices"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/trainer/sound"
)

// The chords of a question are heard, and again when asked for; where nothing can
// be heard they are named.
func TestHearing(t *testing.T) {
	heard := make(chan [][]int, 8)
	var fails atomic.Bool
	h := &Hearing{play: func(_ context.Context, _ sound.Cue, chords [][]int) error {
		broken := fails.Load()
		heard <- chords
		if broken {
			return errors.New("no device")
		}
		return nil
	}}
	d := &Desk{Neck: fretboard.StandardNeck(), Hand: fretboard.DefaultHand(), Now: time.Now, Seed: func() uint64 { return 1 }, Hearing: h}
	s, err := d.Drill(Choice{Drill: "ear", Chords: "Dm7 G7", Questions: 3}, false)
	require.NoError(t, err)
	q := s.Begin()[0].Event.(Question)
	require.Equal(t, q.Ask.Sounds, <-heard)
	require.NotContains(t, q.Prompt, "It sounds")
	s.Again()
	require.Equal(t, q.Ask.Sounds, <-heard)

	fails.Store(true)
	s.Again()
	<-heard
	require.Eventually(t, func() bool { return !d.heard() }, 5*time.Second, time.Millisecond)
	told := s.Do(Answer{Reply: drills.Typed(0, q.Right[0])})
	next := told[len(told)-1].Event.(Question)
	require.Contains(t, next.Prompt, next.Ask.Unheard, "named where it is not heard")
	require.Contains(t, next.Prompt, "It sounds")
	require.Empty(t, heard)
}

// A soft cue tells a right answer from a wrong one, before the answer is heard; none does
// where the player has turned them off, nor for what is only shown or asked.
func TestCues(t *testing.T) {
	type played struct {
		cue    sound.Cue
		chords [][]int
	}
	heard := make(chan played, 8)
	h := &Hearing{cued: true, play: func(_ context.Context, cue sound.Cue, chords [][]int) error {
		heard <- played{cue, chords}
		return nil
	}}
	d := &Desk{Neck: fretboard.StandardNeck(), Hand: fretboard.DefaultHand(), Now: time.Now, Seed: func() uint64 { return 1 }, Hearing: h}
	s, err := d.Drill(Choice{Drill: "ear", Chords: "Dm7 G7", Questions: 4}, true)
	require.NoError(t, err)
	s.Begin()
	require.Equal(t, sound.NoCue, (<-heard).cue, "the question")
	answer := func(right bool) sound.Cue {
		q := s.questions().waiting
		text := q.Right()[0]
		for _, d := range []string{"1", "b3", "5"} {
			if !right && q.Judge(drills.Typed(0, d)).Result == drills.Miss {
				text = d
			}
		}
		s.Do(Answer{Reply: drills.Typed(0, text)})
		p := <-heard
		require.NotEmpty(t, p.chords, "the answer is heard too")
		s.Do(Next{})
		<-heard
		return p.cue
	}
	require.Equal(t, sound.RightCue, answer(true))
	require.Equal(t, sound.WrongCue, answer(false))
	h.Cue(false)
	require.False(t, h.Cued())
	require.Equal(t, sound.NoCue, answer(true))
}

// Where nothing can be heard nothing is asked by ear: a drill by ear says why and what to
// do, and one of every kind asks the others. Who has not tried is asked all the same.
func TestNothingIsAskedByEarWhereNothingIsHeard(t *testing.T) {
	for _, silent := range []bool{true, false} {
		h := &Hearing{play: func(context.Context, sound.Cue, [][]int) error {
			if silent {
				return errors.New("no device")
			}
			return nil
		}}
		d := &Desk{Neck: fretboard.StandardNeck(), Hand: fretboard.DefaultHand(), Now: time.Now, Seed: func() uint64 { return 1 }, Hearing: h}
		_, err := d.Begin(Choice{Drill: "ear", Chords: "first"})
		require.NoError(t, err)
		h.Try()
		_, err = d.Begin(Choice{Drill: "ear", Chords: "first"})
		mixed, fault := d.Begin(Choice{Drill: drills.Mixed, Chords: "first"})
		require.NoError(t, fault)
		byEar := slices.ContainsFunc(mixed.Plan().Kinds, func(k drills.Kind) bool { return k.Name == memory.Ear })
		assert.Equal(t, !silent, byEar)
		if silent {
			require.ErrorContains(t, err, "connect or turn on a sound device")
		} else {
			require.NoError(t, err)
		}
	}
}
