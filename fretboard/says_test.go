package fretboard

import (
	"strings"
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
		"since the last hit C falls a half step to B (b7 to 3), F comes in (b7), F drops out", says[1])
	assert.Regexp(t, "^over Cm7 its bass only passes, so it is the shape of F7 a half step away: every voice slides into it; since the last hit ", says[3])
}

// Voices are paired as they are heard and held: a note that both shapes have stays, the
// others go by the nearest way on their own string, and each is told by its name.
func TestVoicesArePairedByCommonTonesAndStrings(t *testing.T) {
	tn := readTune(t, `tune Test
key Eb
meter 4/4
tempo 100

[A]
chords | Bb7b9 | Ebmaj7 | Bb7 | Gbdim7 |
bass   | 1 - - - | 1 - - - | 1 - - - | /1 - - - |
hits   | on . . . | on . . . | on . . . | on . . . |
shapes | 6-x-6-7-x-7 . . . | x-6-x-7-8-6 . . . | 6-x-6-7-x-x . . . | x-9-10-8-x-x . . . |
`)
	a, err := Arrange(tn, StandardNeck(), DefaultHand(), BassHalves)
	require.NoError(t, err)
	var says []string
	for i := range a.Events {
		if a.Events[i].Kind == ShapeEvent {
			_, motion, _ := strings.Cut(a.Says(i), "since the last hit ")
			says = append(says, motion)
		}
	}
	// Bb7b9 sounds Ab, D and Cb above its bass, on strings 4, 3 and 1; Ebmaj7 D, G and Bb.
	assert.Equal(t, "B falls a half step to Bb (b9 to 5), G comes in (3), D stays (3 to 7), Ab drops out", says[1])
	// Ab and D, then C and Eb on the same strings.
	assert.Equal(t, "D rises a half step to Eb (3 to bb7), Ab rises a major third to C (b7 to b5)", says[3])
}

// A slash names its bass: a shape on another note is not that chord.
func TestTheBassThatASlashNames(t *testing.T) {
	for _, c := range []struct{ frets, over, role string }{
		{"x-3-x-0-1-0", "C/E", "the whole chord in root position, but E is not in the bass"},
		{"0-3-x-0-1-0", "C/E", "the whole chord with the third in the bass"},
		{"x-3-x-0-1-0", "C", "the whole chord in root position"},
		{"3-x-3-4-4-4", "G7alt", "an altered 7"},
	} {
		over, err := harmony.ParseChord(c.over)
		require.NoError(t, err)
		assert.Equal(t, c.role, StandardNeck().ReadOver(fretsOf(t, c.frets), over).Role, "%s over %s", c.frets, c.over)
	}
	over, err := harmony.ParseChord("Gbo7")
	require.NoError(t, err)
	assert.Regexp(t, "^root-position dim7 shape", StandardNeck().ReadOver(fretsOf(t, "x-9-7-8-x-x"), over).Says)
}
