package walk

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/harmony/tune"
)

// critic has a hand that travels 40 mm for each semitone past a fourth.
var critic = Critic{Low: 40, High: 60, Hand: Hand{SpeedMM: DefaultSpeedMM, ShiftMM: func(from, to int) float64 {
	return float64(40 * max(0, abs(to-from)-5))
}}}

// Bars written by hand, with the remarks they must and must not get, each as
// rule:bar.beat. Common practice, no source.
var judged = []struct{ meter, chords, bass, must, mustNot string }{
	// Arriving.
	{"4/4", "Dm7 | G7", `1 /b3 /5 \b5 | \1 \5 \3 /5`, "leads-in:2.1 outlines:1.1 outlines:2.1", "arrival unclear leap tension repeat range reach"},
	{"4/4", "Dm7 | G7", `1 /b3 \2 /3 | /1 \b7 \6 \5`, "leads-in:2.1", "arrival unclear tension repeat"},
	{"4/4", "Dm7 | G7", `1 \b7 \6 \5 | \b7 \5 /1 /3`, "outlines:2.1", "arrival unclear leads-in"},
	{"4/4", "Dm7 | G7", `1 /2 /b3 /4 | \3 /1 \b7 \5`, "", "arrival unclear leads-in"},
	{"4/4", "Dm7 | G7", `1 /2 /b3 /4 | \5 /b7 \5 \3`, "outlines:2.1", "arrival unclear"},
	{"4/4", "Dm7 | G7", `1 /2 /b3 /2 | \4 \3 \2 \1`, "arrival:2.1", "unclear tension"},
	{"4/4", "Dm7 | G7", `1 /b3 /5 /b6 | \b2 \1 /3 /5`, "arrival:2.1", "leads-in tension:2.1"},
	{"4/4", "C | F#7", `1 - - - | - \1 /3 /5`, "arrival:2.1", "unclear"},
	{"4/4", "Dm7 | G7", `1 - - - | - - - -`, "unclear:2.1", "arrival"},
	{"4/4", "C | Am", `1 /3 /5 \3 | - \1 /b3 /5`, "", "arrival:2.1 unclear"},
	{"4/4", "C | F", `1 /3 /5 /3 | . \1 /3 /5`, "", "arrival unclear"},
	{"4/4", "C | F", `. . . . | 1 /3 /5 /3`, "outlines:2.1", "arrival unclear leads-in"},
	{"4/4", "Bb7 | Bdim7", `1 /3 /5 \1 | /1 /b3 /b5 /bb7`, "leads-in:2.1 outlines:2.1", "arrival unclear repeat"},
	{"4/4", "Bbmaj7 | Ebmaj7", `1 /3 /4 \3 | /1 /3 /5 /3`, "leads-in:2.1", "arrival repeat tension"},
	{"4/4", "F7 | Bb7", `1 \b7 \5 \b5 | \1 /3 /5 /6`, "leads-in:2.1 outlines:2.1", "arrival tension"},
	{"4/4", "C/E | F", `3 /5 /1 \3 | /1 /3 /5 /3`, "leads-in:2.1 outlines:1.1", "arrival unclear"},
	{"4/4", "C/E | F", `1 /2 \1 /2 | /1 /3 /5 /3`, "unclear:1.1", "arrival unclear:2.1"},
	{"4/4", "F/G | C", `1 \7 \1 /2 | \1 /3 /5 /3`, "", "arrival:2.1"},
	// Making chords clear.
	{"4/4", "G7 | C", `5 /6 \5 \4 | \1 /3 /5 /3`, "unclear:1.1", "arrival unclear:2.1"},
	{"4/4", "G7 | C", `5 /b7 \5 \4 | \1 /3 /5 /3`, "", "arrival unclear"},
	{"4/4", "Gm7 C7 | F", `1 /b3 \5 \b5 | \1 /3 /5 /3`, "unclear:1.3", "arrival unclear:1.1"},
	{"4/4", "Gm7 C7 | F", `1 /b3 \5 \3 | /1 /3 /5 /3`, "leads-in:2.1", "arrival unclear"},
	{"4/4", "Dm7 G7 | C", `1 /b3 \b2 \2 | \1 /3 /5 /3`, "arrival:1.3 unclear:1.3", "arrival:2.1"},
	{"4/4", "C7sus | F", `1 /4 /5 \4 | 1 /3 /5 /3`, "outlines:1.1", "unclear arrival"},
	{"4/4", "C5", `1 /5 /1 \5`, "", "unclear arrival outlines"},
	{"4/4", "Bm7b5 E7(b9) | Am", `1 \b7 \1 /3 | /1 /b3 /5 /b3`, "leads-in:2.1 outlines:2.1", "arrival unclear"},
	// Leaps.
	{"4/4", "Am", `1 /b6 /b7 /1`, "leap:1.2", "recovered"},
	{"4/4", "Am", `1 /b6 \5 \b3`, "recovered:1.2", "leap"},
	{"4/4", "Am", `1 /1 \b7 \5`, "recovered:1.2", "leap"},
	{"4/4", "Am", `1 /1 /2 /b3`, "leap:1.2", "recovered"},
	{"4/4", "Am", `1 /5 /6 /b7`, "", "leap recovered"},
	{"4/4", "Am", `1 /b6 b6 \5`, "", "leap:1.2 recovered:1.2"},
	{"4/4", "Am", `1 /b6 \4 \b3`, "", "leap recovered"},
	{"4/4", "Dm", `/1 \b3 b3 /4`, "", "leap:1.2 recovered:1.2"},
	{"4/4", "Dm", `/1 \b3 /4 /5`, "recovered:1.2", "leap"},
	{"4/4", "Dm", `/1 \b3 /#4 /5`, "", "leap recovered"},
	{"4/4", "Dm7 | G7", `1 /b3 /b7 \b3 | \3 \2 \1 /3`, "", "leap"},
	// Repeats across a change.
	{"4/4", "Dm7 | Bbmaj7", `1 /b3 /5 \1 | 3 \1 /3 /5`, "repeat:2.1", "arrival leads-in"},
	{"4/4", "C | C", `1 /3 /5 \1 | 1 /3 /5 /3`, "outlines:1.1 outlines:2.1", "repeat"},
	{"4/4", "C | C7", `1 /3 /5 \1 | 1 /3 /5 /b7`, "repeat:2.1", "arrival"},
	{"4/4", "Dm7 | Bbmaj7", `1 /b3 \1 . | 3 \1 /3 /5`, "", "repeat arrival"},
	// Tension on strong beats.
	{"4/4", "Cm7 | Cm7", `1 /b3 /4 /5 | \4 \b3 \2 \1`, "tension:2.1", "arrival unclear"},
	{"4/4", "Cm7 | Cm7", `1 /b3 /4 /5 | /b7 \5 \4 \b3`, "", "tension arrival"},
	{"4/4", "C7", `1 /2 /#2 /3`, "tension:1.3", "arrival unclear"},
	{"4/4", "C7", `1 /2 /3 /4`, "", "tension"},
	{"4/4", "C7", `1 /2 /4 \3`, "", "tension"},
	{"4/4", "C7", `1 \b7 \6 \b6`, "", "tension leap"},
	{"3/4", "F | Bb", `1 /3 \2 | /4 \3 \1`, "arrival:2.1", "tension"},
	{"3/4", "F | Bb", `1 /3 /b5 | \1 /3 /5`, "leads-in:2.1 outlines:2.1", "arrival tension"},
	{"5/4", "Em7", `1 /b3 /4 /b5 /5`, "tension:1.4", "arrival unclear"},
	{"5/4", "Em7 | Am7", `1 /b3 /5 \4 \b3 | /1 /b3 /5 /b3 /5`, "outlines:1.1", "tension arrival unclear"},
	{"12/8", "A7 | D7", `1 /3 /5 \b5 | \1 /3 /5 /6`, "leads-in:2.1", "tension arrival"},
	{"4/4", "Cm7", `1,/b3 /5 \4 \b3`, "outlines:1.1", "tension arrival"},
	// Range and reach.
	{"4/4", "E7", `1 \7 /1 /3`, "range:1.2", "arrival"},
	{"4/4", "C", `1 /1 /1 \5`, "range:1.3", "arrival"},
	{"4/4", "C | F", `1 /3 /5 \3 | /1 /3 /5 /1`, "range:2.4", "reach leap"},
	{"4/4", "E7", `1 /3 /5 \3`, "outlines:1.1", "range reach"},
	{"4/4 at 300", "F", `1 /1 \1 /1`, "reach:1.2 reach:1.3", "range"},
	{"4/4 at 300", "F", `1 /5 \1 /3`, "", "reach range"},
	{"4/4 at 300", "F", `1 - - /1`, "", "reach range"},
	{"4/4 at 300", "F", `1 /3 \2,/1 \5`, "reach:1.3", "range"},
}

func TestJudgedBars(t *testing.T) {
	require.GreaterOrEqual(t, len(judged), 40)
	for _, rule := range []Rule{OutOfRange, Unclear, MissedRoot, TooFar, OpenLeap, Repeat, Tension, LeadsIn, Outlines, Recovered} {
		asked := slices.ContainsFunc(judged, func(tt struct{ meter, chords, bass, must, mustNot string }) bool {
			return strings.Contains(tt.must, rule.Name+":")
		})
		require.True(t, asked, "no bar here earns %s", rule.Name)
	}
	for _, tt := range judged {
		meter, tempo, ok := strings.Cut(tt.meter, " at ")
		if !ok {
			tempo = "120"
		}
		text := fmt.Sprintf("tune x\nkey C\nmeter %s\ntempo %s\n\n[A]\nchords | %s |\nbass | %s |\n", meter, tempo, tt.chords, tt.bass)
		tn := read(t, text)
		var got []string
		for _, r := range Criticise(tn, critic) {
			place := fmt.Sprintf("%s:%d.%d", r.Rule.Name, r.At.Bar, r.At.Beat)
			got = append(got, place)
			require.NotEmpty(t, r.Says)
			require.NotEmpty(t, r.Rule.Source)
			if r.Rule.Good {
				require.Nil(t, r.Better)
				continue
			}
			requireBetter(t, tn, r, tt.chords+" "+tt.bass)
		}
		for _, want := range strings.Fields(tt.must) {
			assert.Contains(t, got, want, "%s: %s", tt.chords, tt.bass)
		}
		for _, not := range strings.Fields(tt.mustNot) {
			for _, g := range got {
				assert.False(t, g == not || strings.HasPrefix(g, not+":"), "%s: %s got %v", tt.chords, tt.bass, got)
			}
		}
	}
}

// requireBetter asks that the better bar of a remark is there, fits the tune, and
// does not earn the remark again.
func requireBetter(t *testing.T, tn *tune.Tune, r Remark, what string) {
	t.Helper()
	if !assert.NotNil(t, r.Better, "%s: %s has no better bar", what, r.Rule.Name) {
		return
	}
	fixed := read(t, tune.Write(tn))
	fixed.Sections[0].Bars[r.SectionBar-1].Bass = r.Better
	for _, again := range Criticise(fixed, critic) {
		if again.SectionBar == r.SectionBar {
			assert.NotEqual(t, r.Rule.Name, again.Rule.Name, "%s: better %v", what, r.Better)
			assert.False(t, again.Rule.Grave, "%s: better %v: %s", what, r.Better, again.Says)
		}
	}
}
