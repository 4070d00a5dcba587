package harmony

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Source: MIDI 1.0 note numbers, middle C (C4) being 60.
func TestPitchesHaveTheirNoteNumbers(t *testing.T) {
	for text, want := range map[string]int{"C-1": 0, "E2": 40, "A2": 45, "Cb4": 59, "B#3": 60, "A4": 69, "G9": 127} {
		p, err := ParsePitch(text)
		require.NoError(t, err)
		assert.Equal(t, want, p.MIDI(), text)
		assert.Equal(t, text, p.String())
	}
	for _, text := range []string{"", "E", "2", "H2", "E2x", "E22"} {
		_, err := ParsePitch(text)
		assert.Error(t, err, text)
	}
}

func TestPitchAtSpellsByTheDegree(t *testing.T) {
	c, err := ParseChord("Bbm7b5")
	require.NoError(t, err)
	assert.Equal(t, "Fb3", c.PitchAt(52).String())
}

// MIDI 1.0: 60 is middle C, here C4, and 69 is A4.
func TestFlatNames(t *testing.T) {
	for midi, want := range map[int]string{0: "C-1", 40: "E2", 46: "Bb2", 60: "C4", 61: "Db4", 69: "A4", 127: "G9"} {
		assert.Equal(t, want, FlatName(midi))
	}
}
