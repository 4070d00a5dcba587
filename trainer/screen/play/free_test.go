package play

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/harmony/walk"
)

// A look back on a free walk sums it up and lists the bars that are not clear, the
// worst first; enter loops one.
func TestFreeReview(t *testing.T) {
	p := newPage(t, "112")
	tn := p.Tune()
	grid := tn.Grid()
	line, err := tn.Line(fretboard.StandardNeck().BassRange())
	require.NoError(t, err)
	at, err := tn.Placed(1, 112)
	require.NoError(t, err)
	var played []take.Played
	for _, n := range line {
		midi := n.Pitch.MIDI()
		switch n.At.Bar {
		case 2:
			continue // silent
		case 6:
			midi++ // a half step off
		}
		beats := (grid.Half(n.At)) / 2
		played = append(played, take.Played{Time: at.Beat(beats+1, n.At.Off).Duration(), MIDI: midi})
	}
	free := take.Free(tn, 112, take.Bars{}, take.Heard{Notes: played}, fretboard.StandardNeck(), take.DefaultSettings())
	require.Equal(t, walk.Silent, free.Bars[1].Verdict)
	require.Equal(t, walk.Lost, free.Bars[5].Verdict)
	p.review = newFreeReview(p.theme, free)
	p.stale = true
	view := p.View()
	require.Contains(t, view, "bars clear")
	require.Contains(t, view, "next: bar 6")
	require.Contains(t, view, "6  lost  ")
	require.NotContains(t, view, "silent", "a bar of rest is no fault")
	require.LessOrEqual(t, len(strings.Split(view, "\n")), p.height)
	press(p, "enter")
	assert.Equal(t, take.Bars{First: 6, Last: 6}, p.along.Bars())
}

// w lets the player walk freely, and w again plays the written line.
func TestWalkingFreely(t *testing.T) {
	p := newPage(t, "112")
	layer := p.along.Arrangement().Layer
	press(p, "w")
	require.True(t, p.along.Free())
	require.Contains(t, p.Status(), "free")
	require.Empty(t, p.verdict(tune.Position{Bar: 1, Beat: 1}))
	press(p, "w")
	require.False(t, p.along.Free())
	require.Equal(t, layer, p.along.Arrangement().Layer)
}
