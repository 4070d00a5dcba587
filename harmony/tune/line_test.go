package tune_test

import (
	"fmt"
	"strings"
	"testing"

	"footfall/harmony/tune"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The two low strings of standard tuning from open to fret 15: E2 to C4.
const low, high = 40, 60

// TestLine compares bass rows with pitches worked out by hand from the rule: the
// first note as low as it goes, then nearest (a tie falls), next above, next
// below. A bar of the answer holds a pitch for each note and its half beats
// where they are not two.
func TestLine(t *testing.T) {
	cases := map[string]struct{ text, want string }{
		"4/4 with form, copies and two chords a bar": {
			strings.Replace(lantern, "| =A1 | =A2 |", `| =A1 | 1 \b7 \b5 \b3 |`, 1),
			`Bb2 D3 G2 B2 | C3 Eb3 G3 Eb3 | F3 Eb3 D3 C3 | F3 Eb3 D3 C3 |
			 Bb2 D3 G2 B2 | C3 Eb3 G3 Eb3 | F3 Eb3 D3 C3 | F3 Eb3 D3 C3 |
			 Eb3 G3 Eb3 G3 | E3 D3 Bb2 G2 |
			 Bb2 D3 G2 B2 | C3 Eb3 G3 Eb3 | F3 Eb3 D3 C3 | F3 Eb3 D3 C3`,
		},
		"2/4, a tie falls and the same degree": {
			head("C", "2/4") + "[A]\nchords | C | % | C |\nbass | 1 5 | % | 1 #4 |\n[B]\nchords | C | C |\nbass | /#4 \\#4 | #4 /1 |\n",
			"C3 G2 | C3 G2 | C3 F#2 | F#3 F#2 | F#2 C3",
		},
		"3/4, slash bass and a change in the middle of a beat": {
			head("C", "3/4") + "[A]\nchords | C/E | Dm7 G7 | =A1 | % |\nbass | \\1 /3 /5 | 1 /b3,3 5 | =A1 | % |\n",
			// Degrees count from the root, not from the slash bass. G7 starts in the
			// middle of beat 2: the split's second half is its 3, B2; F3 to B2 is a tie.
			"C3 E3 G3 | D3 F3:1 B2:1 D3 | C3 E3 G3 | C3 E3 G3",
		},
		"5/4 with rests and holds": {
			head("C", "5/4") + "[A]\nchords | Am7 | D7 |\nbass | 1 - . b7 /1 | - -,5 - . 1 |\n",
			"A2:4 G2 A2:5 | A2:3 D3",
		},
		"6/4": {
			head("F", "6/4") + "[A]\nchords | F7 Bb7 |\nbass | 1 /2 /3 1 \\b7 /1 |\n",
			"F2 G2 A2 Bb2 Ab2 Bb2",
		},
		"7/4": {
			head("Em", "7/4") + "[A]\nchords | Em7 | =A1 |\nbass | \\1 /b3 /4 /5 /b7 /1 \\b7 | =A1 |\n",
			"E2 G2 A2 B2 D3 E3 D3 | E2 G2 A2 B2 D3 E3 D3",
		},
		"6/8 counts two dotted quarters": {
			head("G", "6/8") + "[A]\nchords | G | C D |\nbass | 1,/5 /1 | 1 \\1,3 |\n",
			"G2:1 D3:1 G3 | C4 D3:1 F#3:1",
		},
		"9/8": {
			head("D", "9/8") + "[A]\nchords | D | . G A |\nbass | 1 /3 /5 | \\1 \\1 1 |\n",
			"D3 F#3 A3 | D3 G2 A2",
		},
		"12/8": {
			head("Am", "12/8") + "[A]\nchords | Am | % |\nbass | 1 /b3,4 \\1 \\5 | % |\n",
			"A2 C3:1 D3:1 A2 E2 | A2 C3:1 D3:1 A2 E2",
		},
		"no bass row": {head("C", "4/4") + "[A]\nchords | C |\n", ""},
		"no chord":    {head("C", "4/4") + "[A]\nchords | C N.C. |\nbass | 1 3 - . |\n", "C3 E3:4"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			tn := mustRead(t, c.text)
			notes, err := tn.Line(tune.Within(low, high))
			require.NoError(t, err)
			assert.Equal(t, strings.Join(strings.Fields(c.want), " "), show(notes))
		})
	}
}

func head(key, meter string) string {
	return fmt.Sprintf("tune T\nkey %s\nmeter %s\ntempo 120\n", key, meter)
}

// show writes notes as the tests have them.
func show(notes []tune.LineNote) string {
	var b strings.Builder
	bar := 1
	for i, n := range notes {
		switch {
		case i == 0:
		case n.At.Bar != bar:
			b.WriteString(" | ")
		default:
			b.WriteString(" ")
		}
		bar = n.At.Bar
		b.WriteString(n.Pitch.String())
		if n.Halves != 2 {
			fmt.Fprintf(&b, ":%d", n.Halves)
		}
	}
	return b.String()
}

func TestLineOutOfRange(t *testing.T) {
	// From the G3 that ends section B the nearest Bb is Bb3, and a D above it is
	// D4, two frets past the range.
	tn := mustRead(t, lantern)
	_, err := tn.Line(tune.Within(low, high))
	var e *tune.LineError
	require.ErrorAs(t, err, &e)
	assert.Equal(t, tune.Position{Bar: 11, Beat: 2}, e.At)
	assert.Equal(t, "A", e.Section)
	assert.Equal(t, 1, e.SectionBar)
	assert.Equal(t, "D4", e.Pitch.String())
	assert.Equal(t, `bar 11 (A bar 1) beat 2: /3 leads to D4; write a line from E2 to C4; the nearest has \1 in bar 11 beat 1`, err.Error())
	// The nearest line has one other direction, and is the written one elsewhere.
	assert.Equal(t, "Bb2 D3 G2 B2", show(e.Fits[40:44]))
	for i, n := range e.Fits {
		want := e.Written[i]
		if i == 40 {
			want = tune.Fall
		}
		assert.Equal(t, want, n.Direction, i)
	}

	_, faults := tune.Check(lantern, tune.Within(low, high))
	require.Len(t, faults, 1)
	assert.Equal(t, [2]int{10, 12}, [2]int{faults[0].Line, faults[0].Column})
	assert.Contains(t, faults[0].Found, `"/3", which leads to D4 in bar 11 (A bar 1) beat 2`)

	// It is told beside other faults, where those leave the line alone.
	_, faults = tune.Check(strings.Replace(lantern, "104", "fast", 1), tune.Within(low, high))
	assert.Len(t, faults, 2)
	_, faults = tune.Check(strings.Replace(lantern, "| Cm7 ", "| Hm7 ", 1), tune.Within(low, high))
	assert.Len(t, faults, 1)

	_, err = tn.Line(tune.Within(40, 44))
	require.ErrorAs(t, err, &e)
	assert.Nil(t, e.Fits)
}

// TestFirstNote has the first note of a tune: as low as the range goes, whatever
// its direction, a rest before it or no.
func TestFirstNote(t *testing.T) {
	for key, want := range map[string]string{"E": "E2", "Eb": "Eb3", "F": "F2", "A": "A2", "C": "C3"} {
		for _, token := range []string{"1", "/1", `\1`} {
			tn := mustRead(t, head(key, "2/4")+"[A]\nchords | "+key+" |\nbass | . "+token+" |\n")
			notes, err := tn.Line(tune.Within(low, high))
			require.NoError(t, err)
			assert.Equal(t, want, show(notes), token)
		}
	}
}

// TestNearestFit compares the best path with all lines there are: every choice
// of directions for a short row, kept where it stays inside.
func TestNearestFit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		degrees := rapid.SliceOfN(rapid.SampledFrom([]string{"1", "b3", "#4", "5", "b7", "7"}), 4, 4).Draw(t, "degrees")
		marks := []string{"", "/", `\`}
		written := rapid.SliceOfN(rapid.IntRange(0, 2), 4, 4).Draw(t, "written")
		root := rapid.SampledFrom([]string{"C", "E", "Ab", "D"}).Draw(t, "root")
		row := func(dirs []int) string {
			var b strings.Builder
			b.WriteString(head("C", "4/4") + "[A]\nchords | " + root + " |\nbass |")
			for i, d := range degrees {
				b.WriteString(" " + marks[dirs[i]] + d)
			}
			return b.String()
		}
		tn, faults := tune.Read(row(written))
		require.Empty(t, faults)
		_, err := tn.Line(tune.Within(low, high))
		if err == nil {
			return
		}
		var e *tune.LineError
		require.ErrorAs(t, err, &e)
		// Of all rows that stay inside: the fewest new leaps of a seventh or more,
		// then the fewest other directions.
		type fold struct{ leaps, changed int }
		measure := func(notes []tune.LineNote, dirs []tune.Direction) (f fold) {
			for i, n := range notes {
				if n.Direction == dirs[i] {
					continue
				}
				f.changed++
				before := notes[max(0, i-1)].Pitch.MIDI()
				as := tune.Move(before, n.Pitch.Semitone(), dirs[i])
				if now := n.Pitch.MIDI() - before; (now >= 10 || now <= -10) && as-before < 10 && as-before > -10 {
					f.leaps++
				}
			}
			return f
		}
		least := fold{5, 5}
		for code := range 81 {
			dirs := []int{code % 3, code / 3 % 3, code / 9 % 3, code / 27}
			other, _ := tune.Read(row(dirs))
			notes, err := other.Line(tune.Within(low, high))
			if err != nil {
				continue
			}
			if f := measure(notes, e.Written); f.leaps < least.leaps || f.leaps == least.leaps && f.changed < least.changed {
				least = f
			}
		}
		for _, n := range e.Fits {
			require.GreaterOrEqual(t, n.Pitch.MIDI(), low)
			require.LessOrEqual(t, n.Pitch.MIDI(), high)
		}
		require.Equal(t, least, measure(e.Fits, e.Written))
	})
}
