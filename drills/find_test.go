package drills

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/fretboard"
	"footfall/harmony"
)

func TestStepsLeadToTheAnswer(t *testing.T) {
	steps := func(symbol, degree string, str int) []string {
		c, err := harmony.ParseChord(symbol)
		require.NoError(t, err)
		d, err := harmony.ParseDegree(degree)
		require.NoError(t, err)
		return Find{Chord: c, Degree: d, String: str, Neck: fretboard.StandardNeck()}.Steps()
	}
	assert.Equal(t, []string{
		"The b3 of Fm7 is the note Ab.", "String 6 open is E, and each fret is a half step up.", "So Ab is fret 4: 4 half steps up.",
	}, steps("Fm7", "b3", 6))
	assert.Equal(t, "So A is fret 0 or 12: the open string, or twelve half steps up.", steps("F", "3", 5)[2])
	assert.Equal(t, "So F is fret 1 or 13: one half step up.", steps("F", "1", 6)[2])
}
