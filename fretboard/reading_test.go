package fretboard

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/harmony"
)

func fretsOf(t require.TestingT, s string) []int {
	frets, err := Standard.ParseFrets(s)
	require.NoError(t, err)
	return frets
}

func readingNamed(readings []Reading, symbol string) (Reading, bool) {
	i := slices.IndexFunc(readings, func(r Reading) bool { return r.Chord.Symbol == symbol })
	if i < 0 {
		return Reading{}, false
	}
	return readings[i], true
}

// Check shapes and same notes of two published chord tables, spelt by
// computation; the sixth and ninth readings are arithmetic on the note names.
func TestReadingKnownShapes(t *testing.T) {
	for _, c := range []struct {
		frets, symbol, degrees, inversion, omits string
		families                                 []Family
	}{
		{"8-x-9-9-8-x", "Cmaj7", "1 7 3 5", "root position", "", []Family{Drop3}},
		{"7-x-5-5-5-x", "Cmaj7/B", "7 5 1 3", "third inversion", "", []Family{Drop3}},
		{"x-3-5-4-5-x", "Cmaj7", "1 5 7 3", "root position", "", []Family{Drop2}},
		{"8-x-8-9-8-x", "C7", "1 b7 3 5", "root position", "", []Family{Drop3}},
		{"8-x-8-9-x-x", "C7", "1 b7 3", "root position", "5", []Family{Shell}},
		{"x-3-2-0-1-0", "C", "1 3 5 1 3", "root position", "", []Family{TriadInversion}},
		{"x-8-7-7-x-x", "Dm/F", "b3 5 1", "first inversion", "", []Family{TriadInversion}},
		{"x-0-2-0-1-0", "Am7", "1 5 b7 b3 5", "root position", "", nil},
		{"x-0-2-0-1-0", "C6/A", "6 3 5 1 3", "third inversion", "", []Family{SixthInBass}},
		{"x-0-1-0-1-x", "Am7b5", "1 b5 b7 b3", "root position", "", []Family{Drop2}},
		{"x-0-1-0-1-x", "Cm6/A", "6 b3 5 1", "third inversion", "", []Family{Drop2, SixthInBass}},
		{"x-7-9-7-8-x", "Em7", "1 5 b7 b3", "root position", "", []Family{Drop2}},
		{"x-7-9-7-8-x", "Cmaj9/E", "3 7 9 5", "first inversion", "1", []Family{Rootless}},
		{"x-5-6-5-6-x", "Dm7b5", "1 b5 b7 b3", "root position", "", []Family{Drop2}},
		{"x-5-6-5-6-x", "Bb9/D", "3 b7 9 5", "first inversion", "1", []Family{Rootless}},
		{"x-5-6-5-6-x", "Fm6/D", "6 b3 5 1", "third inversion", "", []Family{Drop2, SixthInBass}},
		{"x-2-3-2-3-x", "Dm/B", "6 b3 5 1", "6 in the bass", "", []Family{SixthInBass}},
		{"x-5-5-5-5-x", "C/D", "9 5 1 3", "9 in the bass", "", nil},
		{"x-1-3-3-3-1", "Bb", "1 5 1 3 5", "root position", "", []Family{TriadInversion}},
		{"2-4-4-3-2-2", "F#", "1 5 1 3 5 1", "root position", "", []Family{TriadInversion}},
		{"x-6-8-8-7-6", "Ebm", "1 5 1 b3 5", "root position", "", []Family{TriadInversion}},
		{"x-4-6-6-5-4", "C#m", "1 5 1 b3 5", "root position", "", []Family{TriadInversion}},
		{"x-8-10-10-8-x", "Csus4/F", "4 1 4 5", "first inversion", "", nil},
		{"x-5-5-5-3-x", "Csus2/D", "2 5 1 2", "first inversion", "", nil},
		{"3-5-5-x-x-x", "G5", "1 5 1", "root position", "", nil},
	} {
		readings := StandardNeck().Read(fretsOf(t, c.frets))
		r, ok := readingNamed(readings, c.symbol)
		if !assert.True(t, ok, "%s is not read as %s", c.frets, c.symbol) {
			continue
		}
		assert.Equal(t, c.degrees, spellDegrees(r.Degrees), "%s as %s", c.frets, c.symbol)
		assert.Equal(t, c.inversion, r.Inversion, "%s as %s", c.frets, c.symbol)
		assert.Equal(t, c.omits, spellDegrees(r.Omits), "%s as %s", c.frets, c.symbol)
		assert.ElementsMatch(t, c.families, r.Families, "%s as %s", c.frets, c.symbol)
	}
}

// The claim that Cmaj7 holds the same notes as Em6 is false: Em6 has C#, Cmaj7
// has C. Computed.
func TestNoMajorSeventhIsAMinorSixth(t *testing.T) {
	shapes := StandardNeck().Shapes(DefaultHand(), Query{Chord: chordOf(t, harmony.C, "1 3 5 7")})
	require.Greater(t, len(shapes), 100)
	for _, s := range shapes {
		for _, r := range StandardNeck().Read(s.Frets) {
			require.False(t, r.Chord.Quality().Name() == "m6" && r.Chord.Root == harmony.Note{Letter: harmony.E}, "%s", s)
		}
	}
}

// Orders from two published tables (drop 2) and by computation (drop 3); string
// sets from the same tables.
func TestDropVoicings(t *testing.T) {
	neck := StandardNeck()
	for _, c := range []struct {
		family  Family
		sets    [][]int
		orders  []string
		quality string
	}{
		{Drop2, [][]int{{4, 3, 2, 1}, {5, 4, 3, 2}, {6, 5, 4, 3}}, []string{"5 1 3 7", "7 3 5 1", "1 5 7 3", "3 7 1 5"}, "maj7"},
		{Drop3, [][]int{{5, 3, 2, 1}, {6, 4, 3, 2}}, []string{"3 1 5 7", "5 3 7 1", "7 5 1 3", "1 7 3 5"}, "maj7"},
	} {
		for _, set := range c.sets {
			orders := map[string]bool{}
			everyFourFrets(func(f [4]int) {
				frets := []int{-1, -1, -1, -1, -1, -1}
				for i, s := range set {
					frets[6-s] = f[i]
				}
				for _, r := range neck.Read(frets) {
					if r.Chord.Quality().Name() == c.quality && slices.Contains(r.Families, c.family) {
						orders[spellDegrees(r.Degrees)] = true
					}
				}
			})
			for _, o := range c.orders {
				assert.True(t, orders[o], "%s on strings %v: %s", c.family, set, o)
			}
			assert.Len(t, orders, 4, "%s on strings %v: %v", c.family, set, orders)
		}
	}
}

// everyFourFrets gives all sets of four frets from 3 to 13 within five frets.
func everyFourFrets(f func([4]int)) {
	for low := 3; low <= 9; low++ {
		for k := range 5 * 5 * 5 * 5 {
			set := [4]int{low + k%5, low + k/5%5, low + k/25%5, low + k/125%5}
			f(set)
		}
	}
}

func TestReadOverSays(t *testing.T) {
	for _, c := range []struct {
		frets string
		over  harmony.Chord
		says  string
	}{
		{"x-2-3-2-3-x", symbol(chordOf(t, harmony.G, "1 3 5 b7"), "G7"),
			"root-position m7b5 shape; over G7 it sounds 3 b7 9 5: a rootless 9 with the third in the bass"},
		{"x-2-3-2-3-x", symbol(chordOf(t, harmony.D, "1 b3 5"), "Dm"),
			"root-position m7b5 shape; over Dm it sounds 6 b3 5 1: the whole chord with the sixth in the bass"},
		{"x-8-7-7-x-x", symbol(chordOf(t, harmony.D, "1 b3 5"), "Dm"),
			"first-inversion minor triad shape; over Dm it sounds b3 5 1: the whole chord with the third in the bass"},
		{"x-7-9-7-8-x", symbol(chordOf(t, harmony.C, "1 3 5 7"), "Cmaj7"),
			"root-position m7 shape; over Cmaj7 it sounds 3 7 9 5: a rootless maj9 with the third in the bass"},
		{"x-0-2-0-1-x", symbol(chordOf(t, harmony.C, "1 3 5"), "C"),
			"root-position m7 shape; over C it sounds 6 3 5 1: the whole chord with the sixth in the bass"},
		{"x-3-2-0-1-0", symbol(chordOf(t, harmony.A, "1 b3 5"), "Am"),
			"root-position major triad shape; over Am it sounds b3 5 b7 b3 5: a rootless m7 with the third in the bass"},
		{"8-x-8-9-x-x", symbol(chordOf(t, harmony.C, "1 3 5 b7"), "C7"),
			"root-position 7 shape; over C7 it sounds 1 b7 3: the chord without its 5"},
		{"x-3-2-0-1-0", symbol(chordOf(t, harmony.D, "1 3 5"), "D"),
			"root-position major triad shape; over D it sounds b7 9 4 b7 9: b7, 9 and 4 lie outside the chord"},
	} {
		assert.Equal(t, c.says, StandardNeck().ReadOver(fretsOf(t, c.frets), c.over).Says)
	}
}

func symbol(c harmony.Chord, s string) harmony.Chord {
	c.Symbol = s
	return c
}

// Every reading's degrees spell what sounds, and its chord is what sounds but
// for what it says it omits, adds or has in the bass.
func TestReadingsAreTrue(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		frets := rapid.SliceOfN(rapid.IntRange(-1, 6), 6, 6).Draw(t, "frets")
		neck := StandardNeck()
		sounding, lowest := neck.sounds(frets)
		for _, r := range neck.Read(frets) {
			name := fmt.Sprint(FormatFrets(frets), " as ", r.Chord.Symbol)
			require.Len(t, r.Degrees, len(sounding), name)
			pcs := map[int]bool{}
			for i, d := range r.Degrees {
				require.Equal(t, sounding[i]%12, d.Of(r.Chord.Root).Semitone(), name)
				require.Equal(t, sounding[i]%12, r.Notes[i].Semitone(), name)
				pcs[sounding[i]%12] = true
			}
			require.Equal(t, lowest%12, r.Chord.Bass.Semitone(), name)
			want := map[int]bool{lowest % 12: true}
			for _, d := range r.Chord.Degrees {
				if !slices.Contains(r.Omits, d) {
					want[d.Of(r.Chord.Root).Semitone()] = true
				}
			}
			for _, d := range r.Adds {
				want[d.Of(r.Chord.Root).Semitone()] = true
			}
			require.Equal(t, want, pcs, name)
		}
	})
}
