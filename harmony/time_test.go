package harmony

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestGridOfBarsThatDiffer(t *testing.T) {
	meters := []Meter{{Upper: 4, Lower: 4}, {Upper: 3, Lower: 4}, {Upper: 6, Lower: 8}, {Upper: 7, Lower: 4}}
	g := NewGrid(meters)
	half := 0
	for bar, m := range meters {
		assert.Equal(t, half, g.Start(bar+1))
		for beat := range m.Beats() {
			for _, off := range []bool{false, true} {
				at := Position{Bar: bar + 1, Beat: beat + 1, Off: off}
				require.Equal(t, half, g.Half(at))
				require.Equal(t, at, g.At(half))
				half++
			}
		}
	}
	assert.Equal(t, half, g.Total())
}

func TestMeters(t *testing.T) {
	for text, want := range map[string]struct {
		beats, most, middle int
		quarters            float64
	}{
		"2/4": {2, 4, 2, 2}, "3/4": {3, 6, 2, 3}, "4/4": {4, 8, 3, 4}, "5/4": {5, 10, 3, 5}, "7/4": {7, 14, 4, 7},
		"6/8": {2, 6, 2, 3}, "9/8": {3, 9, 2, 4.5}, "12/8": {4, 12, 3, 6},
	} {
		m, ok := ParseMeter(text)
		require.True(t, ok, text)
		assert.Equal(t, text, m.String())
		assert.Equal(t, want.beats, m.Beats(), text)
		assert.Equal(t, 2*want.beats, m.Halves(), text)
		assert.Equal(t, want.most, m.MostChords(), text)
		assert.Equal(t, want.middle, m.Middle(), text)
		assert.Equal(t, want.quarters, m.Quarters(), text)
	}
	for _, text := range []string{"", "1/4", "8/4", "3/8", "15/8", "4/2", "4/4 "} {
		_, ok := ParseMeter(text)
		assert.False(t, ok, text)
	}
	assert.Equal(t, "2:1", Ratio{Long: 2, Short: 1}.String())
}
