package musicxml

import (
	"testing"

	"footfall/harmony"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func chord(t *testing.T, s string) harmony.Chord {
	c, err := harmony.ParseChord(s)
	require.NoError(t, err)
	return c
}

// symbols has every kind of symbol that charts use.
var symbols = []string{
	"C", "Cm", "C-7", "CΔ7", "Cmaj9", "C6", "C6/9", "Cm6", "C7", "C9", "C11", "C13", "Cm11", "Cmaj13", "C7b9", "C7(b9,#11)", "C13#11",
	"C7alt", "Cm7b5", "Cø", "Cdim", "C°7", "Caug", "C+", "C7#5", "Csus2", "Csus4", "C7sus", "C9sus4", "Cadd9", "Cmadd9", "C5", "Cm(maj7)",
	"CmMaj7", "Cmaj7#11", "C/E", "Bb7/Ab", "F#m7b5/A", "E♭maj7", "N.C.", "NC", "B(b5)", "Bb5", "Cno3", "C7(no5)",
}

// TestHarmonyBothWays writes each symbol as a harmony element and reads it back:
// with the symbol's text, and from the kind and degrees alone.
func TestHarmonyBothWays(t *testing.T) {
	for _, s := range symbols {
		c, err := harmony.ParseChord(s)
		if err != nil {
			t.Logf("%s is no symbol here: %v", s, err)
			continue
		}
		h := writeHarmony(c)
		back, losses, ok := readHarmony(h, nil)
		require.True(t, ok, s)
		assert.Empty(t, losses, s)
		assert.Equal(t, c, back, s)

		h.Kinds[0].Text = nil
		back, losses, ok = readHarmony(h, nil)
		require.True(t, ok, s)
		assert.Empty(t, losses, "%s read as %s", s, back)
		assert.Equal(t, c.None, back.None, s)
		assert.Equal(t, c.Root, back.Root, s)
		assert.Equal(t, c.Bass, back.Bass, s)
		assert.ElementsMatch(t, c.Degrees, back.Degrees, "%s read as %s", s, back)
	}
}

// TestKindsOfTheStandard compares what each kind holds with what the MusicXML 4.0
// schema says of it in words (kind-value).
func TestKindsOfTheStandard(t *testing.T) {
	for kind, notes := range map[string]string{
		"major": "C E G", "minor": "C Eb G", "augmented": "C E G#", "diminished": "C Eb Gb",
		"dominant": "C E G Bb", "major-seventh": "C E G B", "minor-seventh": "C Eb G Bb", "diminished-seventh": "C Eb Gb Bbb",
		"augmented-seventh": "C E G# Bb", "half-diminished": "C Eb Gb Bb", "major-minor": "C Eb G B",
		"major-sixth": "C E G A", "minor-sixth": "C Eb G A",
		"dominant-ninth": "C E G Bb D", "major-ninth": "C E G B D", "minor-ninth": "C Eb G Bb D",
		"suspended-second": "C D G", "suspended-fourth": "C F G", "power": "C G",
	} {
		row, ok := rowOf(kind)
		require.True(t, ok, kind)
		got := ""
		for i, n := range chord(t, "C"+row.Name).Notes() {
			if i > 0 {
				got += " "
			}
			got += n.String()
		}
		assert.Equal(t, notes, got, kind)
	}
}

// TestDegreesOfTheStandard reads degree elements as the schema counts them: an
// alteration from the chord's own degree, an addition from a dominant chord.
func TestDegreesOfTheStandard(t *testing.T) {
	text := func(s string) *string { return &s }
	for _, c := range []struct {
		kind, want string
		text       *string
		degrees    []degreeElement
	}{
		{"dominant", "C7#9", nil, []degreeElement{{Value: degreeValue{Value: 9}, Alter: "1", Type: "add"}}},
		{"dominant", "C7b5", nil, []degreeElement{{Value: degreeValue{Value: 5}, Alter: "-1", Type: "alter"}}},
		{"minor-seventh", "Cm7b5", nil, []degreeElement{{Value: degreeValue{Value: 5}, Alter: "-1", Type: "alter"}}},
		{"major", "Cadd9", nil, []degreeElement{{Value: degreeValue{Value: 9}, Alter: "0", Type: "add"}}},
		{"dominant", "C7b9#11", nil, []degreeElement{{Value: degreeValue{Value: 9}, Alter: "-1", Type: "add"}, {Value: degreeValue{Value: 11}, Alter: "1", Type: "add"}}},
		{"major-seventh", "CΔ", text("Δ"), nil},
		{"major-seventh", "Cmaj7", text("a wrong text"), nil},
		{"other", "Cm7b5", text("m7b5"), nil},
		{"dominant", "C7b13", nil, []degreeElement{{Value: degreeValue{Value: 13}, Alter: "-1", Type: "add"}}},
		{"dominant", "C7alt", text("7alt"), nil},
		{"major", "Cadd9", nil, []degreeElement{{Value: degreeValue{Value: 2}, Alter: "0", Type: "add"}}},
		{"suspended-fourth", "C7sus4", text("7sus4"), []degreeElement{{Value: degreeValue{Value: 7}, Alter: "-1", Type: "add"}}},
		{"dominant-11th", "C11", nil, nil},
		{"dominant-11th", "C9#11", nil, []degreeElement{{Value: degreeValue{Value: 11}, Alter: "1", Type: "alter"}}},
		{"dominant-11th", "C9", nil, []degreeElement{{Value: degreeValue{Value: 11}, Alter: "0", Type: "subtract"}}},
		{"dominant-13th", "C13", nil, nil},
		{"dominant-13th", "C13#11", nil, []degreeElement{{Value: degreeValue{Value: 11}, Alter: "1", Type: "alter"}}},
		{"dominant-13th", "C13#11", nil, []degreeElement{{Value: degreeValue{Value: 11}, Alter: "1", Type: "add"}}},
		{"dominant-13th", "C13", nil, []degreeElement{{Value: degreeValue{Value: 11}, Alter: "0", Type: "subtract"}}},
		{"minor-seventh", "Cm7(b13)", nil, []degreeElement{{Value: degreeValue{Value: 5}, Alter: "1", Type: "add"}}},
	} {
		h := &harmonyElement{Roots: []root{{Step: step{Step: "C"}}}, Kinds: []kindElement{{Text: c.text, Value: c.kind}}, Degrees: c.degrees}
		got, losses, ok := readHarmony(h, nil)
		require.True(t, ok, c.want)
		assert.Empty(t, losses, c.want)
		assert.Equal(t, c.want, got.Symbol)
	}
	for _, kind := range []string{"Neapolitan", "Tristan", "other", "pedal"} {
		_, losses, ok := readHarmony(&harmonyElement{Roots: []root{{Step: step{Step: "C"}}}, Kinds: []kindElement{{Value: kind}}}, nil)
		assert.False(t, ok, kind)
		assert.NotEmpty(t, losses, kind)
	}
	// An empty kind is read by its text, and without any as the major chord that is
	// seen, which is told.
	for want, set := range map[string]*string{"C7alt": text("7alt"), "C": nil} {
		got, losses, ok := readHarmony(&harmonyElement{Roots: []root{{Step: step{Step: "C"}}}, Kinds: []kindElement{{Text: set}}}, nil)
		require.True(t, ok)
		assert.Equal(t, want, got.Symbol)
		assert.Equal(t, set == nil, len(losses) == 1, losses)
	}
	// What no symbol says comes as near as one can, not as the bare kind, and is told.
	got, losses, ok := readHarmony(&harmonyElement{Roots: []root{{Step: step{Step: "C"}}}, Kinds: []kindElement{{Value: "minor-ninth"}},
		Degrees: []degreeElement{{Value: degreeValue{Value: 9}, Alter: "-1", Type: "add"}, {Value: degreeValue{Value: 9}, Alter: "1", Type: "add"}}}, nil)
	require.True(t, ok)
	assert.Equal(t, "Cm7b9", got.Symbol)
	assert.Len(t, losses, 1)
	got, _, ok = readHarmony(&harmonyElement{Roots: []root{{Step: step{Step: "C"}}}, Kinds: []kindElement{{Value: "dominant"}}, Inversion: 3}, nil)
	require.True(t, ok)
	assert.Equal(t, "C7/Bb", got.Symbol)
}

// A kind of 11th or 13th stacks all below it in the standard (kind-value), so that a
// raised 11 is an alteration of its own, not one beside it.
func TestRaisedEleventhOfAThirteenth(t *testing.T) {
	kind, degrees := describe(chord(t, "C13#11"))
	assert.Equal(t, "dominant-13th", kind)
	assert.Equal(t, []degreeElement{{Value: degreeValue{Value: 11}, Alter: "1", Type: "alter"}}, degrees)
	kind, degrees = describe(chord(t, "C13"))
	assert.Equal(t, "dominant-13th", kind)
	assert.Empty(t, degrees)
}

// A seventh without its third is a changed dominant, not a power chord with more.
func TestKindOfAChordWithoutAThird(t *testing.T) {
	kind, degrees := describe(chord(t, "C7(no3)"))
	assert.Equal(t, "dominant", kind)
	assert.Equal(t, []degreeElement{{Value: degreeValue{Value: 3}, Alter: "0", Type: "subtract"}}, degrees)
}
