package content_test

import (
	"testing"

	"footfall/content"
	"footfall/harmony/tune"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestTunes reads every built-in tune and holds it to what each must have: the
// canonical text, a sentence on what it trains, and bass, hits and words that
// stay on strings 6 and 5 of standard tuning (E2 to C4, fret 15).
func TestTunes(t *testing.T) {
	titles := map[string]bool{}
	for _, name := range content.TuneNames() {
		t.Run(name, func(t *testing.T) {
			text, ok := content.TuneText(name)
			require.True(t, ok)
			tn, faults := tune.Check(text, tune.Within(40, 60))
			require.Empty(t, faults)
			assert.Equal(t, tune.Write(tn), text, "not in canonical form")
			assert.False(t, titles[tn.Title])
			titles[tn.Title] = true
			assert.Regexp(t, `^[A-Z].*\.$`, tn.Trains)
			assert.NotEmpty(t, tn.Strikes(tune.BassHalves))
			words := false
			for _, fb := range tn.Unroll() {
				require.NotNil(t, fb.Bar.Bass)
				words = words || fb.Bar.Words != ""
			}
			for _, s := range tn.Strikes(tune.BassHalves) {
				assert.NotEqual(t, tune.ByLayer, s.By, "hits that are written, or a rhythm by its name")
			}
			assert.True(t, words)
		})
	}
}

// TestLines holds the walking lines in swung four, taken together, to what
// players do: the root on at least 60 % of chord changes, and half of the roots
// or nearly so (40 %) reached by a half step. Both from FiloBass (Riley and
// Dixon, ISMIR 2023, second-hand). These lines teach roots, so there is no upper
// bound.
func TestLines(t *testing.T) {
	changes, roots, half := 0, 0, 0
	for _, name := range content.TuneNames() {
		tn, _ := content.Tune(name)
		if tn.Meter.Upper != 4 || tn.Swing.Straight() {
			continue
		}
		notes, err := tn.Line(tune.Within(40, 60))
		require.NoError(t, err)
		for i := 1; i < len(notes); i++ {
			n := notes[i]
			if notes[i-1].Chord.Symbol == n.Chord.Symbol {
				continue
			}
			changes++
			if n.Degree.Number != 1 {
				continue
			}
			roots++
			if step := n.Pitch.MIDI() - notes[i-1].Pitch.MIDI(); step == 1 || step == -1 {
				half++
			}
		}
	}
	require.Greater(t, changes, 100)
	assert.GreaterOrEqual(t, float64(roots)/float64(changes), 0.6)
	assert.GreaterOrEqual(t, float64(half)/float64(roots), 0.4)
}

// TestKinds has the kinds of tune that a player should find, by what their form
// and chords are.
func TestKinds(t *testing.T) {
	bars := func(name string) (*tune.Tune, int) {
		tn, ok := content.Tune(name)
		require.True(t, ok, name)
		return tn, len(tn.Unroll())
	}
	for name, want := range map[string]struct {
		bars  int
		minor bool
		meter string
	}{
		"tin-kettle-blues":      {12, false, "4/4"},
		"coal-shed-minor":       {12, true, "4/4"},
		"lantern-street":        {32, false, "4/4"},
		"harbour-wall-at-six":   {16, true, "4/4"},
		"third-floor-waltz":     {16, false, "3/4"},
		"five-stairs-down":      {16, true, "5/4"},
		"pump-house-vamp":       {8, true, "4/4"},
		"key-ring":              {16, false, "4/4"},
		"bicycle-bell":          {32, false, "4/4"},
		"nine-wet-umbrellas":    {32, false, "4/4"},
		"cardboard-hat-blues":   {12, false, "4/4"},
		"crooked-ladle-blues":   {12, false, "4/4"},
		"two-gateposts":         {8, true, "4/4"},
		"moss-on-the-stairs":    {16, false, "4/4"},
		"the-gate-unhung":       {24, false, "4/4"},
		"nine-cellar-steps":     {16, true, "4/4"},
		"lamp-in-the-boathouse": {16, false, "4/4"},
		"fog-over-the-gravel":   {16, true, "4/4"},
		"salt-on-the-sill":      {16, false, "4/4"},
		"side-gate":             {16, false, "4/4"},
		"last-coat-on-the-hook": {26, false, "4/4"},
		"eleven-missed-trams":   {32, false, "4/4"},
		"bus-shelter-song":      {16, false, "4/4"},
		"slow-tap-dripping":     {12, false, "12/8"},
		"rope-swing-at-dusk":    {16, true, "6/8"},
		"short-ladder":          {16, false, "2/4"},
		"seven-crates":          {8, true, "7/4"},
	} {
		tn, n := bars(name)
		assert.Equal(t, want.bars, n, name)
		assert.Equal(t, want.minor, tn.Key.Minor, name)
		assert.Equal(t, want.meter, tn.Meter.String(), name)
	}
	vamp, _ := bars("pump-house-vamp")
	for _, fb := range vamp.Unroll() {
		require.Len(t, fb.Bar.Chords, 1)
		assert.Equal(t, "Dm7", fb.Bar.Chords[0].Chord.Symbol)
	}
	_, ok := content.Tune("no-such-tune")
	assert.False(t, ok)
}
