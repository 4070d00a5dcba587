package tune_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/harmony/tune/tunetest"
)

func struck(meter, rows string) *tune.Tune {
	t, faults := tune.Read("tune T\nkey C\nmeter " + meter + "\ntempo 100\n" + rows + "\n")
	if faults != nil {
		panic(faults)
	}
	return t
}

func beatText(p tune.Position) string {
	if p.Off {
		return fmt.Sprintf("%d:%d.5", p.Bar, p.Beat)
	}
	return fmt.Sprintf("%d:%d", p.Bar, p.Beat)
}

// told writes strikes as "bar:beat hit chord=instants", with the length in half
// beats where a strike is held.
func told(strikes []tune.Strike) []string {
	out := []string{}
	for _, s := range strikes {
		var times []string
		for _, at := range s.Times {
			times = append(times, beatText(at))
		}
		text := fmt.Sprintf("%s %s %s=%s", beatText(s.At), s.Hit, s.Chord, strings.Join(times, ","))
		if s.Held {
			text += fmt.Sprint(" held ", s.Halves)
		}
		out = append(out, text)
	}
	return out
}

func TestHitsSayWhatIsStruckWhen(t *testing.T) {
	for name, tt := range map[string]struct {
		meter, rows string
		changes     []string
		halves      []string
	}{
		"all rests": {"4/4", "[A]\nchords | C | F |\nbass | 1 1 1 1 | 1 1 1 1 |\nhits | . . . . | . . . . |", []string{}, []string{}},
		"nothing written": {"4/4", "[A]\nchords | C | C | F . . G |\nbass | 1 1 1 1 | 1 1 1 1 | 1 1 1 1 |",
			[]string{"1:1 on C=1:1", "3:1 on F=3:1", "3:4 on G=3:4"},
			[]string{"1:1 on C=1:1", "1:3 on C=1:3", "2:3 on C=2:3", "3:1 on F=3:1", "3:3 on F=3:3", "3:4 on G=3:4"}},
		"left to the layer": {"4/4", "[A]\nchords | C | G |\nhits | * * * * | * . . on |",
			[]string{"1:1 on C=1:1", "2:1 on G=2:1"},
			[]string{"1:1 on C=1:1", "1:3 on C=1:3", "2:1 on G=2:1", "2:4 on G=2:4"}},
		"the first hit of each chord": {"4/4", "[A]\nchords | C | C G |\nhits | . and . on | on . . both |",
			[]string{"1:2 and C=1:2.5", "2:4 both G=2:4,2:4.5"},
			[]string{"1:2 and C=1:2.5", "1:4 on C=1:4", "2:1 on C=2:1", "2:4 both G=2:4,2:4.5"}},
		"a push": {"4/4", "[A]\nchords | C | F | F | G |\nhits | on . . push | . . on push | . . . push | on . . . |",
			[]string{"1:1 on C=1:1", "1:4 push F=1:4.5", "3:4 push G=3:4.5"},
			[]string{"1:1 on C=1:1", "1:4 push F=1:4.5", "2:3 on F=2:3", "2:4 and F=2:4.5", "3:4 push G=3:4.5", "4:1 on G=4:1"}},
		"a push into the next pass": {"3/4", "form A B\n[A]\nchords | C |\nhits | . on . |\n[B]\nchords | G |\nhits | on . push |",
			[]string{"1:2 on C=1:2", "2:1 on G=2:1", "2:3 push C=2:3.5"},
			[]string{"1:2 on C=1:2", "2:1 on G=2:1", "2:3 push C=2:3.5"}},
		"a push into the layer's own": {"4/4", "[A]\nchords | C | F |\nhits | * . . push | * . * . |",
			[]string{"1:1 on C=1:1", "1:4 push F=1:4.5"},
			[]string{"1:1 on C=1:1", "1:4 push F=1:4.5", "2:3 on F=2:3"}},
		"a push into no chord, and no chord": {"4/4", "[A]\nchords | C | N.C. | C |\nhits | on . . push | on . . push | . . . . |",
			[]string{"1:1 on C=1:1", "2:4 push C=2:4.5"},
			[]string{"1:1 on C=1:1", "1:4 and C=1:4.5", "2:4 push C=2:4.5"}},
		"within a bar": {"4/4", "[A]\nchords | C F |\nbass | 1 5 1 5 |\nhits | on push . . |",
			[]string{"1:1 on C=1:1", "1:2 push F=1:2.5"}, []string{"1:1 on C=1:1", "1:2 push F=1:2.5"}},
		"held": {"4/4", "[A]\nchords | C | F G | G | D |\nhits | on- . and- . | on- . push- . | . . both- . | . . . push- |",
			nil, nil},
		"a split bass note": {"4/4", "[A]\nchords | C |\nbass | 1 1,3 1,5 1 |\nhits | on and- both . |",
			[]string{"1:1 on C=1:1"},
			[]string{"1:1 on C=1:1", "1:2.5 on C=1:2.5 held 1", "1:3 on C=1:3", "1:3.5 on C=1:3.5"}},
		"a change on the offbeat": {"4/4", "[A]\nchords | C . . F . . . . |\nhits | on and . . |",
			[]string{"1:1 on C=1:1", "1:2.5 on F=1:2.5"}, []string{"1:1 on C=1:1", "1:2.5 on F=1:2.5"}},
		"a comping line": {"4/4", "comping charleston\n[A]\nchords | C | F |\n[B]\ncomping four\nchords | G |\n[D]\nchords | C |\nhits | . . . on |",
			[]string{"1:1 on C=1:1", "2:1 on F=2:1", "3:1 on G=3:1", "4:4 on C=4:4"},
			[]string{"1:1 on C=1:1", "1:2 and C=1:2.5", "2:1 on F=2:1", "2:2 and F=2:2.5",
				"3:1 on G=3:1", "3:2 on G=3:2", "3:3 on G=3:3", "3:4 on G=3:4", "4:4 on C=4:4"}},
	} {
		t.Run(name, func(t *testing.T) {
			tn := struck(tt.meter, tt.rows)
			assert.Empty(t, tn.Strikes(tune.Bass))
			if tt.halves == nil { // lengths, of every hit
				assert.Equal(t, []string{"1:1 on C=1:1 held 5", "1:3 and C=1:3.5 held 3", "2:1 on F=2:1 held 4", "2:3 and G=2:3.5 held 7",
					"3:3 both G=3:3,3:3.5 held 3", "4:4 push C=4:4.5 held 1"}, told(tn.Strikes(tune.BassHalves)))
				return
			}
			assert.Equal(t, tt.changes, told(tn.Strikes(tune.BassChanges)))
			assert.Equal(t, tt.halves, told(tn.Strikes(tune.BassHalves)))
		})
	}
}

// The rhythms as the design of the format has them, over one chord a bar, so that
// an and before the bar line is a push.
func TestCompingInEachMeter(t *testing.T) {
	for _, tt := range []struct{ name, meter, want string }{
		{"charleston", "4/4", "on and . ."},
		{"reverse-charleston", "4/4", "and . on ."},
		{"two-and-four", "4/4", ". on . on"},
		{"four", "4/4", "on on on on"},
		{"upbeats", "4/4", ". and . push"},
		{"pushed", "4/4", ". and . push"},
		{"ballad", "4/4", "on- . . ."},
		{"charleston", "2/4", "on push"},
		{"charleston", "3/4", "on and ."},
		{"charleston", "5/4", "on and . . on"},
		{"charleston", "6/4", "on and . . on push"},
		{"charleston", "7/4", "on and . . on and ."},
		{"charleston", "6/8", "on push"},
		{"charleston", "9/8", "on and ."},
		{"charleston", "12/8", "on and . ."},
		{"reverse-charleston", "5/4", "and . on . push"},
		{"reverse-charleston", "2/4", "and ."},
		{"two-and-four", "2/4", ". on"},
		{"two-and-four", "3/4", ". on on"},
		{"two-and-four", "5/4", ". on . on ."},
		{"two-and-four", "7/4", ". on . on . on ."},
		{"two-and-four", "9/8", ". on on"},
		{"upbeats", "3/4", ". and ."},
		{"upbeats", "6/8", ". push"},
		{"pushed", "2/4", ". push"},
		{"pushed", "3/4", ". and push"},
		{"pushed", "5/4", ". and . and push"},
		{"pushed", "7/4", ". and . and . and push"},
		{"pushed", "12/8", ". and . push"},
		{"four", "7/4", "on on on on on on on"},
		{"ballad", "6/8", "on- ."},
	} {
		tn := struck(tt.meter, "comping "+tt.name+"\n[A]\nchords | C | F | C | F |")
		hits := make([]string, tn.Meter.Beats())
		for i := range hits {
			hits[i] = "."
		}
		for _, s := range tn.Strikes(tune.BassHalves) {
			assert.Equal(t, tune.ByComping, s.By)
			if s.At.Bar == 2 {
				hits[s.At.Beat-1] = tune.HitToken{Hit: s.Hit, Held: s.Held}.String()
			}
		}
		assert.Equal(t, tt.want, strings.Join(hits, " "), "%s in %s", tt.name, tt.meter)
	}
	shaped := struck("4/4", "[A]\nchords | C | F |\nhits | on . on on | % |\nshapes | x-3-2-0-1-0 . 3-x-2-0-1-0 x-3-2-0-1-0 | % |").WithComping(tune.Pushed)
	assert.Equal(t, []string{"1:2 and C=1:2.5", "1:4 push F=1:4.5", "2:2 and F=2:2.5", "2:4 push C=2:4.5"}, told(shaped.Strikes(tune.BassHalves)))
	for _, s := range shaped.Strikes(tune.BassHalves) {
		assert.True(t, s.Shape.None(), "what was written stood on other hits")
	}
	over := struck("4/4", "[A]\nchords | C F |\nhits | on on on on |\n[B]\ncomping four\nchords | C |").WithComping(tune.Upbeats)
	assert.Equal(t, []string{"1:2 push F=1:2.5", "1:4 push C=1:4.5", "2:2 and C=2:2.5", "2:4 and C=2:4.5"}, told(over.Strikes(tune.BassHalves)))
}

// Whatever the tune: a layer has what the one before has, strikes come in order of
// time, sound a chord that is there, and no two fall on one instant.
func TestStrikesOfAnyTune(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tn := tunetest.Tune().Draw(t, "tune")
		grid, bars := tn.Grid(), tn.Unroll()
		at := map[tune.Position]bool{}
		last := -1
		for _, s := range tn.Strikes(tune.BassHalves) {
			for _, when := range s.Times {
				half := grid.Half(when)
				if half <= last {
					t.Fatalf("%v after half %d", s, last)
				}
				last, at[when] = half, true
			}
			b := bars[s.Bass.Bar-1]
			c, ok := b.Bar.ChordAt(b.Meter, s.Bass.Beat, s.Bass.Off)
			if !ok || c.None || c.Symbol != s.Chord.Symbol {
				t.Fatalf("%v sounds over %v", s, c)
			}
			if s.Halves < 1 || s.Hit == tune.NoHit || s.Hit == tune.HitLayer {
				t.Fatalf("%v", s)
			}
		}
		for _, s := range tn.Strikes(tune.BassChanges) {
			for _, when := range s.Times {
				if s.Layer != tune.BassChanges || !at[when] {
					t.Fatalf("%v is none of every hit", s)
				}
			}
		}
	})
}

func TestFretsOnABeatThatRestsAreAFault(t *testing.T) {
	text := "tune T\nkey C\nmeter 4/4\ntempo 100\n%s[A]\nchords | C | C |\nhits | on . on . | %% |\nshapes | x-3-2-0-1-0 . . . | . x-3-2-0-1-0 . . |\n"
	_, faults := tune.Read(fmt.Sprintf(text, ""))
	require.Len(t, faults, 1)
	assert.Equal(t, tune.Fault{Line: 8, Column: 32, Found: "x-3-2-0-1-0 on beat 2, which rests", Want: "a hit there in the hits row, or a . here"}, faults[0])
	_, faults = tune.Read(strings.Replace(fmt.Sprintf(text, "comping two-and-four\n"), "hits | on . on . | % |\n", "", 1))
	require.Len(t, faults, 1)
	assert.Equal(t, 10, faults[0].Column)
}

func TestFaultsOfTheHits(t *testing.T) {
	for text, column := range map[string]int{"hits | on- push- . x |": 20, "hits | .- on on on |": 8, "hits | *- on on on |": 8, "hits | pull . . . |": 8} {
		_, faults := tune.Read("tune T\nkey C\nmeter 4/4\ntempo 100\n[A]\nchords | C |\n" + text + "\n")
		require.Len(t, faults, 1, text)
		assert.Equal(t, column, faults[0].Column, text)
		assert.Equal(t, tune.WantHit, faults[0].Want)
	}
	for _, text := range []string{"comping swing\n[A]\n", "[A]\ncomping swing\n", "[A]\ncomping\n", "[A]\ncomping four\ncomping four\n"} {
		_, faults := tune.Read("tune T\nkey C\nmeter 4/4\ntempo 100\n" + text + "chords | C |\n")
		assert.Len(t, faults, 1, text)
	}
}

// The strings are E2 and A2 to fret 15: MIDI 40 to 55 and 45 to 60.
func TestPins(t *testing.T) {
	neck := tune.Range{Span: tune.Span{Low: 40, High: 60}, Strings: map[int]tune.Span{6: {Low: 40, High: 55}, 5: {Low: 45, High: 60}}}
	for row, want := range map[string]string{
		"1@6 /3 /5 \\b7@5": "C3@6 E3 G3 Bb2@5",
		"1@5 1@6 5@6 5@5":  "C3@5 C3@6 G2@6 G3@5", // bare: the nearest place on the string
		"/1@5 \\1 . .":     "C4@5 C3",
		"\\1@5 . . .":      "C3@5",
		"/5@6 . . .":       "G3@6",
		"5@6 /5@5 3@5 .":   "G2@6 G3@5 E3@5",
	} {
		tn := struck("4/4", "[A]\nchords | C7 |\nbass | "+row+" |")
		line, err := tn.Line(neck)
		require.NoError(t, err, row)
		var got []string
		for _, n := range line {
			text := harmony.FlatName(n.Pitch.MIDI())
			if n.Pin != 0 {
				text += fmt.Sprint("@", n.Pin)
			}
			got = append(got, text)
		}
		assert.Equal(t, want, strings.Join(got, " "), row)
		assert.Contains(t, tune.Write(tn), "| "+row+" |", "and is written as it is read")
	}
	for row, says := range map[string]string{
		"1@6 \\5 5@5 \\5@5": "5@5 leads to G2; write a note of string 5, A2 to C4",
		"1@4 . . .":         "write a string that the bass line may take, or none",
	} {
		_, err := struck("4/4", "[A]\nchords | C7 |\nbass | "+row+" |").Line(neck)
		assert.ErrorContains(t, err, says, row)
	}
	for _, tok := range []string{"1@", "1@0", "1@9", "@5", "1@6@5", ".@5", "-@5"} {
		_, faults := tune.Read("tune T\nkey C\nmeter 4/4\ntempo 100\n[A]\nchords | C |\nbass | " + tok + " . . . |\n")
		assert.Len(t, faults, 1, tok)
	}
}
