package fretboard

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
)

// The first choice at each hit is the arrangement's own; each other one costs what
// the whole path costs with it in the place of that, priced from one end to the other.
func TestChoicesArePricedAsThePathPricesThem(t *testing.T) {
	tn, ok := content.Tune("lantern-street")
	require.True(t, ok)
	a, err := Arrange(tn, StandardNeck(), DefaultHand(), BassHalves)
	require.NoError(t, err)
	p := a.plan
	require.InDelta(t, a.Cost, p.cost(p.path), 1e-6)
	more := 0
	for i := range a.Events {
		if a.Events[i].Kind != ShapeEvent {
			continue
		}
		all := a.Choices(i)
		require.Equal(t, a.Events[i].Frets, all[0].Frets)
		require.Zero(t, all[0].More)
		for k, c := range all[1:] {
			m := p.moment[i]
			least := math.Inf(1)
			for j := range p.layers[m] {
				g := &p.layers[m][j]
				if FormatFrets(g.shape.Frets) != FormatFrets(c.Frets) {
					continue
				}
				own := p.path[m]
				p.path[m] = g
				least = min(least, p.cost(p.path)-a.Cost)
				p.path[m] = own
			}
			if math.IsInf(least, 1) { // of the search, where the path was offered fewer than three
				continue
			}
			require.InDelta(t, least, c.More, 1e-6)
			if k > 0 {
				require.GreaterOrEqual(t, c.More, all[k].More)
			}
			more++
		}
	}
	assert.Greater(t, more, 250)
}

// A shape that is given stays in every school and goes along with its bass note in
// every key, where it has room and the hand can hold it: not the second voice four
// frets up over open strings, in E, where its own comes.
func TestAGivenShapeFollowsKeyAndSchool(t *testing.T) {
	tn := readTune(t, "tune Test\nkey C\nmeter 4/4\ntempo 100\n\n[A]\nchords | Cm7 | G7 |\nbass | 1 b3 5 1 | \\1 3 5 1 |\nhits | on . . . | on . . . |\nshapes | 8-x-8-8-11-x . . . | * . . . |\n")
	for up := range 12 {
		for school := Mixed; school <= Drop3s; school++ {
			a, _, err := ArrangeInKey(tn, tn.Key.Up(up), StandardNeck(), DefaultHand(), BassHalves, InSchool(school))
			require.NoError(t, err, "up %d, %s", up, school)
			for _, e := range a.Events {
				if e.Kind != ShapeEvent || e.At.Bar != 1 {
					continue
				}
				fret := (8 + up) % 12
				if fret == 0 {
					assert.NotEqual(t, "0-x-0-0-3-x", FormatFrets(e.Frets))
				} else {
					assert.Equal(t, []int{fret, muted, fret, fret, fret + 3, muted}, e.Frets, "up %d, %s", up, school)
				}
			}
		}
	}
}
