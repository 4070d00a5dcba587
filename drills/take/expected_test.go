package take

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/fretboard"
	"footfall/harmony/tune"
)

// What two bars ask for, worked out by hand: at 120 a minute a beat lasts 500 ms,
// and an offbeat at 2:1 comes 333.3 ms after its beat.
func TestExpect(t *testing.T) {
	tn, faults := tune.Read(`tune   Two Bars
key    C
meter  4/4
tempo  120
swing  2:1

[A]
chords | C6        | G7      |
bass   | 1 - 3,5 . | 1 . . . |
hits   | on . . .  | . . both . |
shapes | x-3-2-2-x-x . . . | . . 3-x-3-4-x-x . |
`)
	require.Empty(t, faults)
	a, err := fretboard.Arrange(tn, fretboard.StandardNeck(), fretboard.DefaultHand(), fretboard.BassHalves)
	require.NoError(t, err)
	start, err := tn.Placed(1, 0)
	require.NoError(t, err)
	type brief struct {
		bar, beat int
		off       bool
		kind      fretboard.Kind
		ms        int64
		notes     []int
		free      []int
	}
	numbers := func(ws []Want) (out []int) {
		for _, w := range ws {
			out = append(out, w.MIDI)
		}
		return out
	}
	list := func(bars Bars) (got []brief) {
		for _, e := range Expect(a, start, bars) {
			assert.Equal(t, 500*ms, e.Beat)
			got = append(got, brief{e.At.Bar, e.At.Beat, e.At.Off, e.Kind, e.Time.Milliseconds(), numbers(e.Notes), numbers(e.Free)})
		}
		return got
	}
	all := list(Bars{})
	// The written shapes of bar 1 beat 1 and bar 2 beat 3, whose bass rests.
	assert.Contains(t, all, brief{1, 1, false, fretboard.ShapeEvent, 0, []int{52, 57}, []int{48}})
	assert.Contains(t, all, brief{2, 3, false, fretboard.ShapeEvent, 3000, []int{43, 53, 59}, nil})
	assert.Contains(t, all, brief{2, 3, true, fretboard.ShapeEvent, 3333, []int{43, 53, 59}, nil})
	var bass []brief
	for _, b := range all {
		if b.kind == fretboard.BassEvent {
			bass = append(bass, b)
		}
	}
	assert.Equal(t, []brief{
		{1, 1, false, fretboard.BassEvent, 0, []int{48}, nil},
		{1, 3, false, fretboard.BassEvent, 1000, []int{52}, nil},
		{1, 3, true, fretboard.BassEvent, 1333, []int{55}, nil},
		{2, 1, false, fretboard.BassEvent, 2000, []int{55}, nil},
	}, bass)
	// Bar 2 alone starts at 0 and keeps its number.
	second := list(Bars{First: 2, Last: 2})
	require.NotEmpty(t, second)
	assert.Equal(t, brief{2, 1, false, fretboard.BassEvent, 0, []int{55}, nil}, second[0])
	for i := 1; i < len(all); i++ {
		assert.LessOrEqual(t, all[i-1].ms, all[i].ms)
	}
	assert.Equal(t, 333333333*time.Nanosecond, Expect(a, start, Bars{First: 2})[len(second)-1].Into)
}
