package walk

import (
	"flag"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/harmony/tune/tunetest"
)

// Whatever the chords and the meter, a composed line has no grave fault.
func TestNoGraveFaultOnRandomTunes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tn := tunetest.Tune().Draw(t, "tune")
		o := neck
		o.Seed = rapid.Uint64Range(0, 3).Draw(t, "seed")
		o.Hand = critic.Hand
		o.Fill = func(string, int) bool { return true }
		l, err := Compose(tn, o)
		if err != nil {
			return
		}
		h := hear(tn, l.bars, lineNotes(l), critic.Hand.within(40, 60))
		for _, f := range h.judge() {
			require.False(t, f.rule.Grave, "bar %d: %s", h.At(f.at).Bar, f.says)
		}
	})
}

// Any line can be judged, and every better bar can stand in the tune.
func TestJudgesRandomTunes(t *testing.T) {
	require.NoError(t, flag.Set("rapid.checks", "40")) // better bars are composed for each fault
	defer func() { require.NoError(t, flag.Set("rapid.checks", "100")) }()
	rapid.Check(t, func(t *rapid.T) {
		tn := tunetest.Tune().Draw(t, "tune")
		for _, r := range Criticise(tn, critic) {
			require.NotEmpty(t, r.Says)
			require.GreaterOrEqual(t, r.At.Bar, 1)
			require.LessOrEqual(t, r.At.Bar, len(tn.Unroll()))
			if r.Better != nil {
				bar := tn.Section(r.Section).Bars[r.SectionBar-1]
				require.Len(t, r.Better, tn.MeterOf(tn.Section(r.Section)).Beats())
				require.NotEqual(t, bar.Bass, r.Better)
				require.Greater(t, r.BetterGrade, r.Grade)
			}
		}
	})
}
