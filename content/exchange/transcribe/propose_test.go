package transcribe_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content/exchange/transcribe"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// struckAt is chord tones as they are struck at once above their root, from MIDI note 40,
// for some beats.
func struckAt(at, length float64, root int, steps ...int) (out []transcribe.Sound) {
	for _, step := range steps {
		out = append(out, transcribe.Sound{At: at, Length: length, MIDI: 40 + (root+8)%12 + step})
	}
	return out
}

// Chords that sound whole over their roots are found, on every root; their tones in half
// steps are those of any chord dictionary (common practice, no source).
func TestProposedChordsAreThoseThatSound(t *testing.T) {
	for root := range 12 {
		for name, steps := range map[string][]int{"": {0, 4, 7}, "m": {0, 3, 7}, "7": {0, 4, 7, 10}, "m7": {0, 3, 7, 10}, "maj7": {0, 4, 7, 11}, "m7b5": {0, 3, 6, 10}, "dim7": {0, 3, 6, 9}, "7sus4": {0, 5, 7, 10}} {
			s := &transcribe.Score{Key: &harmony.Key{}, Meter: fourFour, Bars: make([]transcribe.Bar, 1)}
			losses := s.Propose([][]transcribe.Sound{struckAt(0, 4, root, steps...)})
			require.Len(t, s.Bars[0].Chords, 1)
			c := s.Bars[0].Chords[0].Chord
			want, err := harmony.ParseQuality(name)
			require.NoError(t, err)
			assert.Equal(t, root, c.Root.Semitone(), c)
			assert.Equal(t, want, c.Quality(), c)
			require.Len(t, losses, 1)
			assert.True(t, losses[0].Doubt)
			assert.Contains(t, losses[0].What, c.String()+" is proposed from the notes")
		}
	}
}

// Two chords share a bar where its halves say so, silent bars get none, and what
// is in doubt says what would do as well, the least sure first.
func TestProposalsBarByBar(t *testing.T) {
	bars := [][]transcribe.Sound{
		struckAt(0, 4, 7, 0, 4, 7), // G
		{{MIDI: 61}},               // of no length
		append(struckAt(0, 2, 9, 0, 3, 7), struckAt(2, 2, 2, 0, 4, 7, 10)...), // Am D7
		struckAt(0, 4, 11, 0, 7), // an open fifth on B
	}
	s := &transcribe.Score{Meter: fourFour, Bars: make([]transcribe.Bar, 5)}
	losses := s.Propose(bars)
	assert.Equal(t, "G", s.Key.String())
	var got []string
	for _, b := range s.Bars {
		row := ""
		for _, c := range b.Chords {
			row += fmt.Sprintf("%s@%g ", c.Chord, c.At)
		}
		got = append(got, row)
	}
	assert.Equal(t, []string{"G@0 ", "", "Am@0 D7@2 ", "Bm@0 ", ""}, got)
	assert.Equal(t, 4, losses[0].Bar, "an open fifth is the least sure")
	assert.Contains(t, losses[0].What, "fits nearly as well")
}

// Roots are spelled in the key, a diminished seventh that leads upward with a sharp.
func TestSpellingOfProposals(t *testing.T) {
	for _, c := range []struct {
		fifths, root int
		steps        []int
		want         string
	}{
		{-2, 6, []int{0, 3, 6, 9}, "F#dim7"}, {-2, 1, []int{0, 4, 7}, "Db"}, {4, 6, []int{0, 3, 7}, "F#m"}, {4, 5, []int{0, 4, 7}, "F"}, {3, 10, []int{0, 4, 7}, "A#"}, {-1, 11, []int{0, 3, 6, 10}, "Bm7b5"},
	} {
		key := harmony.KeyOf(c.fifths, false)
		s := &transcribe.Score{Key: &key, Meter: fourFour, Bars: make([]transcribe.Bar, 1)}
		s.Propose([][]transcribe.Sound{struckAt(0, 4, c.root, c.steps...)})
		assert.Equal(t, c.want, s.Bars[0].Chords[0].Chord.String())
	}
}

// Notes go under the chords of a tune bar by bar; where the two do not agree is told.
func TestUnderTheChordsOfATune(t *testing.T) {
	tn, faults := tune.Read("tune T\nkey F\nmeter 3/4\ntempo 90\n[A]\nchords | F | C7 . Bb |\n[B]\nchords | F |\n")
	require.Empty(t, faults)
	s := &transcribe.Score{Meter: tune.Meter{Upper: 3, Lower: 4}, Bars: make([]transcribe.Bar, 4)}
	losses := s.Under(tn)
	assert.Equal(t, "the file has 4 bars and a pass of T 3: bars beyond either are left out or without a bass", says(losses))
	require.Len(t, s.Bars, 3)
	assert.Equal(t, "F", s.Key.String())
	assert.Equal(t, []bool{true, false, true}, []bool{s.Bars[0].Starts, s.Bars[1].Starts, s.Bars[2].Starts})
	assert.Equal(t, 2.0, s.Bars[1].Chords[1].At)

	s = &transcribe.Score{Meter: fourFour, Bars: make([]transcribe.Bar, 3)}
	losses = s.Under(tn)
	require.Len(t, losses, 3)
	assert.Equal(t, "bar 1: the bar is in 4/4, that of T in 3/4", losses[0].String())
}

// Of the two keys of a signature the chords choose.
func TestKeyAmong(t *testing.T) {
	major, minor := harmony.KeyOf(0, false), harmony.KeyOf(0, true)
	for row, want := range map[string]harmony.Key{"Dm7 G7 C": major, "Bm7b5 E7 Am": minor, "Am Dm E7 Am": minor, "C F G C": major, "N.C.": major} {
		var chords []harmony.Chord
		for _, symbol := range strings.Fields(row) {
			chords = append(chords, chord(t, symbol))
		}
		assert.Equal(t, want, transcribe.KeyAmong([]harmony.Key{major, minor}, chords), row)
	}
}
