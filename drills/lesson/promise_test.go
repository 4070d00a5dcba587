package lesson_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/lesson"
	"footfall/fretboard"
)

// promised is a lesson whose one passage promises something, of its own tune of four
// bars, which are played in full.
func promised(t *testing.T, layer, promises string) (*lesson.Lesson, []string) {
	t.Helper()
	l, faults := lesson.Read("l", `lesson L
goal   G
[text]
T
[practice]
play | tune here | layer `+layer+` | school shells | ramp 60:80 | done 1 clean at 80
has  | `+promises+`
[tune]
tune   Four Bars
key    Cm
meter  4/4
tempo  80
swing  2:1

[A]
chords | Cm7           | Db7           | Cm7/Bb   | Fm7 . . C7    |
bass   | 1 /b3 /5 \2   | \1 /3 /5 \b9  | \b7 - - - | 1 /b3 /5 /1  |
hits   | on . on .     | on . . push   | .  . . . | on . . on     |
words  | one           | two ’         |          |               |
`, tunes)
	require.Empty(t, faults)
	broken, err := l.Tasks[0].Passage.Broken(l.Own, fretboard.StandardNeck(), fretboard.DefaultHand())
	require.NoError(t, err)
	return l, broken
}

// Each promise is kept by one passage that has what it says, and told where it has not.
func TestPromises(t *testing.T) {
	for _, c := range []struct{ kept, broken, has string }{
		{"bars 4", "bars 5", "4"},
		{"key Cm", "key C", "Cm"},
		{"meter 4/4", "meter 3/4", "4/4 in bar 1"},
		{"swung", "straight", "2:1"},
		{"chords m7 7", "chords maj7", "no maj7"},
		{"bass 1 b3 5 2 3 b9 b7", "bass 1 b3 5 2", "a 3 in bar 2"},
		{"bass 1 b3 5 2 3 b9 b7", "bass 1 b3 5 2 3 b9 b7 6", "no 6"},
		{"uses b3 5", "uses 6", "no 6"},
		{"roots 50", "roots 100", "75"},
		{"steps 33", "steps 90", "33"},
		{"holds 1", "holds 2", "1"},
		{"notes 3", "notes 2", "a shape of 3 in bar 1"},
		{"strings 4 3 2", "strings 2 1", "a note on string"},
		{"under 1 5 b7", "under 1", "a hit on the 5 in bar 1"},
		{"hits on push", "hits on", "push in bar 2"},
		{"hits on push", "hits on push and", "no and"},
		{"most 2", "most 1", "2 hits in bar 1"},
		{"middle 5 m7:5", "middle 7:5", "no 7:5"},
		{"inversions 1", "inversions 3", ""},
		{"slash 1", "slash 2", "1"},
		{"tritone 1", "tritone 2", "1"},
		{"sections A", "sections A B", "A"},
		{"cues 2", "cues 3", "2"},
		{"breaths 1", "breaths 2", "1"},
	} {
		_, broken := promised(t, "bass+halves", c.kept)
		assert.Empty(t, broken, c.kept)
		_, broken = promised(t, "bass+halves", c.broken)
		require.Len(t, broken, 1, c.broken)
		assert.True(t, strings.HasPrefix(broken[0], "it promises "+c.broken+", and has "+c.has), broken[0])
	}
	_, broken := promised(t, "bass", "most 1 | notes 3 | strings 4 | bars 4")
	assert.Len(t, broken, 3, "nothing is struck in the bass alone: %v", broken)
	l, broken := promised(t, "free", "bars 4 | cues 2")
	assert.Empty(t, broken)
	assert.Equal(t, "lesson-l", l.Tasks[0].Passage.Tune)
	assert.Equal(t, "Play Four Bars, with a line of your own, shells, 60 to 80 BPM", l.Tasks[0].Says())
	assert.Equal(t, "1 clean pass at 80", l.Tasks[0].Criterion())
}

// What is no promise, and what promises of no passage, is a fault in its place.
func TestFaultsOfPromises(t *testing.T) {
	_, faults := lesson.Read("l", `lesson L
goal G
needs
teaches a, b
teaches c
[text]
T
[practice]
has | bars 3
drill | hits | chords C7 | rhythms 1; 9 | done 1 of 2
play | tune two-bars | layer bass | ramp 60:80 | done 1 clean at 80
has | bars | bars x | key | uses H | middle m7:x | sing | meter 3/4
drill | find | chords C7 | rhythms 1 | done 1 of 2
play | tune here | ramp 60:80 | done 1 clean at 80
`, tunes)
	type at struct{ line, column int }
	var got []at
	for _, f := range faults {
		got = append(got, at{f.Line, f.Column})
	}
	assert.Equal(t, []at{{3, 1}, {5, 1}, {9, 1}, {10, 28}, {12, 7}, {12, 14}, {12, 23}, {12, 29}, {12, 38}, {12, 52}, {13, 9}, {14, 8}}, got, "%v", faults)
}

// Faults of a lesson's own tune are told at their lines in the lesson.
func TestFaultsOfTheOwnTune(t *testing.T) {
	_, faults := lesson.Read("l", "lesson L\ngoal G\n[text]\nT\n[practice]\nplay | tune here | section B | layer bass | ramp 60:80 | done 1 clean at 80\n[tune]\ntune X\nkey C\nmeter 4/4\ntempo 80\n[A]\nchords | H |\n", tunes)
	require.Len(t, faults, 1, "%v", faults)
	assert.Equal(t, 13, faults[0].Line)
}
