package fretboard

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/harmony"
)

func degreesOf(t testing.TB, s string) []harmony.Degree {
	t.Helper()
	var degrees []harmony.Degree
	for _, f := range strings.Fields(s) {
		d, err := harmony.ParseDegree(f)
		require.NoError(t, err)
		degrees = append(degrees, d)
	}
	return degrees
}

func degreeOf(t testing.TB, s string) harmony.Degree { t.Helper(); return degreesOf(t, s)[0] }

func chordOf(t testing.TB, root harmony.Letter, degrees string) harmony.Chord {
	t.Helper()
	note := harmony.Note{Letter: root}
	return harmony.Chord{Root: note, Bass: note, Degrees: degreesOf(t, degrees)}
}

func spellDegrees(degrees []harmony.Degree) string {
	parts := make([]string, len(degrees))
	for i, d := range degrees {
		parts[i] = d.String()
	}
	return strings.Join(parts, " ")
}

// searched are chords with what must be heard of them, said by hand.
var searched = []struct {
	degrees, heard string
	ninth          bool
	basses         []string
}{
	{"1 3 5", "3", false, []string{"1", "3", "5", "6", "b7", "9"}},
	{"1 b3 5", "b3", false, []string{"1", "b3", "5", "6"}},
	{"1 3 5 b7", "3 b7", true, []string{"1", "3", "5", "b7", "9"}},
	{"1 3 5 7", "3 7", true, []string{"1", "3", "5", "7", "6"}},
	{"1 b3 5 b7", "b3 b7", false, []string{"1", "b3", "5", "b7", "6"}},
	{"1 b3 b5 b7", "b3 b5 b7", false, []string{"1", "b3", "b5", "b7"}},
	{"1 b3 b5 bb7", "b3 b5 bb7", false, []string{"1", "b3"}},
	{"1 3 5 6", "3 6", false, []string{"1", "3", "6"}},
	{"1 3 5 6 9", "3 6 9", false, []string{"1", "3", "6"}},
	{"1 3 5 9", "3 9", false, []string{"1", "3", "9"}},
	{"1 4 5 b7", "4 b7", false, []string{"1", "4", "5"}},
	{"1 5", "5", false, []string{"1", "5"}},
	{"1 3 #5", "3 #5", false, []string{"1", "3"}},
	{"1 3 5 b7 b9", "3 b7 b9", false, []string{"1", "3", "b9"}},
	{"1 3 b7 b9 b13", "3 b7 b9 b13", false, []string{"1", "b13"}},
	{"1 3 5 b7 9 13", "3 b7", false, []string{"1", "3", "9"}},
}

func TestShapesMissNoneOnASmallNeck(t *testing.T) {
	small := Neck{Tuning: Tuning{40, 45, 50, 55, 59}, ScaleMM: 648, HighestFret: 6, BassStrings: []int{5, 4}}
	hand := Hand{ReachMM: 100, Fingers: 4}
	for _, c := range searched {
		chord := chordOf(t, harmony.G, c.degrees)
		for _, b := range c.basses {
			bass := degreeOf(t, b)
			want := map[string]float64{}
			everyFrets(small, func(frets []int) {
				if plainSounds(small, chord, bass, degreesOf(t, c.heard), c.ninth, frets) {
					if e, ok := plainFingering(small, hand, frets); ok {
						want[FormatFrets(frets)] = e
					}
				}
			})
			compareShapes(t, want, small.Shapes(hand, Query{Chord: chord, Bass: bass}), c.degrees+" on "+b)
		}
	}
}

// Other instruments: a seven-string, a bass of four, and a tuning whose highest
// string sounds lowest.
func TestShapesMissNoneOnOtherTunings(t *testing.T) {
	hand := Hand{ReachMM: 120, Fingers: 3}
	for name, neck := range map[string]Neck{
		"seven strings": {Tuning: Tuning{35, 40, 45, 50, 55, 59, 64}, ScaleMM: 648, HighestFret: 3, BassStrings: []int{7, 6}},
		"four strings":  {Tuning: Tuning{28, 33, 38, 43}, ScaleMM: 864, HighestFret: 7, BassStrings: []int{4}},
		"re-entrant":    {Tuning: Tuning{67, 60, 64, 69}, ScaleMM: 350, HighestFret: 8, BassStrings: []int{4, 3}},
	} {
		for _, c := range searched[:4] {
			chord, bass := chordOf(t, harmony.G, c.degrees), degreeOf(t, "1")
			want := map[string]float64{}
			everyFrets(neck, func(frets []int) {
				if plainSounds(neck, chord, bass, degreesOf(t, c.heard), c.ninth, frets) {
					if e, ok := plainFingering(neck, hand, frets); ok {
						want[FormatFrets(frets)] = e
					}
				}
			})
			got := neck.Shapes(hand, Query{Chord: chord, Bass: bass})
			if len(want) == 0 && name == "re-entrant" {
				require.Empty(t, got)
				continue
			}
			compareShapes(t, want, got, name+" "+c.degrees)
		}
	}
}

func TestShapesAtAPlaceAndWithTensions(t *testing.T) {
	neck, hand := StandardNeck(), DefaultHand()
	q := Query{Chord: chordOf(t, harmony.D, "1 b3 5 b7"), Bass: degreeOf(t, "1")}
	all := neck.Shapes(hand, q)
	found := 0
	for _, place := range []Place{{5, 5}, {6, 10}, {4, 0}, {5, 3}} {
		q.At = &place
		for _, s := range neck.Shapes(hand, q) {
			require.Equal(t, place, s.Bass())
			found++
		}
	}
	require.Equal(t, len(all), found, "D lies on string 5 fret 5 and string 6 fret 10 alone")

	q.At, q.Tensions = nil, degreesOf(t, "9")
	with := neck.Shapes(hand, q)
	require.Greater(t, len(with), len(all))
	require.Contains(t, spellDegrees(with[0].Degrees), "9", "the best has the tension asked for")
	for _, s := range with {
		for _, d := range s.Degrees {
			require.Contains(t, degreesOf(t, "1 b3 5 b7 9"), d)
		}
	}
	q.Chord.None = true
	require.Empty(t, neck.Shapes(hand, q))
}

// compareShapes holds what the search found against plain enumeration.
func compareShapes(t *testing.T, want map[string]float64, got []Shape, name string) {
	t.Helper()
	require.NotEmpty(t, want, name)
	seen := map[string]bool{}
	for _, s := range got {
		e, ok := want[s.String()]
		require.True(t, ok, "%s: %s is no shape by plain enumeration", name, s)
		require.False(t, seen[s.String()], "%s: %s is found twice", name, s)
		require.InDelta(t, e, s.Effort, 1e-9, "%s: %s", name, s)
		seen[s.String()] = true
	}
	for frets := range want {
		require.True(t, seen[frets], "%s: %s is missing", name, frets)
	}
}

// Fits must agree with Shapes on every set of frets of a small neck.
func TestFitsAgreesWithShapes(t *testing.T) {
	small := Neck{Tuning: Tuning{40, 45, 50, 55}, ScaleMM: 648, HighestFret: 6, BassStrings: []int{4, 3}}
	hand := Hand{ReachMM: 80, Fingers: 3}
	for _, c := range searched {
		q := Query{Chord: chordOf(t, harmony.G, c.degrees), Bass: degreeOf(t, c.basses[1])}
		found := map[string]bool{}
		for _, s := range small.Shapes(hand, q) {
			found[s.String()] = true
		}
		everyFrets(small, func(frets []int) {
			err := small.Fits(hand, q, frets)
			require.Equal(t, found[FormatFrets(frets)], err == nil, "%s of %s: %v", FormatFrets(frets), c.degrees, err)
		})
	}
}

func TestFitsSaysWhatIsWrong(t *testing.T) {
	q := Query{Chord: symbol(chordOf(t, harmony.G, "1 3 5 b7"), "G7"), Bass: degreeOf(t, "3")}
	for frets, want := range map[string]string{
		"x-2-3-2-3-x":  "",
		"3-x-3-4-3-x":  "its lowest note is the 1 of G7, not the 3",
		"x-2-3-2-2-x":  "the #11 on string 2 is not in G7",
		"x-2-x-2-3-x":  "it has no b7, so it is not heard as G7",
		"x-2-0-0-3-x":  "it has no b7, so it is not heard as G7",
		"x-2-3-x-x-x":  "it has too few notes of G7: the 1 is missing",
		"7-x-3-x-8-x":  "no hand holds it",
		"x-x-3-4-3-x":  "its lowest string is 4, not one of the bass",
		"x-14-5-7-6-x": "string 4 sounds below its bass",
	} {
		err := StandardNeck().Fits(DefaultHand(), q, fretsOf(t, frets))
		if want == "" {
			assert.NoError(t, err, frets)
		} else {
			assert.EqualError(t, err, want, frets)
		}
	}
}

func TestShapesMissNoneOnTheWholeNeck(t *testing.T) {
	if testing.Short() {
		t.Skip("plain enumeration of 15 frets takes seconds")
	}
	neck, hand := StandardNeck(), DefaultHand()
	chord := chordOf(t, harmony.G, "1 3 5 b7")
	half := chordOf(t, harmony.E, "1 b3 b5 b7")
	third, root := degreeOf(t, "3"), degreeOf(t, "1")
	heard, halfHeard := degreesOf(t, "3 b7"), degreesOf(t, "b3 b5 b7")
	want, wantHalf := map[string]float64{}, map[string]float64{}
	everyFrets(neck, func(frets []int) {
		if plainSounds(neck, chord, third, heard, true, frets) {
			if e, ok := plainFingering(neck, hand, frets); ok {
				want[FormatFrets(frets)] = e
			}
		}
		if plainSounds(neck, half, root, halfHeard, false, frets) {
			if e, ok := plainFingering(neck, hand, frets); ok {
				wantHalf[FormatFrets(frets)] = e
			}
		}
	})
	compareShapes(t, want, neck.Shapes(hand, Query{Chord: chord, Bass: third}), "G7 on 3")
	compareShapes(t, wantHalf, neck.Shapes(hand, Query{Chord: half, Bass: root}), "Em7b5 on 1")
}

func TestFingeringIsTheEasiestThereIs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		base := rapid.IntRange(0, 12).Draw(t, "base")
		frets := rapid.SliceOfN(rapid.IntRange(-1, 4), 6, 6).Draw(t, "frets")
		for i, f := range frets {
			if f > 0 {
				frets[i] = f + base
			}
		}
		neck, hand := StandardNeck(), DefaultHand()
		hand.Fingers = rapid.IntRange(2, 4).Draw(t, "fingers")
		want, ok := plainFingering(neck, hand, frets)
		got, gotOK := neck.Fingering(hand, frets)
		require.Equal(t, ok, gotOK, "%v", frets)
		if ok {
			require.InDelta(t, want, got.Effort, 1e-9, "%v %v", frets, got)
		}
	})
}

func TestNoShapePassesTheHand(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.SampledFrom(searched).Draw(t, "chord")
		var chord harmony.Chord
		chord.Root = harmony.Note{Letter: harmony.Letter(rapid.IntRange(0, 6).Draw(t, "letter")), Alter: int8(rapid.IntRange(-1, 1).Draw(t, "alter"))}
		chord.Bass = chord.Root
		for _, d := range strings.Fields(c.degrees) {
			degree, err := harmony.ParseDegree(d)
			require.NoError(t, err)
			chord.Degrees = append(chord.Degrees, degree)
		}
		bass, err := harmony.ParseDegree(rapid.SampledFrom(c.basses).Draw(t, "bass"))
		require.NoError(t, err)
		neck := StandardNeck()
		hand := Hand{ReachMM: float64(rapid.IntRange(40, 130).Draw(t, "reach")), Fingers: rapid.IntRange(1, 4).Draw(t, "fingers")}
		previous := -10.0
		for _, s := range neck.Shapes(hand, Query{Chord: chord, Bass: bass}) {
			require.GreaterOrEqual(t, s.Rank, previous)
			previous = s.Rank
			low, high, fingers := 99, 0, map[int]bool{}
			for i, f := range s.Frets {
				if f > 0 {
					low, high = min(low, f), max(high, f)
					require.Positive(t, s.Fingers[i], "%s", s)
					fingers[s.Fingers[i]] = true
				} else {
					require.Zero(t, s.Fingers[i], "%s", s)
				}
			}
			require.LessOrEqual(t, len(fingers), hand.Fingers, "%s", s)
			if high > 0 {
				require.LessOrEqual(t, neck.FretMM(high)-neck.FretMM(low), hand.ReachMM, "%s", s)
				require.InDelta(t, neck.FretMM(high)-neck.FretMM(low), s.SpanMM, 1e-9)
			}
			place := s.Bass()
			require.Contains(t, neck.BassStrings, place.String)
			require.Equal(t, bass, s.Degrees[0])
		}
	})
}

// Common practice, no source: the shapes that hang on a bass degree.
func TestShapesOnABassDegree(t *testing.T) {
	for _, c := range []struct {
		root           harmony.Letter
		chord, bass    string
		frets, degrees string
		best           bool
	}{
		{harmony.D, "1 b3 5", "b3", "x-8-7-7-x-x", "b3 5 1", true},
		{harmony.D, "1 b3 5", "6", "x-2-3-2-3-x", "6 b3 5 1", true},
		{harmony.G, "1 3 5 b7", "3", "x-2-3-2-3-x", "3 b7 9 5", true},
		{harmony.F, "1 3 5 7", "3", "5-x-5-5-5-x", "3 9 5 7", false},
		{harmony.C, "1 3 5 7", "3", "x-7-9-7-8-x", "3 7 9 5", false},
		{harmony.C, "1 3 5", "6", "x-0-2-0-1-x", "6 3 5 1", false},
		{harmony.B, "1 b3 b5 b7", "b5", "x-8-9-7-10-x", "b5 1 b3 b7", false},
		{harmony.B, "1 b3 b5 b7", "b3", "x-5-7-4-6-x", "b3 b7 1 b5", false},
		{harmony.C, "1 3 5 b7", "1", "8-x-8-9-8-x", "1 b7 3 5", false},
		// The upper strings of a 6/9 are one shape, two fourths, that comes again
		// five frets up on the next fourth.
		{harmony.C, "1 3 5 6 9", "1", "x-3-2-2-3-x", "1 3 6 9", false},
		{harmony.C, "1 3 5 6 9", "3", "x-7-7-7-8-x", "3 6 9 5", false},
	} {
		shapes := StandardNeck().Shapes(DefaultHand(), Query{Chord: chordOf(t, c.root, c.chord), Bass: degreeOf(t, c.bass)})
		i := slices.IndexFunc(shapes, func(s Shape) bool { return s.String() == c.frets })
		require.GreaterOrEqual(t, i, 0, "%s of %s on %s", c.frets, c.chord, c.bass)
		assert.Equal(t, c.degrees, spellDegrees(shapes[i].Degrees))
		if c.best {
			assert.Zero(t, i, "%s comes before %s", shapes[0], c.frets)
		}
	}
}

// classes are the twelve quality classes, each by one chord.
var classes = []string{
	"1 3 5", "1 3 5 7", "1 3 5 b7", "1 3 b7 b9 b13", "1 b3 5", "1 b3 5 6", "1 b3 5 b7", "1 b3 5 7",
	"1 b3 b5 b7", "1 b3 b5 bb7", "1 3 #5", "1 4 5 b7",
}

// Wherever a walking line may put its bass, a hit has a shape.
func TestEveryClassHasAShapeOnEachBassDegree(t *testing.T) {
	for _, class := range classes {
		for root := range 12 {
			chord := chordOf(t, harmony.C, class)
			chord.Root = rootNames[root][0]
			chord.Bass = chord.Root
			for _, d := range BassDegrees(chord) {
				shapes := StandardNeck().Shapes(DefaultHand(), Query{Chord: chord, Bass: d})
				require.NotEmpty(t, shapes, "%s of %s on %s", class, chord.Root, d)
				require.Equal(t, d, shapes[0].Degrees[0])
			}
		}
	}
}

// BenchmarkShapes asks for each quality class on each of its degrees and each
// root, on 15 frets, and reports the median and the 99th percentile of a query.
// Budget: p50 under 1 ms, p99 under 5 ms.
func BenchmarkShapes(b *testing.B) {
	var queries []Query
	for _, class := range classes {
		for root := range 12 {
			chord := chordOf(b, harmony.C, class)
			chord.Root = rootNames[root][0]
			chord.Bass = chord.Root
			for _, d := range chord.Degrees {
				queries = append(queries, Query{Chord: chord, Bass: d})
			}
		}
	}
	neck, hand := StandardNeck(), DefaultHand()
	var took []time.Duration
	for b.Loop() {
		for _, q := range queries {
			start := time.Now()
			neck.Shapes(hand, q)
			took = append(took, time.Since(start))
		}
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Microseconds()), "p50-µs")
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds()), "p99-µs")
	b.ReportMetric(float64(took[len(took)-1].Microseconds()), "max-µs")
}

// BenchmarkOneSearch and BenchmarkPlainEnumeration do the same job, G7 on its
// third on 15 frets. Budget: the first at least 1,000 times faster.
func BenchmarkOneSearch(b *testing.B) {
	chord, third := chordOf(b, harmony.G, "1 3 5 b7"), degreeOf(b, "3")
	for b.Loop() {
		StandardNeck().Shapes(DefaultHand(), Query{Chord: chord, Bass: third})
	}
}

func BenchmarkPlainEnumeration(b *testing.B) {
	neck, hand := StandardNeck(), DefaultHand()
	chord, third, heard := chordOf(b, harmony.G, "1 3 5 b7"), degreeOf(b, "3"), degreesOf(b, "3 b7")
	for b.Loop() {
		everyFrets(neck, func(frets []int) {
			if plainSounds(neck, chord, third, heard, true, frets) {
				plainFingering(neck, hand, frets)
			}
		})
	}
}
