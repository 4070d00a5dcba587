package content_test

import (
	"strings"
	"testing"

	"footfall/content"
	"footfall/drills/lesson"
	"footfall/fretboard"
	"footfall/harmony/tune"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// trained holds what each tune says it trains to its music: as promises of lessons, of the
// whole tune or of a section, and as words of the sentence that must not stand there unless
// they are true.
var trained = map[string][]string{
	"cardboard-hat-blues":   {"layer bass+changes | has | bass 1 5 | chords 7 | under 1 | most 1"},
	"two-gateposts":         {"layer bass | has | steps 100 | roots 100", "section A | layer bass | has | holds 4"},
	"pump-house-vamp":       {"layer bass | has | uses 1 2 b3 4 5 6 b7"},
	"moss-on-the-stairs":    {"layer bass+halves | has | holds 32 | middle b3 3 5 b7 6 | most 2"},
	"the-gate-unhung":       {"layer bass | has | holds 40 | cues 24 | breaths 12"},
	"nine-cellar-steps":     {"section A | layer bass+changes | has | slash 7 | inversions 7", "section B | layer bass+changes | has | slash 2"},
	"slow-tap-dripping":     {"layer bass | has | meter 12/8 | swung"},
	"lamp-in-the-boathouse": {"layer bass+changes | has | holds 14 | hits on"},
	"bus-shelter-song":      {"section A | layer bass | has | slash 1 | holds 4 | straight", "section B | layer bass | has | slash 1 | straight"},
	"coal-shed-minor":       {"layer bass | has | uses b3 b6"},
	"fog-over-the-gravel":   {"layer bass | has | steps 100 | meter 4/4"},
	"rope-swing-at-dusk":    {"layer bass | has | meter 6/8 | uses 1 5 b5"},
	"tin-kettle-blues":      {"layer bass | has | steps 80 | roots 100"},
	"crooked-ladle-blues":   {"layer bass+halves | has | key Bb | middle 3 b3 5 6 b7 bb7 1 | most 2"},
	"key-ring":              {"section A | layer bass | has | chords m7 7 maj7", "section D | layer bass | has | chords m7 7 maj7"},
	"harbour-wall-at-six":   {"layer bass | has | chords m7b5 7b9 | uses b5"},
	"lantern-street":        {"layer bass | has | bars 32 | key Bb | slash 3"},
	"short-ladder":          {"layer bass | has | meter 2/4 | slash 3 | uses 1 5 3"},
	"third-floor-waltz":     {"layer bass | has | meter 3/4 | roots 100 | steps 85"},
	"salt-on-the-sill":      {"layer bass+halves | has | straight | hits on and"},
	"side-gate":             {"layer bass | has | tritone 4"},
	"last-coat-on-the-hook": {"section Intro | layer bass | has | slash 3", "section Ending | layer bass | has | tritone 1"},
	"nine-wet-umbrellas":    {"section A | layer bass | has | steps 80 | roots 90", "section B | layer bass | has | chords m7 7"},
	"seven-crates":          {"layer bass+changes | has | meter 7/4 | roots 100 | most 2"},
	"five-stairs-down":      {"layer bass | has | meter 5/4 | roots 100"},
	"bicycle-bell":          {"section B | layer bass | has | chords 7 | roots 100"},
	"eleven-missed-trams":   {"layer bass+halves | has | most 2 | hits on and push"},
}

func TestTunesTrainWhatTheySay(t *testing.T) {
	for _, name := range content.TuneNames() {
		tn, _ := content.Tune(name)
		require.NotEmpty(t, trained[name], "%s: nothing is held to what it trains", name)
		for _, says := range trained[name] {
			passage, has, ok := strings.Cut(says, " | has")
			require.True(t, ok, says)
			text := "lesson X\ngoal X\n[text]\nX\n[practice]\nplay | tune " + name + " | ramp 60:80+4 | done 1 clean at 80 | " + passage + "\nhas" + has + "\n"
			l, faults := lesson.Read("x", text, content.Tune)
			require.Empty(t, faults, says)
			broken, err := l.Tasks[0].Passage.Broken(tn, fretboard.StandardNeck(), fretboard.DefaultHand())
			require.NoError(t, err, says)
			assert.Empty(t, broken, "%s: %s", name, says)
		}
	}
}

// arrivals count how the line comes to the root of each new chord: a half step from below, from
// above, or otherwise.
func arrivals(t *testing.T, name string) (below, above, other int) {
	t.Helper()
	tn, _ := content.Tune(name)
	line, err := tn.Line(tune.Within(40, 60))
	require.NoError(t, err)
	for i := 1; i < len(line); i++ {
		if line[i].Degree.Number != 1 || line[i].Chord.Identity() == line[i-1].Chord.Identity() {
			continue
		}
		switch line[i].Pitch.MIDI() - line[i-1].Pitch.MIDI() {
		case 1:
			below++
		case -1:
			above++
		default:
			other++
		}
	}
	return below, above, other
}

// Of half steps a tune says from where they come, as they do: counted by hand in its line.
func TestHalfStepsComeFromWhereTunesSay(t *testing.T) {
	below, above, other := arrivals(t, "tin-kettle-blues")
	assert.Equal(t, []int{2, 10, 3}, []int{below, above, other}, "nearly every chord, most of them from above")
	below, above, other = arrivals(t, "two-gateposts")
	assert.Equal(t, []int{3, 4, 0}, []int{below, above, other}, "into each root")
	for _, name := range content.TuneNames() {
		tn, _ := content.Tune(name)
		below, above, other := arrivals(t, name)
		if strings.Contains(tn.Trains, "as often as from below") {
			assert.InDelta(t, below, above, 1, name)
		}
		if strings.Contains(tn.Trains, "each met by a half step") || strings.Contains(tn.Trains, "into every root") {
			assert.Zero(t, other, name)
		}
	}
}

// The harbor's minor two-fives: the flat five falls a half step onto the root after it.
func TestFlatFivesFallOntoTheDominant(t *testing.T) {
	tn, _ := content.Tune("harbour-wall-at-six")
	line, err := tn.Line(tune.Within(40, 60))
	require.NoError(t, err)
	fell := 0
	for i, n := range line[:len(line)-1] {
		next := line[i+1]
		if n.Degree.String() != "b5" || n.Chord.Quality().Name() != "m7b5" || next.Degree.Number != 1 || next.Chord.Root.Semitone() != (n.Chord.Root.Semitone()+5)%12 {
			continue
		}
		assert.Equal(t, -1, next.Pitch.MIDI()-n.Pitch.MIDI(), "bar %d", n.At.Bar)
		fell++
	}
	assert.Equal(t, 4, fell)
}
