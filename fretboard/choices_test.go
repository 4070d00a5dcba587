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
