package fretboard

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/harmony/tune"
)

// The hand stands over the fret under its first finger, though the others lie closer than a
// fret each (common practice, no source): 6-x-5-6-6-x with the first finger at 5.
func TestTheHandStandsWhereItsFirstFingerIs(t *testing.T) {
	bass := Event{Kind: BassEvent, Place: Place{String: 6, Fret: 6}, Finger: 2}
	for _, c := range []struct {
		frets, fingers []int
		at             int
	}{
		{[]int{6, -1, 5, 6, 6, -1}, []int{2, 0, 1, 3, 4, 0}, 5},
		{[]int{3, -1, 3, 4, -1, -1}, []int{1, 0, 2, 3, 0, 0}, 3},
		{[]int{5, -1, 6, 6, -1, -1}, []int{2, 0, 3, 4, 0, 0}, 4},
		{[]int{0, -1, 0, -1, -1, -1}, []int{0, 0, 0, 0, 0, 0}, 5}, // that of the bass note
	} {
		shape := Event{Kind: ShapeEvent, Frets: c.frets, Fingers: c.fingers}
		for _, now := range [][]*Event{{&bass, &shape}, {&shape, &bass}} {
			at, to := (&Arrangement{}).HandAt(Near{Now: now, Shape: -1})
			assert.Equal(t, c.at, at, c.frets)
			assert.Zero(t, to, "there is no next bass note")
		}
	}
}

// Where the hand goes next is where it is then, around the loop and back.
func TestTheHandGoesWhereItIsNext(t *testing.T) {
	tn, ok := content.Tune("tin-kettle-blues")
	require.True(t, ok)
	a, err := Arrange(tn, StandardNeck(), DefaultHand(), BassHalves)
	require.NoError(t, err)
	last := len(tn.Unroll())
	for i := range a.Events {
		if a.Events[i].Kind != BassEvent {
			continue
		}
		near := a.Around(a.Events[i].When(), 1, last)
		_, to := a.HandAt(near)
		then, _ := a.HandAt(a.Around(near.Bass.When(), 1, last))
		assert.Equal(t, then, to, "after bar %d beat %d", a.Events[i].At.Bar, a.Events[i].At.Beat)
	}
}

// What moved is told by the beats alone at which the frets are others.
func TestMovedListsTheBeatsThatArePlayedElsewhere(t *testing.T) {
	tn := readTune(t, "tune Two Fives\nkey C\nmeter 4/4\ntempo 100\n\n[A]\nchords | Dm7 | G7 |\nbass | 1 . . . | 1 . . . |\nhits | on . on . | on . . . |\n")
	a, err := Arrange(tn, StandardNeck(), DefaultHand(), BassHalves)
	require.NoError(t, err)
	assert.Empty(t, a.Moved(a))
	b, err := Arrange(tn, StandardNeck(), DefaultHand(), BassHalves)
	require.NoError(t, err)
	for i := range b.Events {
		switch e := &b.Events[i]; {
		case e.Kind == ShapeEvent && e.At.Bar == 2:
			e.Frets = []int{3, -1, 3, 4, 3, -1}
			e.Place.Fret++ // both of the beat are told once
		case e.Kind == BassEvent:
			e.Place.Fret++
		}
	}
	assert.Equal(t, []tune.Position{{Bar: 1, Beat: 1}, {Bar: 2, Beat: 1}}, b.Moved(a))
}
