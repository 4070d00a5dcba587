package harmony

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// MIDI 1.0: middle C is note 60 and A4, 440 Hz, is 69; the guitar's open
// strings E2 A2 D3 G3 B3 E4 are 40 45 50 55 59 64.
func TestMIDINumbers(t *testing.T) {
	for want, p := range map[int]Pitch{
		60: {Note{C, 0}, 4}, 69: {Note{A, 0}, 4}, 0: {Note{C, 0}, -1}, 127: {Note{G, 0}, 9}, 59: {Note{C, -1}, 4},
		40: {Note{E, 0}, 2}, 45: {Note{A, 0}, 2}, 50: {Note{D, 0}, 3}, 55: {Note{G, 0}, 3}, 64: {Note{E, 0}, 4}, 72: {Note{B, 1}, 4},
	} {
		require.Equal(t, want, p.MIDI(), p)
		back, ok := PitchOf(p.Note, want)
		require.True(t, ok)
		require.Equal(t, p, back)
	}
	_, ok := PitchOf(Note{C, 0}, 61)
	require.False(t, ok)
}

func TestParseNote(t *testing.T) {
	for text, want := range map[string]string{"C": "C", "Bb": "Bb", "E♭": "Eb", "F♯": "F#", "G##": "G##", "A𝄫": "Abb", "B𝄪": "B##"} {
		n, err := ParseNote(text)
		require.NoError(t, err)
		require.Equal(t, want, n.String())
	}
	for _, text := range []string{"", "H", "c", "Cb#", "Cbbb", "C ", "C4", "\xff"} {
		_, err := ParseNote(text)
		require.Error(t, err, text)
	}
}

func TestParseDegree(t *testing.T) {
	for _, d := range Degrees {
		back, err := ParseDegree(d.String())
		require.NoError(t, err)
		require.Equal(t, d, back)
	}
	d, err := ParseDegree("♭♭7")
	require.NoError(t, err)
	require.Equal(t, Degree{7, -2}, d)
	for _, s := range []string{"", "b", "8", "b8", "#7", "14", "131", "x", "bbbbbb7", "b7b", "𝄫7"} {
		_, err := ParseDegree(s)
		require.Error(t, err, s)
	}
}

// The spellings of design: b7 of D is C, b3 of F is Ab, b5 of Bb is Fb.
func TestDegreeOfRoot(t *testing.T) {
	require.Equal(t, Note{C, 0}, Degree{7, -1}.Of(Note{D, 0}))
	require.Equal(t, Note{A, -1}, Degree{3, -1}.Of(Note{F, 0}))
	require.Equal(t, Note{F, -1}, Degree{5, -1}.Of(Note{B, -1}))
	require.Equal(t, Note{A, -2}, Degree{7, -2}.Of(Note{B, -1}))
	require.Equal(t, Note{D, 0}, Degree{9, 0}.Of(Note{C, 0}))
}

func TestDegreeOfMIDI(t *testing.T) {
	const c, db, d, eb, f, gb, ab, a, bb, b = 60, 61, 62, 63, 65, 66, 68, 69, 70, 71
	for _, tt := range []struct {
		symbol string
		midi   int
		want   string
	}{
		{"C7", eb, "#9"}, {"Cm7", eb, "b3"}, {"Cdim7", a, "bb7"}, {"C6", a, "6"}, // the design's own cases
		{"C", eb, "b3"}, {"C", a, "6"}, {"C7", a, "13"}, {"Cm7", a, "13"}, {"Cdim", a, "bb7"}, {"C", f, "4"}, {"C7", f, "11"}, {"C7sus", f, "4"},
		{"C", gb, "#4"}, {"C7", gb, "#11"}, {"Cm7", gb, "b5"}, {"C7b5", gb, "b5"}, {"C", ab, "b6"}, {"C7", ab, "b13"}, {"C7#5", ab, "#5"}, {"Cm7#5", ab, "b6"},
		{"C", db, "b9"}, {"C", d, "9"}, {"Csus2", d, "2"}, {"C", b, "7"}, {"C7", b, "7"}, {"Cmaj7", bb, "b7"}, {"C", c, "1"}, {"C7sus", eb, "b3"},
		{"C5", 64, "3"}, {"C7#5", 67, "5"}, {"Am7", 40, "5"}, {"F#7", 0, "#11"}, {"C", -1, "7"},
	} {
		chord, err := ParseChord(tt.symbol)
		require.NoError(t, err)
		require.Equal(t, tt.want, chord.DegreeOf(tt.midi).String(), "%d over %s", tt.midi, tt.symbol)
	}
}

// Equal temperament: a note any octave up has twice the frequency, and the same
// name; every name of a degree sounds at its distance from the root.
func TestDegreesSoundAsNamed(t *testing.T) {
	symbols := []string{"C", "Eb7", "F#m7b5", "Bdim7", "Ab13#11", "G7alt", "Db+", "Am6", "D7sus", "E5"}
	rapid.Check(t, func(t *rapid.T) {
		chord, err := ParseChord(rapid.SampledFrom(symbols).Draw(t, "symbol"))
		require.NoError(t, err)
		midi := rapid.IntRange(0, 115).Draw(t, "midi")
		d := chord.DegreeOf(midi)
		require.Contains(t, Degrees, d)
		require.Equal(t, d, chord.DegreeOf(midi+12))
		require.Equal(t, midi%12, chord.Note(d).Semitone())
		p, ok := PitchOf(chord.Note(d), midi)
		require.True(t, ok)
		require.Equal(t, midi, p.MIDI())
	})
}

// Names of intervals: common practice, no source.
func TestIntervals(t *testing.T) {
	pitch := func(l Letter, alter, octave int8) Pitch { return Pitch{Note{l, alter}, octave} }
	for _, tt := range []struct {
		from, to Pitch
		want     string
	}{
		{pitch(C, 0, 4), pitch(C, 0, 4), "perfect unison"},
		{pitch(C, 0, 4), pitch(C, 1, 4), "augmented unison"},
		{pitch(C, 0, 4), pitch(C, -1, 4), "augmented unison down"},
		{pitch(C, 0, 4), pitch(E, -1, 4), "minor third"},
		{pitch(C, 0, 4), pitch(D, 1, 4), "augmented second"},
		{pitch(E, 0, 2), pitch(A, 0, 2), "perfect fourth"},
		{pitch(A, 0, 2), pitch(E, 0, 2), "perfect fourth down"},
		{pitch(B, 0, 2), pitch(F, 0, 3), "diminished fifth"},
		{pitch(F, 0, 2), pitch(B, 0, 2), "augmented fourth"},
		{pitch(C, 0, 3), pitch(B, -2, 3), "diminished seventh"},
		{pitch(C, 0, 3), pitch(C, 0, 4), "perfect octave"},
		{pitch(C, 0, 3), pitch(D, -1, 4), "minor ninth"},
		{pitch(C, 0, 3), pitch(F, 1, 4), "augmented eleventh"},
		{pitch(C, -1, 3), pitch(E, 1, 3), "2-fold augmented third"},
		{pitch(C, 1, 3), pitch(G, -1, 3), "2-fold diminished fifth"},
		{pitch(C, 1, 3), pitch(E, -2, 3), "2-fold diminished third"},
		{pitch(C, 0, 2), pitch(D, 0, 4), "major 16th"},
	} {
		require.Equal(t, tt.want, Between(tt.from, tt.to).String())
	}
}

func ExampleParseChord() {
	c, _ := ParseChord("Dm7b5")
	fmt.Println(c.Degrees, c.Notes())
	_, err := ParseChord("Dm7x5")
	fmt.Println(err)
	// Output:
	// [1 b3 b5 b7] [D F Ab C]
	// column 4: found "x"; want a quality (m, maj, dim, aug, sus), a number (6, 7, 9, 11, 13), a tension (b9, #11) or a slash and a bass note
}

func ExampleChord_DegreeOf() {
	eb, _ := ParseNote("Eb")
	for _, symbol := range []string{"C7", "Cm7"} {
		c, _ := ParseChord(symbol)
		fmt.Println(symbol, c.DegreeOf(eb.Semitone()))
	}
	// Output:
	// C7 #9
	// Cm7 b3
}

func ExampleChord_Transpose() {
	c, _ := ParseChord("Ebmaj7/G")
	from, _ := ParseKey("Bb")
	to, _ := ParseKey("F#")
	fmt.Println(c.Transpose(from, to))
	// Output: Bmaj7/D#
}

func ExampleChord_Scale() {
	c, _ := ParseChord("A7")
	key, _ := ParseKey("Dm")
	s := c.Scale(key)
	fmt.Println(s.Name, s.Notes(c.Root))
	// Output: phrygian dominant [A Bb C# D E F G]
}
