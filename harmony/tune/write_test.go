package tune_test

import (
	"fmt"
	"strings"
	"testing"

	"footfall/harmony/tune"
	"footfall/harmony/tune/tunetest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// A tune that says only "swing" swings less the faster it gets, and its text says no
// more when it is written. The ends of the fall: Friberg and Sundström 2002.
func TestSwingAlone(t *testing.T) {
	const text = "tune   T\nkey    C\nmeter  4/4\ntempo  100\nswing  # easy\nform   A A\n\n[A]\nchords | C |\n"
	tn, faults := tune.Read(text)
	require.Empty(t, faults)
	assert.True(t, tn.Swing.Falling)
	assert.Equal(t, text, tune.Write(tn))
	for tempo, off := range map[float64]float64{60: 3.5 / 4.5, 300: 0.5} {
		bar, err := tn.Placed(1, tempo)
		require.NoError(t, err)
		assert.InDelta(t, off*60/tempo, bar.Beat(1, true).Duration().Seconds(), 1e-6)
	}
	_, faults = tune.Read(strings.Replace(text, "swing  #", "swing falling  #", 1))
	require.Len(t, faults, 1)
	assert.Contains(t, faults[0].Want, "or nothing for one that falls with the tempo")
}

// A swing ratio may have decimals, as studies of players give it (2.4:1 in jazz
// trios, Cheston et al. 2024); it is kept as a ratio of whole numbers.
func TestSwingWithDecimals(t *testing.T) {
	const text = "tune T\nkey C\nmeter 4/4\ntempo 100\nswing %s\n[A]\nchords | C |\n"
	for written, want := range map[string]string{
		"2.4:1": "12:5", "1.67:1": "167:100", "167:100": "167:100", "4:2": "4:2", "2.0:1.0": "2:1", "99:1": "99:1", "2.5:1.25": "2:1",
	} {
		tn, faults := tune.Read(fmt.Sprintf(text, written))
		require.Empty(t, faults, written)
		assert.Equal(t, want, tn.Swing.String(), written)
		again, faults := tune.Read(tune.Write(tn))
		require.Empty(t, faults, written)
		assert.Equal(t, tn.Swing, again.Swing, written)
	}
	for _, written := range []string{"1:2.4", "2.4", "0:0", "2:0.00", "0.5:1", "99.5:1", "2.:1", "2.444:1", ":1", "-2:1"} {
		_, faults := tune.Read(fmt.Sprintf(text, written))
		require.Len(t, faults, 1, written)
		assert.Equal(t, 5, faults[0].Line)
	}
}

func TestWriteExample(t *testing.T) {
	const want = `tune   Lantern Street
key    Bb
meter  4/4
tempo  104
swing  2:1
form   A A B A

[A]
chords | Bbmaj7 . G7 .                      | Cm7          | F7          | % |
bass   | 1 /3 \1 /3                         | 1 /b3 /5 \b3 | 1 \b7 \6 \5 | % |
hits   | on . and .                         | on . on .    | both . . .  | % |
shapes | * . * .                            | * . * .      | * . . .     | % |
words  | an optional cue, free text per bar |              |             |   |

[B]
chords | Ebmaj7 | Em7b5 |
bass   | =A1    | =A2   |
`
	assert.Equal(t, want, tune.Write(mustRead(t, lantern)))
}

// TestWriteReadsBack is the promise of the canonical text: reading it back gives
// the same tune, and writing that again the same text.
func TestWriteReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tn := tunetest.Tune().Draw(t, "tune")
		text := tune.Write(tn)
		back, faults := tune.Read(text)
		require.Empty(t, faults, text)
		require.Equal(t, tn, back, text)
		require.Equal(t, text, tune.Write(back))
	})
}

func TestCommentsAreKept(t *testing.T) {
	const messy = `# one above the title

tune T  # behind the title
meter 4/4
  # above the key
key C
tempo 120

[A] # no comment? it is: a # first behind the name
`
	// One space before the # does not start a comment, so the line is at fault.
	_, faults := tune.Read(messy)
	require.Len(t, faults, 1)
	assert.Equal(t, 9, faults[0].Line)

	text := strings.Replace(messy, "[A] #", "[A]  #", 1) + `# above the bass
bass | 1 3 5 #4 |		# behind the bass
# above the chords
chords | C |
# at the end

# and one more`
	const want = `# one above the title
tune   T  # behind the title
# above the key
key    C
meter  4/4
tempo  120
swing  1:1

[A]  # no comment? it is: a # first behind the name
# above the chords
chords | C         |
# above the bass
bass   | 1 3 5 #4  |  # behind the bass

# at the end
# and one more
`
	got := tune.Write(mustRead(t, text))
	assert.Equal(t, strings.ReplaceAll(strings.ReplaceAll(want, "C         |", "C        |"), "#4  |", "#4 |"), got)
}

// TestWriteKeepsToTheTruth has copies that no longer hold: the bar is written out.
func TestWriteKeepsToTheTruth(t *testing.T) {
	tn := mustRead(t, head("C", "2/4")+"[A]\nchords | C | % | . G7 |\nbass | 1 5 | % | =A1 |\n[B]\nchords | =A2 |\n")
	a := tn.Sections[0].Bars
	a[0].Bass[1].First.Direction = tune.Rise
	a[1].Chords[0].Chord = a[2].Chords[1].Chord
	assert.Equal(t, head("C", "2/4")+"swing  1:1\n\n[A]\nchords | C    | G7  | C G7 |\nbass   | 1 /5 | 1 5 | 1 5  |\n\n[B]\nchords | C |\n",
		strings.NewReplacer("tune   T", "tune T", "key    C", "key C", "meter  2", "meter 2", "tempo  1", "tempo 1").Replace(tune.Write(tn)))
}

// TestWriteFitsFreeText has text that the format cannot hold as it is.
func TestWriteFitsFreeText(t *testing.T) {
	tn := mustRead(t, head("C", "2/4")+"[A]\nchords | C | C | C |\n")
	tn.Title = "a\n\x00 b\xff"
	for i, w := range []string{"x | y\tz", "%", "=A1"} {
		tn.Sections[0].Bars[i].Words = w
	}
	back := mustRead(t, tune.Write(tn))
	assert.Equal(t, "a b", back.Title)
	for i, w := range []string{"x / y z", "%.", "=A1."} {
		assert.Equal(t, w, back.Sections[0].Bars[i].Words)
	}
}
