package fretboard_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/fretboard"
	"footfall/harmony"
)

// The inversions of four voices bottom to top, by the places of the tones in the
// chord, and the sets of strings they lie on, from string 1 as the sources count:
// drop 2 from two published tables that agree, drop 3 worked out from its
// definition (both in the design's figures).
var (
	drop2Voices = []string{"5137", "7351", "1573", "3715"}
	drop3Voices = []string{"3157", "5371", "7513", "1735"}
	triadVoices = []string{"135", "351", "513"}
)

var voicedFamilies = []struct {
	family fretboard.Family
	voices []string
	sets   []string
}{
	{fretboard.Drop2, drop2Voices, []string{"1234", "2345", "3456"}},
	{fretboard.Drop3, drop3Voices, []string{"1235", "2346"}},
	{fretboard.TriadInversion, triadVoices, []string{"123", "234", "345", "456"}},
}

// tabled works out from a table where the inversions of a chord lie on a set of
// strings, by MIDI numbers alone, in order up the neck.
func tabled(t *testing.T, n fretboard.Neck, c harmony.Chord, voices []string, set string) []string {
	var frets []string
	for at := 0; at <= n.HighestFret; at++ {
		for _, v := range voices {
			shape := []int{-1, -1, -1, -1, -1, -1}
			low, fits := 0, true
			for i := range v {
				str := int(set[len(set)-1-i] - '0')
				tone := c.Degrees[strings.IndexByte("1357", v[i])].Semitones()
				f := mod12(c.Root.Semitone() + tone - n.Tuning.Open(str))
				if i > 0 {
					for n.Tuning.Open(str)+f <= low || f < 0 {
						f += 12
					}
					for n.Tuning.Open(str)+f-12 > low {
						f -= 12
					}
				} else if f != at%12 {
					fits = false
				} else {
					f = at
				}
				low = n.Tuning.Open(str) + f
				shape[len(shape)-str] = f
				fits = fits && f >= 0 && f <= n.HighestFret
			}
			if fits {
				frets = append(frets, fretboard.FormatFrets(shape))
			}
		}
	}
	return frets
}

func mod12(n int) int { return (n%12 + 12) % 12 }

// A shape's family is that of the tables on every set of strings, from each of its
// members, over twelve roots; each member is read back as its inversion and of its
// voicing family.
func TestFamiliesAgreeWithTables(t *testing.T) {
	n, h := fretboard.StandardNeck(), fretboard.DefaultHand()
	inversions := []string{"root position", "first inversion", "second inversion", "third inversion"}
	members := 0
	for _, v := range voicedFamilies {
		qualities := strings.Fields("maj7 7 m7 m7b5 6 m6 mMaj7 dim7 maj7#5 7b5")
		if len(v.voices) == 3 {
			qualities = []string{"", "m", "dim", "aug"}
		}
		for _, quality := range qualities {
			for root := range 12 {
				c, err := harmony.ParseChord(strings.Fields("C Db D Eb E F F# G Ab A Bb B")[root] + quality)
				require.NoError(t, err)
				for _, set := range v.sets {
					want := tabled(t, n, c, v.voices, set)
					require.NotEmpty(t, want)
					for _, text := range want {
						frets, err := n.Tuning.ParseFrets(text)
						require.NoError(t, err)
						family, err := n.Along(h, c, frets)
						require.NoError(t, err)
						var got []string
						for _, s := range family {
							got = append(got, s.String())
							r, ok := n.ReadAs(s.Frets, c)
							require.True(t, ok, "%s is not read as %s", s, c.Symbol)
							require.Equal(t, r.Degrees, s.Degrees)
							at := 0
							for i, d := range c.Degrees {
								if d == s.Degrees[0] {
									at = i
								}
							}
							require.Equal(t, inversions[at], r.Inversion, "%s of %s", s, c.Symbol)
							require.Contains(t, r.Families, v.family, "%s of %s", s, c.Symbol)
						}
						require.Equal(t, want, got, "%s along %s", c.Symbol, text)
						members += len(got)
					}
				}
			}
		}
	}
	assert.Greater(t, members, 10000)
}

// What stands beside the tables: the fourths of a 6/9 chord, twice and five frets
// apart, and a dim7 shape, which repeats every three frets (common practice, no
// source); a rootless ninth; and what is no shape of its chord.
func TestFamiliesOfOtherShapes(t *testing.T) {
	n, h := fretboard.StandardNeck(), fretboard.DefaultHand()
	for _, c := range []struct{ symbol, frets, want string }{
		{"C6/9", "x-x-2-2-3-3", "x-x-2-2-3-3 x-x-7-7-8-8 x-x-14-14-15-15"},
		{"F6/9", "x-x-7-7-8-8", "x-x-0-0-1-1 x-x-7-7-8-8 x-x-12-12-13-13"},
		{"Cdim7", "x-3-4-2-4-x", "x-3-4-2-4-x x-6-7-5-7-x x-9-10-8-10-x x-12-13-11-13-x"},
		{"C7", "x-x-2-3-3-3", "x-x-2-3-3-3 x-x-5-7-5-6 x-x-8-9-8-10 x-x-12-12-11-12 x-x-14-15-15-15"},
		{"Gsus4", "x-x-5-5-3-x", "x-x-0-0-1-x x-x-5-5-3-x x-x-10-7-8-x x-x-12-12-13-x"},
		{"G5", "3-5-x-x-x-x", "3-5-x-x-x-x 10-10-x-x-x-x"},
		{"G5", "x-10-12-12-x-x", "x-5-5-7-x-x x-10-12-12-x-x"},
	} {
		chord, err := harmony.ParseChord(c.symbol)
		require.NoError(t, err)
		frets, err := n.Tuning.ParseFrets(c.frets)
		require.NoError(t, err)
		family, err := n.Along(h, chord, frets)
		require.NoError(t, err)
		var got []string
		for _, s := range family {
			got = append(got, s.String())
		}
		assert.Equal(t, c.want, strings.Join(got, " "), "%s along %s", c.symbol, c.frets)
	}
	for _, c := range []struct{ symbol, frets, want string }{
		{"C7", "x-3-2-3-3-x", "the 9 on string 2 is not in C7"},
		{"Cmaj7", "x-3-2-x-x-x", "it has too few notes of Cmaj7"},
		{"C", "x-15-17-17-17-15", "fret 17 is past the neck's last, 15"},
		{"N.C.", "x-3-2-0-1-0", "there is no chord to sound"},
	} {
		chord, err := harmony.ParseChord(c.symbol)
		require.NoError(t, err)
		frets, err := n.Tuning.ParseFrets(c.frets)
		require.NoError(t, err)
		_, err = n.Along(h, chord, frets)
		assert.EqualError(t, err, c.want)
	}
}
