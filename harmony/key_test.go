package harmony

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Key signatures: common practice, no source.
func TestSignatures(t *testing.T) {
	major := strings.Fields("Cb Gb Db Ab Eb Bb F C G D A E B F# C#")
	minor := strings.Fields("Abm Ebm Bbm Fm Cm Gm Dm Am Em Bm F#m C#m G#m D#m A#m")
	for i := range major {
		for _, name := range []string{major[i], minor[i]} {
			k, err := ParseKey(name)
			require.NoError(t, err)
			require.Equal(t, i-7, k.Signature(), name)
			require.Equal(t, name, k.String())
		}
	}
}

func TestParseKey(t *testing.T) {
	for text, want := range map[string]string{
		"Bb major": "Bb", "B♭": "Bb", "D minor": "Dm", "F# minor": "F#m", "F♯ Minor": "F#m", "C maj": "C", "A min": "Am", " G ": "G", "C-": "Cm",
	} {
		k, err := ParseKey(text)
		require.NoError(t, err, text)
		require.Equal(t, want, k.String())
	}
	for text, says := range map[string]string{
		"": "Bb, F#m", "H": "Bb, F#m", "bb": "Bb, F#m", "C dorian": "Bb, F#m", "Cm7": "Bb, F#m",
		"G#": "write Ab", "Fb": "write E", "Dbm": "write C#m", "B#m": "write Cm", strings.Repeat("C", 100): "at most",
	} {
		_, err := ParseKey(text)
		require.ErrorContains(t, err, says, text)
	}
}

// Every key within seven accidentals reads back, has its own signature, and its
// scale has as many altered notes as the signature says, none doubled (common
// practice, no source).
func TestSignatureOfEveryKey(t *testing.T) {
	for sig := -7; sig <= 7; sig++ {
		for _, k := range []Key{KeyOf(sig, false), KeyOf(sig, true)} {
			require.Equal(t, sig, k.Signature())
			back, err := ParseKey(k.String())
			require.NoError(t, err)
			require.Equal(t, k, back)
			scale := ionian
			if k.Minor {
				scale = aeolian
			}
			altered := 0
			for _, n := range scale.Notes(k.Tonic) {
				altered += int(n.Alter)
				require.Equal(t, n.Alter, k.Alter(n.Letter), "%s in %s", n.Letter, k)
				require.LessOrEqual(t, n.Alter*n.Alter, int8(1), "%s in %s", n, k)
			}
			require.Equal(t, sig, altered, k.String())
		}
	}
}

func TestTranspose(t *testing.T) {
	for _, tt := range []struct{ symbol, from, to, want string }{
		{"Cm7", "Bb", "C", "Dm7"},
		{"F7/Eb", "Bb", "E", "B7/A"},
		{"Ebmaj7", "Bb", "F#", "Bmaj7"},
		{"E♭6/9", "Eb", "C", "C6/9"},
		{"Gbmaj7", "Bb", "Gb", "Dmaj7"},  // b6 of Gb is Ebb: D serves
		{"F#dim7", "F", "C#", "Ddim7"},   // #1 of C# is C##
		{"E7", "C", "F#", "A#7"},         // the 3 of F#
		{"Em7b5", "Dm", "G#m", "A#m7b5"}, // the 2 of G#
		{"Bb7", "F", "Cb", "Fb7"},        // the 4 of Cb
		{"Bbb9", "Bb", "C", "C(b9)"},     // not the ninth chord of Cb
		{"Bb#9#11", "Bb", "B", "B(#9)#11"},
		{"Cm/maj7/G", "C", "D", "Dm/maj7/A"},
		{"N.C.", "C", "D", "N.C."},
	} {
		c, err := ParseChord(tt.symbol)
		require.NoError(t, err)
		from, err := ParseKey(tt.from)
		require.NoError(t, err)
		to, err := ParseKey(tt.to)
		require.NoError(t, err)
		moved := c.Transpose(from, to)
		require.Equal(t, tt.want, moved.Symbol)
		again, err := ParseChord(moved.Symbol)
		require.NoError(t, err)
		require.Equal(t, again, moved)
		require.Equal(t, c.Degrees, moved.Degrees)
		if !c.None {
			require.Equal(t, mod(to.Tonic.Semitone()-from.Tonic.Semitone(), 12), mod(moved.Root.Semitone()-c.Root.Semitone(), 12))
		}
	}
	// Through every pair of keys no root or bass gets a double accidental.
	for _, symbol := range []string{"C", "Dbmaj7", "F#m7b5/E", "Bb7", "G#dim7"} {
		c, err := ParseChord(symbol)
		require.NoError(t, err)
		for from := -7; from <= 7; from++ {
			for to := -7; to <= 7; to++ {
				moved := c.Transpose(Key{noteAtFifths(from), false}, Key{noteAtFifths(to), false})
				require.NotContains(t, moved.Root.String(), "bb")
				require.NotContains(t, moved.Root.String(), "##")
				require.NotContains(t, moved.Bass.String(), "##")
			}
		}
	}
}

// The scales of chords in their keys: common practice, no source.
func TestChordScale(t *testing.T) {
	for _, tt := range []struct{ symbol, key, want string }{
		{"Cmaj7", "C", "major"}, {"Dm7", "C", "dorian"}, {"Em7", "C", "phrygian"}, {"Fmaj7", "C", "lydian"},
		{"G7", "C", "mixolydian"}, {"Am7", "C", "natural minor"}, {"Bm7b5", "C", "locrian"},
		{"Am", "Am", "natural minor"}, {"E7", "Am", "phrygian dominant"}, {"AmM7", "Am", "harmonic minor"}, {"F#m7b5", "Am", "locrian natural 2"},
		{"Dm7", "Am", "dorian"}, {"D7", "Am", "lydian dominant"}, {"G#dim7", "Am", "altered bb7"},
		{"F7", "F", "mixolydian"}, {"Bb13#11", "F", "lydian dominant"}, {"E7alt", "F", "altered"}, {"D7b9", "C", "phrygian dominant"},
		{"C7#9", "G", "diminished, half-whole"}, {"C+7", "G", "whole tone"}, {"Ebmaj7", "C", "major"}, {"Ebmaj7#11", "C", "lydian"},
		{"Ab+", "C", "lydian augmented"}, {"C#dim7", "C", "diminished, whole-half"}, {"Gm7", "C", "dorian"}, {"GmM7", "C", "melodic minor"},
		{"C#m7b5", "C", "locrian"}, {"Bb7sus", "C", "mixolydian"}, {"Bb7sus(b9)", "C", "phrygian"},
	} {
		c, err := ParseChord(tt.symbol)
		require.NoError(t, err)
		k, err := ParseKey(tt.key)
		require.NoError(t, err)
		s := c.Scale(k)
		require.Equal(t, tt.want, s.Name, "%s in %s", tt.symbol, tt.key)
		require.True(t, s.holds(c))
		require.Len(t, s.Notes(c.Root), len(s.Degrees))
	}
	for i, s := range majorModes { // modes rotate one scale
		require.Equal(t, pitchClasses(ionian, Note{}), pitchClasses(*s, ionian.Degrees[i].Of(Note{})), s.Name)
		require.Equal(t, pitchClasses(melodicMinor, Note{}), pitchClasses(*melodicModes[i], melodicMinor.Degrees[i].Of(Note{})), melodicModes[i].Name)
		require.Equal(t, pitchClasses(harmonicMinor, Note{}), pitchClasses(*harmonicModes[i], harmonicMinor.Degrees[i].Of(Note{})), harmonicModes[i].Name)
	}
}

func pitchClasses(s Scale, root Note) (in [12]bool) {
	for _, n := range s.Notes(root) {
		in[n.Semitone()] = true
	}
	return in
}
