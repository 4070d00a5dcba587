package session_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/fretboard"
	"footfall/harmony/walk"
	"footfall/trainer/session"
)

// The judge has no grave remark on the line of a built-in tune, which the hand walks at
// the tune's tempo, and hardly another one: fewer than one in ten bars.
func TestTheJudgeAcceptsTheBuiltInLines(t *testing.T) {
	neck := fretboard.StandardNeck()
	critic := walk.Critic{Range: neck.BassRange(), Hand: session.WalkingHand(neck)}
	bars, minded := 0, 0
	for _, name := range content.TuneNames() {
		tn, ok := content.Tune(name)
		require.True(t, ok)
		bars += len(tn.Unroll())
		for _, r := range walk.Criticise(tn, critic) {
			assert.False(t, r.Rule.Grave, "%s bar %d beat %d: %s", name, r.At.Bar, r.At.Beat, r.Says)
			if !r.Rule.Good {
				minded++
				t.Logf("%s bar %d beat %d: %s", name, r.At.Bar, r.At.Beat, r.Says)
			}
		}
	}
	assert.Less(t, 10*minded, bars)
}
