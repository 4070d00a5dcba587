package content_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"footfall/content"
	"footfall/harmony/tune"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestOrder has every tune in the order once, and a stage ask more than the one before
// it, on the mean of its tunes. The measure is common practice, no source.
func TestOrder(t *testing.T) {
	paths, err := filepath.Glob("tunes/*.tune")
	require.NoError(t, err)
	var names []string
	for _, path := range paths {
		names = append(names, strings.TrimSuffix(filepath.Base(path), ".tune"))
	}
	assert.GreaterOrEqual(t, len(names), 24)
	assert.ElementsMatch(t, names, content.TuneNames())

	text, err := os.ReadFile("tunes/order.txt")
	require.NoError(t, err)
	stages := strings.Split(strings.TrimSpace(string(text)), "\n\n")[1:] // the first says what the file is
	require.Len(t, stages, 5)
	var inStages []string
	before := 0.0
	for _, stage := range stages {
		says, tunes, _ := strings.Cut(stage, "\n")
		assert.True(t, strings.HasPrefix(says, "# "), stage)
		asked, listed := 0.0, strings.Fields(tunes)
		for _, name := range listed {
			tn, ok := content.Tune(name)
			require.True(t, ok, name)
			asked += asks(t, tn)
		}
		asked /= float64(len(listed))
		assert.Greater(t, asked, before, says)
		before = asked
		inStages = append(inStages, listed...)
	}
	assert.Equal(t, inStages, content.TuneNames())
}

// asks is what a tune asks of a player at its tempo: bass notes, changes of chord and
// hits a second, and a tenth for each chord there is to know.
func asks(t *testing.T, tn *tune.Tune) float64 {
	t.Helper()
	line, err := tn.Line(tune.Within(40, 60))
	require.NoError(t, err)
	quarters, things := 0.0, len(line)+len(tn.Strikes(tune.BassHalves))
	var chords []string
	before := ""
	for _, fb := range tn.Unroll() {
		quarters += fb.Meter.Quarters()
		for _, c := range fb.Bar.Chords {
			if symbol := c.Chord.Symbol; symbol != before {
				things++
				before = symbol
				if !slices.Contains(chords, symbol) {
					chords = append(chords, symbol)
				}
			}
		}
	}
	return float64(things)*tn.Tempo/60/quarters + float64(len(chords))/10
}
