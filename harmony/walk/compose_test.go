package walk

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/harmony/tune/tunetest"
)

// cost adds up the whole cost of a line, by definition: its notes, its moves, and
// the hand's way by the best positions there are.
func (p *problem) cost(line []int) float64 {
	total := 0.0
	var ways []float64
	for i, midi := range line {
		total += p.unary(i, midi)
		if i >= 1 {
			total += p.pair(i, line[i-1], midi)
		}
		if i >= 2 {
			total += triple(p.style, line[i-1]-line[i-2], midi-line[i-1])
		}
		next := make([]float64, len(p.hand.of(midi)))
		for b, to := range p.hand.of(midi) {
			for a, way := range ways {
				c := way + p.hand.costs(p.seconds[i])[p.hand.of(line[i-1])[a]*p.hand.n+to]
				if a == 0 || c < next[b] {
					next[b] = c
				}
			}
		}
		ways = next
	}
	return total + slices.Min(ways)
}

// neck is the range of the two low strings to fret 15.
var neck = Options{Range: tune.Within(40, 60)}

// twoWays is a hand with two positions for each note, a fourth apart.
var twoWays = Hand{
	Positions: func(midi int) []int { return []int{midi, midi + 5} },
	ShiftMM:   func(from, to int) float64 { return float64(20 * abs(to-from)) },
	SpeedMM:   100,
}

func read(t testing.TB, text string) *tune.Tune {
	t.Helper()
	tn, faults := tune.Read(text)
	require.Empty(t, faults)
	return tn
}

func tuneOf(t testing.TB, meter, key, chords string) *tune.Tune {
	t.Helper()
	return read(t, "tune x\nkey "+key+"\nmeter "+meter+"\ntempo 120\n\n[A]\nchords | "+chords+" |\n")
}

// cheapest tries every line there is.
func cheapest(p *problem) float64 {
	best := math.Inf(1)
	line := make([]int, len(p.slots))
	var try func(i int)
	try = func(i int) {
		if i == len(line) {
			best = min(best, p.cost(line))
			return
		}
		for _, midi := range p.pitches[i] {
			line[i] = midi
			try(i + 1)
		}
	}
	try(0)
	return best
}

func TestEqualsBruteForce(t *testing.T) {
	for _, tt := range []struct{ meter, key, chords string }{
		{"3/4", "C", "Dm7 | G7"}, {"4/4", "C", "C"}, {"5/4", "F", "F7"}, {"2/4", "Bb", "Bb7 Eb7 | Bb7"},
		{"4/4", "Am", "Bm7b5 E7(b9)"}, {"3/4", "Eb", "Ebmaj7 Cm7 Fm7 | Bb7"}, {"6/8", "G", "Am7 | D7 | Gmaj7"}, {"2/4", "C", "C/E"},
	} {
		for seed := range uint64(3) {
			for style := range Style(len(styles)) {
				tn := tuneOf(t, tt.meter, tt.key, tt.chords)
				o := Options{Range: tune.Within(41, 54), Seed: seed, Style: style}
				if seed == 2 {
					o.Hand = twoWays // slow enough to matter
				}
				p := problemOf(tn, tn.Unroll(), []bool{true, true, true}, o)
				line, cost := p.solve()
				require.InDelta(t, cheapest(&p), cost, 1e-9, "%+v %s seed %d", tt, style, seed)
				require.InDelta(t, p.cost(line), cost, 1e-9)
			}
		}
	}
}

// What was composed is written, read back and resolved to the same pitches; kept
// bars hold their degrees; all is in range; on random tunes of every kind.
func TestLinesReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tn := tunetest.Tune().Draw(t, "tune")
		o := neck
		o.Seed = rapid.Uint64Range(0, 5).Draw(t, "seed")
		o.Style = Style(rapid.IntRange(0, len(styles)-1).Draw(t, "style"))
		if rapid.Bool().Draw(t, "fill some") {
			salt := rapid.IntRange(0, 3).Draw(t, "salt")
			o.Fill = func(section string, bar int) bool { return (bar+salt+len(section))%3 == 0 }
		}
		l, err := Compose(tn, o)
		if err != nil {
			require.ErrorContains(t, err, "no chord")
			return
		}
		again, faults := tune.Read(tune.Write(l.Tune()))
		require.Empty(t, faults, tune.Write(l.Tune()))
		notes, err := again.Line(o.Range)
		require.NoError(t, err)
		require.Len(t, notes, len(l.Notes))
		for i, n := range notes {
			require.Equal(t, l.Notes[i].Pitch, n.Pitch)
			require.Equal(t, l.Notes[i].Degree, n.Degree)
			require.Equal(t, l.Notes[i].At, n.At)
			require.Equal(t, l.Notes[i].Halves, n.Halves)
			require.NotEmpty(t, l.Notes[i].Reason)
		}
		require.Equal(t, len(tn.Unroll()), len(again.Unroll()))
	})
}

func TestSeeds(t *testing.T) {
	tn := tuneOf(t, "4/4", "Bb", "Bbmaj7 | Cm7 | F7 | Bb7 | Ebmaj7 | Cm7b5 F7(b9) | Bbmaj7 G7 | Cm7 F7")
	lines := map[string]bool{}
	for seed := range uint64(20) {
		o := neck
		o.Seed = seed
		l, err := Compose(tn, o)
		require.NoError(t, err)
		again, err := Compose(tn, o)
		require.NoError(t, err)
		require.Equal(t, l.Notes, again.Notes, "the same seed gives the same line")
		lines[tune.Write(l.Tune())] = true
	}
	require.Len(t, lines, 20)
}

func TestStyles(t *testing.T) {
	tn := tuneOf(t, "4/4", "C", "Cmaj7 | A7 Dm7 | G7sus G7 | C/E")
	for style, allowed := range map[Style]string{
		Roots: "1 3", RootsFifths: "1 3 5", ChordTones: "1 3 4 5 7 b7 b3", ScaleSteps: "1 2 b2 b3 3 4 5 6 b6 7 b7", Pedal: "1 2 b2 b3 3 4 5 6 b6 7 b7",
	} {
		o := neck
		o.Style = style
		l, err := Compose(tn, o)
		require.NoError(t, err)
		for _, n := range l.Notes {
			require.Contains(t, strings.Fields(allowed), n.Degree.String(), "%s at %v", style, n.At)
			if style == Roots {
				require.Equal(t, n.Chord.Bass.Semitone(), n.Pitch.Semitone())
			}
		}
	}
	composed := func(style Style, meter, chords string) (string, []Note) {
		o := neck
		o.Style = style
		l, err := Compose(tuneOf(t, meter, "C", chords), o)
		require.NoError(t, err)
		return tune.Write(l.Tune()), l.Notes
	}
	text, notes := composed(Roots, "4/4", "Cmaj7 | A7 Dm7 | G7sus G7 | C/E")
	require.Contains(t, text, "1 - - -")
	require.Len(t, notes, 6)
	for _, style := range []Style{RootsFifths, TwoFeel} {
		_, notes = composed(style, "4/4", "Cmaj7 | A7 Dm7 | G7sus G7 | C/E")
		require.Len(t, notes, 8)
		for _, n := range notes {
			require.Equal(t, 4, n.Halves, style.String())
		}
	}
	// A bossa holds one beat and a half, then has its offbeat.
	text, notes = composed(Bossa, "4/4", "Cmaj7 | Dm7")
	require.Regexp(t, `\| 1 +-,\S+ \S+ -,\S+ \|`, text)
	require.Len(t, notes, 8)
	require.Equal(t, []int{3, 1, 3, 1}, []int{notes[0].Halves, notes[1].Halves, notes[2].Halves, notes[3].Halves})
	_, notes = composed(Ballad, "4/4", "Cmaj7 | Dm7 | G7 | C6")
	require.Less(t, len(notes), 13, "a ballad has long notes")
}

func TestStyleNames(t *testing.T) {
	for i := range styles {
		parsed, err := ParseStyle(Style(i).String())
		require.NoError(t, err)
		require.Equal(t, Style(i), parsed)
		require.NotEmpty(t, parsed.Says())
	}
	_, err := ParseStyle("stride")
	require.ErrorContains(t, err, "approaches, roots, roots-fifths, two-feel, chord-tones, scale-steps, pedal, bossa, ballad")
	for name, want := range map[string]Style{
		"scale": ScaleSteps, "roots and fifths": RootsFifths, "Two feel": TwoFeel, "fifths": RootsFifths, "roots": Roots,
		"two-beat": RootsFifths, "arpeggios": ChordTones, "steps": ScaleSteps, "pedal points": Pedal, "Bossa Nova": Bossa,
	} {
		got, err := ParseStyle(name)
		require.NoError(t, err, name)
		require.Equal(t, want, got)
	}
	for _, name := range []string{"", "r", "two"} {
		_, err := ParseStyle(name)
		require.Error(t, err, "%q tells no style from the others", name)
	}
	require.Equal(t, "approaches", StyleNames()[0])
}

func TestKeepsWhatThePlayerWrote(t *testing.T) {
	tn := read(t, `tune x
key F
meter 4/4
tempo 120

[A]
chords | F7         | Bb7     | F7            | C7        |
bass   | 1 /3 /5 /6 | . . . . | /1,\5 - \b3 . | . . . .   |
`)
	l, err := Compose(tn, neck)
	require.NoError(t, err)
	out := l.Tune()
	require.Equal(t, tn.Sections[0].Bars[0].Bass, out.Sections[0].Bars[0].Bass)
	require.Equal(t, tn.Sections[0].Bars[2].Bass, out.Sections[0].Bars[2].Bass, "splits, holds, rests and directions too")
	for _, n := range l.Notes {
		require.Equal(t, n.At.Bar%2 == 1, n.Kept)
		require.Equal(t, n.Kept, n.Reason == "as you wrote it")
	}
	_, err = out.Line(tune.Within(40, 60))
	require.NoError(t, err)

	// A line without gaps is composed anew.
	full, err := Compose(out, neck)
	require.NoError(t, err)
	for _, n := range full.Notes {
		require.False(t, n.Kept)
	}
	// Kept bars that climb out of the range are joined by other directions.
	climbs := read(t, strings.Replace(tune.Write(tn), "1 /3 /5 /6", "1 /1 /1 /1", 1))
	l, err = Compose(climbs, neck)
	require.NoError(t, err)
	_, err = l.Tune().Line(tune.Within(40, 60))
	require.NoError(t, err)
	require.Equal(t, harmony.Degree{Number: 1}, l.Notes[3].Degree)
}

func TestRepeatedSectionsMayDiffer(t *testing.T) {
	tn := read(t, `tune x
key F
meter 4/4
tempo 120
form A A B A

[A]
chords | F7   | Bb7 | F7 |
hits   | on . . . | % | % |

[B]
chords | Cm7 | F7 |
`)
	o := neck
	o.Seed = 3
	l, err := Compose(tn, o)
	require.NoError(t, err)
	text := tune.Write(l.Tune())
	require.Contains(t, text, "form   A A2 B A3")
	require.Contains(t, text, "chords | =A1")
	again := read(t, text)
	require.Equal(t, len(tn.Unroll()), len(again.Unroll()))
	for i, fb := range again.Unroll() {
		require.Equal(t, tn.Unroll()[i].Bar.Hits, fb.Bar.Hits)
	}
	// Where the line is the same, one section serves.
	o = neck
	o.Style = Roots
	l, err = Compose(read(t, strings.Replace(tune.Write(tn), "A A B A", "A A", 1)), o)
	require.NoError(t, err)
	require.Len(t, l.Tune().Sections, 3)
	require.Equal(t, []string{"A", "A2"}, l.Tune().Form)
}

func TestShapesOverTheOldLineGoFree(t *testing.T) {
	tn := read(t, `tune x
key C
meter 2/4
tempo 120

[A]
chords | C         | F               |
bass   | 1 /3      | . .             |
shapes | x-3-2-0-1-0 . | x-8-7-5-6-5 * |
`)
	l, err := Compose(tn, neck)
	require.NoError(t, err)
	require.Equal(t, 1, l.Freed())
	bars := l.Tune().Sections[0].Bars
	require.Equal(t, tn.Sections[0].Bars[0].Shapes, bars[0].Shapes, "kept with its bar")
	require.Equal(t, []tune.ShapeToken{{Choose: true}, {Choose: true}}, bars[1].Shapes)
	require.Len(t, tn.Sections[0].Bars[1].Shapes[0].Frets, 6, "the tune itself is left as it is")
}

func TestComposeErrors(t *testing.T) {
	tn := tuneOf(t, "4/4", "C", "N.C.")
	_, err := Compose(tn, neck)
	require.ErrorContains(t, err, "no chord")
	_, err = Compose(tuneOf(t, "4/4", "C", "C"), Options{Range: tune.Within(40, 45)})
	require.ErrorContains(t, err, "octave")
}

func TestReasons(t *testing.T) {
	tn := tuneOf(t, "4/4", "C", "C/E | Dm7 | G7 | C")
	l, err := Compose(tn, neck)
	require.NoError(t, err)
	var got []string
	for _, n := range l.Notes {
		got = append(got, n.Degree.String()+": "+n.Reason)
	}
	text := strings.Join(got, "\n")
	require.Contains(t, text, "1: root of C")
	require.Contains(t, text, "bass note of C/E")
	require.Contains(t, text, "the next root")
}

// The budget is 1 s for 1,000 bars; twice the bars take twice the time.
func BenchmarkCompose(b *testing.B) {
	for _, bars := range []int{250, 500, 1000, 2000} {
		b.Run(fmt.Sprint(bars), func(b *testing.B) {
			chords := make([]string, bars)
			for i := range chords {
				chords[i] = []string{"Dm7", "G7(b9)", "Cmaj7 A7", "Em7b5 A7alt"}[i%4]
			}
			tn := tuneOf(b, "4/4", "C", strings.Join(chords, " | "))
			o := neck
			o.Hand = handOf(fretboard.StandardNeck())
			for b.Loop() {
				o.Seed++
				if _, err := Compose(tn, o); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// A new chord is clear from its root or third on, and from another tone if it
// goes on to a second one; the player's own notes are theirs.
func TestUnclear(t *testing.T) {
	c7 := [12]role{step, chrome, step, chrome, third, step, chrome, fifth, chrome, step, colour, chrome}
	c7[0] = root
	for _, tt := range []struct {
		from, to int
		want     bool
	}{
		{48, 50, false}, {52, 50, false}, {52, 51, false}, // the root, the third
		{55, 52, false}, {55, 58, false}, {58, 60, false}, // two of its tones
		{55, 53, true}, {55, 54, true}, {58, 57, true}, // one, and none
		{55, 55, true}, {55, 43, true}, // the same tone again
	} {
		a, b := slot{arrival: true, roles: c7}, slot{roles: c7}
		assert.Equal(t, tt.want, unclear(&a, &b, tt.from, tt.to), "%d to %d", tt.from, tt.to)
		b.arrival = true
		assert.False(t, unclear(&a, &b, tt.from, tt.to), "one note to a chord tells no more")
		b.arrival, a.arrival = false, false
		assert.False(t, unclear(&a, &b, tt.from, tt.to))
		a.arrival, a.kept = true, &tune.BassToken{}
		assert.False(t, unclear(&a, &b, tt.from, tt.to))
	}
}
