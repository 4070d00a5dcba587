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
