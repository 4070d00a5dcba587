package drills_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills"
	"footfall/harmony"
)

// The way to the b7 of D: seven letters from D end on C, ten half steps up.
func TestTheWayToASpelling(t *testing.T) {
	c, err := harmony.ParseChord("Dm7")
	require.NoError(t, err)
	d, err := harmony.ParseDegree("b7")
	require.NoError(t, err)
	assert.Equal(t, []string{
		"Count the letters from D, D E F G A B C: it is some kind of C.",
		"A b7 lies 10 half steps over the root D.",
		"So the b7 of Dm7 is C.",
	}, drills.Spell{Chord: c, Degree: d}.Steps())
}
