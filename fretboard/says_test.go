package fretboard

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/harmony"
)

// Degrees in words keep their alteration where the chord does not have them.
func TestReadOverNamesAlteredBassNotes(t *testing.T) {
	for _, c := range []struct{ frets, over, role string }{
		{"x-6-5-5-5-x", "Am7", "the chord without its root with the flat fifth in the bass"},
		{"11-x-10-12-10-x", "Am7", "the chord with the flat fifth in the bass"},
		{"x-8-7-7-6-x", "Bm7b5", "the chord without its root, the flat fifth in the bass"},
		{"x-8-7-7-x-x", "Dm7", "the chord without its b7, the third in the bass"},
		{"x-4-5-5-x-x", "Am7", "the chord without its root and 5 with the major third in the bass"},
	} {
		over, err := harmony.ParseChord(c.over)
		require.NoError(t, err)
		o := StandardNeck().ReadOver(fretsOf(t, c.frets), over)
		assert.Equal(t, c.role, o.Role, "%s over %s", c.frets, c.over)
		assert.NotRegexp(t, `without its [^;]*\b5\b.* fifth in the bass`, o.Role)
	}
}

// A line on a hit says what each voice did since the one before.
func TestSaysWhatTheVoicesDid(t *testing.T) {
	tn := readTune(t, `tune Test
key C
meter 4/4
tempo 100

[A]
chords | Dm7 | G7 | Cm7 | F7 |
bass   | 1 \b7 \5 \b5 | \1 /3 /5 \b5 | \1 /b3 \1 \b5 | \1 /3 /5 \1 |
hits   | on . . . | on . . . | on . . on | on . . . |
shapes | x-5-x-5-6-x . . . | 3-x-3-4-x-x . . . | * . . * | * . . . |
`)
	a, err := Arrange(tn, StandardNeck(), DefaultHand(), BassHalves)
	require.NoError(t, err)
	var says []string
	for i := range a.Events {
		if a.Events[i].Kind == ShapeEvent {
			says = append(says, a.Says(i))
		}
	}
	require.Len(t, says, 5)
	assert.Equal(t, "root-position m7 shape; over Dm7 it sounds 1 b7 b3: the chord without its 5", says[0])
	assert.Equal(t, "root-position 7 shape; over G7 it sounds 1 b7 3: the chord without its 5; "+
		"since the last hit the b3 falls a tritone to the 3, the b7 falls a fifth to the b7", says[1])
	assert.Regexp(t, "^over Cm7 its bass only passes, so it is the next shape a half step away: every voice slides into F7; since the last hit the ", says[3])
}
