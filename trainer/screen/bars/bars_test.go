package bars

import (
	"io"
	"strings"
	"testing"

	"github.com/charmbracelet/lipgloss"
	_ "github.com/charmbracelet/x/exp/golden" // the flag -update
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/trainer/screen/theme"
)

// hard has four long chords and split beats in bars of seven.
const hard = `tune Seven
key F#
meter 7/4
tempo 66
[A]
chords | F#m7b5(add11)/C# . B7(b9,#11,b13) . Emaj9(#11)/G# . C#7(#5,#9) | G#m7b5/F# |
bass   | 1,/#4 b3 /b5,\1 b5 1 3,/#4 5 | 1 - . b3 . 5 b7 |
words  | a cue that is longer than the bar is wide, whatever the width may be in columns | |
`

func chart(t *testing.T) (*theme.Theme, Chart) {
	tn, faults := tune.Read(hard)
	require.Empty(t, faults)
	a, err := fretboard.Arrange(tn, fretboard.StandardNeck(), fretboard.DefaultHand(), fretboard.Bass)
	require.NoError(t, err)
	r := lipgloss.NewRenderer(io.Discard)
	r.SetColorProfile(termenv.Ascii)
	return theme.New(r, false), Chart{Arrangement: a, Form: tn.Unroll(), First: 1, Last: 2, Picked: true}
}

// From 40 columns to 250 every line fits, the rows are of one length, and of the
// present bar its chords, degrees and present beat are there, on some lines where
// one is too narrow.
func TestABarIsDrawnWholeAtAnyWidth(t *testing.T) {
	th, c := chart(t)
	for c.Width = 40; c.Width <= 250; c.Width++ {
		seen := ""
		for beat := 1; beat <= 7; beat++ {
			c.At = tune.Position{Bar: 1, Beat: beat}
			rows := Draw(th, c)
			for _, r := range rows {
				assert.LessOrEqual(t, lipgloss.Width(r), c.Width)
				assert.Equal(t, lipgloss.Width(rows[0]), lipgloss.Width(r), "%q", r)
			}
			all := strings.Join(rows, "\n")
			assert.Contains(t, all, "["+string(rune('0'+beat))+"]", "at %d columns", c.Width)
			seen += all
		}
		for _, token := range []string{"↑#4", "b3", "↑b5", "↓1", "b5"} {
			assert.Contains(t, seen, token, "at %d columns", c.Width)
		}
		if c.Width >= 80 {
			for _, chord := range []string{"F#m7b5(add11)/C#", "B7(b9,#11,b13)", "Emaj9(#11)/G#", "C#7(#5,#9)"} {
				assert.Contains(t, seen, chord, "at %d columns", c.Width)
			}
		}
	}
}

// More rows show more lines of bars.
func TestMoreRowsShowMoreBars(t *testing.T) {
	th, c := chart(t)
	c.At, c.Width = tune.Position{Bar: 1, Beat: 1}, 80
	few := Draw(th, c)
	c.Height = 30
	many := Draw(th, c)
	assert.NotContains(t, strings.Join(few, "\n"), "A 2")
	assert.Contains(t, strings.Join(many, "\n"), "A 2")
	assert.LessOrEqual(t, len(many), 30)
}

// Bars of several meters are each as long as they are, and say their meter where
// it turns.
func TestBarsOfSeveralMeters(t *testing.T) {
	tn, faults := tune.Read("tune T\nkey C\nmeter 4/4\ntempo 100\n[A]\nchords | Dm7 |\nbass | 1 /b3 /5 \\b5 |\nhits | on- . . push |\n" +
		"[B]\nmeter 3/4\nchords | G7 |\nbass | \\1 /3 \\1 |\n[C]\nmeter 6/8\nchords | C |\nbass | \\5 1 |\n")
	require.Empty(t, faults)
	a, err := fretboard.Arrange(tn, fretboard.StandardNeck(), fretboard.DefaultHand(), fretboard.BassHalves)
	require.NoError(t, err)
	th, c := chart(t)
	c = Chart{Arrangement: a, Form: tn.Unroll(), First: 1, Last: 3, At: tune.Position{Bar: 1, Beat: 1}}
	for c.Width = 40; c.Width <= 200; c.Width++ {
		c.Height = 100
		all := strings.Join(Draw(th, c), "\n")
		for _, part := range []string{"A 1", "B 2  3/4", "C 3  6/8", "●─", "●›"} {
			require.Contains(t, all, part, "at %d columns", c.Width)
		}
	}
}
