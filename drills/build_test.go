package drills_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/harmony"
)

// A shape without the chord's root says so, and who does not know is told the way. Places
// and degrees are counted by hand.
func TestBuildTellsTheWay(t *testing.T) {
	chord := func(symbol string) harmony.Chord {
		c, err := harmony.ParseChord(symbol)
		require.NoError(t, err)
		return c
	}
	neck, hand := fretboard.StandardNeck(), fretboard.DefaultHand()
	q := drills.Build{Chord: chord("D7"), Bass: chord("D7").Degrees[3], String: 5, Neck: neck, Hand: hand}
	v := q.Judge(drills.Typed(memory.Lines, "x-3-4-2-1-x"))
	assert.Equal(t, drills.Hit, v.Result)
	assert.Contains(t, v.Reason, "It sounds b7 3 5 b7 of D7, without its root.", "C F# A C")

	v = q.Judge(drills.Typed(memory.Lines, q.Right()[0]))
	assert.NotContains(t, v.Reason, "without")
	steps := q.Steps()
	assert.Equal(t, "The b7 of D7 is the note C: on string 5 that is fret 3.", steps[0])
	assert.Contains(t, steps[len(steps)-1], q.Right()[0])
}

// An answer that was helped with is never slow, and its time is not the player's pace.
func TestHelpIsNotSlow(t *testing.T) {
	s := start(t, plan(t, "find"))
	at := noon
	for i := range 12 {
		q, err := s.Next(at)
		require.NoError(t, err)
		r := drills.Typed(memory.Lines, q.Right()[0])
		took := 2 * time.Second
		if r.Led = i < 6; r.Led {
			took = 50 * time.Second
		}
		at = at.Add(took)
		_, a := s.Answer(r, at)
		assert.Equal(t, memory.Sure, a.Verdict, "answer %d", i)
		s.Kept(nil)
	}
	q, err := s.Next(at)
	require.NoError(t, err)
	_, a := s.Answer(drills.Typed(memory.Lines, q.Right()[0]), at.Add(20*time.Second))
	assert.Equal(t, memory.Slow, a.Verdict, "against two seconds")
}

// A wrong shape is shown with the right one: what both have is right, the rest of the wrong
// one wrong. The grip is the standard one of the design (maj7 from
// string 6, common practice, no source).
func TestAWrongShapeStandsBesideTheRightOne(t *testing.T) {
	c, err := harmony.ParseChord("Gmaj7")
	require.NoError(t, err)
	q := drills.Build{Chord: c, Bass: harmony.Degree{Number: 1}, String: 6, Neck: fretboard.StandardNeck(), Hand: fretboard.DefaultHand()}
	v := q.Judge(drills.Typed(memory.Typed, "3-x-3-4-3-x"))
	require.Equal(t, drills.Miss, v.Result)
	roles := map[fretboard.Place]fretboard.Role{}
	for _, m := range v.Marks {
		roles[m.Place] = m.Role
		assert.NotEmpty(t, m.Text)
	}
	assert.Equal(t, map[fretboard.Place]fretboard.Role{
		{String: 6, Fret: 3}: fretboard.Right, {String: 4, Fret: 4}: fretboard.Right, {String: 3, Fret: 4}: fretboard.Right, {String: 2, Fret: 3}: fretboard.Right,
		{String: 4, Fret: 3}: fretboard.Wrong,
	}, roles, v.Reason)
}
