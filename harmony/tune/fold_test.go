package tune_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/harmony/tune"
)

// strings65 are strings 6 and 5 to fret 15.
var strings65 = tune.Range{Span: tune.Span{Low: low, High: high}, Strings: map[int]tune.Span{6: {Low: 40, High: 55}, 5: {Low: 45, High: 60}}}

// The fix of a row that leaves the strings makes the whole row right, in every
// pass of the form, and is all that has to be put in.
func TestFoldMakesTheWholeRowRight(t *testing.T) {
	for _, text := range []string{
		lantern,
		head("C", "4/4") + "form A A B A\n\n[A]\nchords | C | F |\nbass | 1 /3 /5 /1 | /1 /3 /5 /1 |\n\n[B]\nchords | G7 |\nbass | /1 /3 /5 /1 |\n",
		head("E", "4/4") + "[A]\nchords | E7 | A7 | E7 |\nbass | 1 \\7 \\6 \\5 | \\1 /3 /5 /1 | \\1 \\b7 \\5 \\1 |\n",
	} {
		_, faults := tune.Check(text, strings65)
		require.Len(t, faults, 1)
		require.NotEmpty(t, faults[0].Fix)
		fixed := text
		section := ""
		for _, line := range strings.Split(strings.TrimSpace(faults[0].Fix), "\n") {
			if strings.HasPrefix(line, "[") {
				section = line
				continue
			}
			before, after, ok := strings.Cut(fixed, section+"\n")
			require.True(t, ok)
			at := strings.Index(after, "bass")
			end := at + strings.Index(after[at:], "\n")
			fixed = before + section + "\n" + after[:at] + line + after[end:]
		}
		_, faults = tune.Check(fixed, strings65)
		assert.Empty(t, faults, fixed)
	}
	// Nothing is to be folded where the line fits, and nothing can be where no
	// octave does.
	tn := mustRead(t, head("F", "4/4")+"[A]\nchords | F |\nbass | 1 /3 /5 \\3 |\n")
	same, rows, ok := tn.Fold(strings65)
	require.True(t, ok)
	require.Empty(t, rows)
	require.Equal(t, tune.Write(tn), tune.Write(same))
	_, _, ok = tn.Fold(tune.Within(low, low+3))
	require.False(t, ok)
}

// A line is folded by phrase: it turns where a bar begins, and by no leap of a
// seventh or more that was not there.
func TestFoldByPhrase(t *testing.T) {
	tn := mustRead(t, head("C", "4/4")+"[A]\nchords | C | F | G7 | C |\nbass | 1 /3 /5 /6 | /1 /3 \\1 \\6 | \\5 /1 /2 /3 | /1 \\5 \\3 \\1 |\n")
	_, err := tn.Line(strings65)
	var e *tune.LineError
	require.True(t, errors.As(err, &e))
	for i, n := range e.Fits {
		if n.Direction != e.Written[i] {
			assert.Equal(t, 1, n.At.Beat, "the line turns at %v", n.At)
		}
		if i > 0 {
			by := n.Pitch.MIDI() - e.Fits[i-1].Pitch.MIDI()
			assert.True(t, by > -10 && by < 10, "a leap of %d at %v", by, n.At)
		}
	}
}

// No built-in line gets a new leap of a seventh or more in any key, and the fix of
// each row that leaves the strings there makes the whole of it right.
func TestFoldBuiltInTunes(t *testing.T) {
	turned, mended := 0, 0
	for _, name := range content.TuneNames() {
		tn, _ := content.Tune(name)
		own, err := tn.Line(strings65)
		require.NoError(t, err)
		for up := range 12 {
			moved, _, err := tn.Transpose(tn.Key.Up(up), 15)
			require.NoError(t, err)
			_, err = moved.Line(strings65)
			var e *tune.LineError
			if !errors.As(err, &e) {
				continue
			}
			turned++
			for i := 1; i < len(own); i++ {
				was := own[i].Pitch.MIDI() - own[i-1].Pitch.MIDI()
				by := e.Fits[i].Pitch.MIDI() - e.Fits[i-1].Pitch.MIDI()
				assert.True(t, was == by || by > -10 && by < 10, "%s in %s, bar %d: %d becomes %d", name, moved.Key, own[i].At.Bar, was, by)
			}
			if folded, _, ok := moved.Fold(strings65); ok {
				mended++
				line, err := folded.Line(strings65)
				require.NoError(t, err)
				for i := 1; i < len(own); i++ {
					was := own[i].Pitch.MIDI() - own[i-1].Pitch.MIDI()
					by := line[i].Pitch.MIDI() - line[i-1].Pitch.MIDI()
					assert.True(t, was == by || by > -10 && by < 10, "the fix of %s in %s, bar %d: %d becomes %d", name, moved.Key, own[i].At.Bar, was, by)
				}
			}
		}
	}
	t.Logf("%d rows leave the strings in another key, %d of them get a fix", turned, mended)
	assert.Equal(t, turned, mended)
}
