package drills_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/drills"
	"footfall/drills/memory"
	"footfall/fretboard"
)

// Every question of every kind, on tunes that come with the program and on chords,
// takes text, and judges each text it calls right a Hit; with choices that is one of
// them, and no other choice is a Hit.
func TestWhatIsRightIsJudgedRight(t *testing.T) {
	neck := fretboard.StandardNeck()
	var materials []drills.Material
	for _, name := range []string{"lantern-street", "slow-tap-dripping"} {
		tu, ok := content.Tune(name)
		require.True(t, ok)
		materials = append(materials, drills.OfTune(name, tu, neck))
	}
	chords, err := drills.OfSymbols("odd", "odd", "C6/9 D-7 F#m7b5 Bbdim7 E7#9 Am/C Gsus4", neck)
	require.NoError(t, err)
	for _, m := range append(materials, chords) {
		for _, k := range drills.Kinds {
			if k.Ordered && m.Tune == nil {
				continue
			}
			qs, err := k.Draw(m)
			require.NoError(t, err)
			require.NotEmpty(t, qs, "%s of %s", k.Name, m.Name)
			if testing.Short() && len(qs) > 40 {
				qs = qs[:40]
			}
			for _, q := range qs {
				ask, right := q.Ask(), q.Right()
				require.NotZero(t, ask.Takes&drills.FormText, ask.Prompt)
				require.NotEmpty(t, right, ask.Prompt)
				for _, text := range right {
					assert.Equal(t, drills.Hit, q.Judge(drills.Typed(memory.Typed, text)).Result, "%s %q", ask.Prompt, text)
				}
				for i, c := range ask.Choices {
					hit := q.Judge(drills.Typed(memory.Typed, c)).Result == drills.Hit
					assert.Equal(t, slices.Contains(right, c), hit, "%s %q", ask.Prompt, c)
					assert.False(t, slices.Contains(ask.Choices[:i], c), "%s has %q twice", ask.Prompt, c)
				}
				if len(ask.Choices) > 0 {
					assert.Contains(t, ask.Choices, right[0], ask.Prompt)
				}
			}
		}
	}
}

// A final reply that cannot be read is missed, and the sitting goes on.
func TestFinalReplyIsJudged(t *testing.T) {
	s := start(t, plan(t, "find"))
	_, err := s.Next(noon)
	require.NoError(t, err)
	r := drills.Typed(memory.Lines, "what?")
	r.Final = true
	j, a := s.Answer(r, noon.Add(time.Second))
	assert.Equal(t, drills.Miss, j.Result)
	assert.Equal(t, memory.Missed, a.Verdict)
	assert.Equal(t, "what?", a.Given)
	assert.NotEmpty(t, j.Reason)
	s.Kept(nil)
	_, err = s.Next(noon)
	assert.NoError(t, err)
}

// A gap of five minutes counts whole, a moment more counts as memory.Longest: the
// player was away.
func TestFiveMinutesAreNoAbsence(t *testing.T) {
	for gap, want := range map[time.Duration]time.Duration{
		5 * time.Minute:                    5 * time.Minute,
		5*time.Minute + time.Nanosecond:    memory.Longest,
		5*time.Minute - time.Nanosecond:    5*time.Minute - time.Nanosecond,
		5*time.Minute + memory.Longest + 1: memory.Longest,
	} {
		s := start(t, plan(t, "find"))
		assert.Equal(t, want, s.Elapsed(noon.Add(gap)), "open for %v", gap)
		_, err := s.Next(noon.Add(gap))
		require.NoError(t, err)
		assert.Equal(t, want, s.Elapsed(noon.Add(gap)), "asked after %v", gap)
	}
}
