package take

import (
	"fmt"
	"math"
	"strings"
	"time"
)

// Clean says whether a pass counts as clean, which is what the tempo ramp goes
// by, and if not, the first reason in plain words.
//
// The rule: everything could be heard, and at least half of it surely; at least
// CleanShare of the events that are not unsure are matched (a right note on a wrong string is); there are no more extra notes
// than the share that is left; and the spread is no more than CleanSpread of
// the window at the pass's shortest beat. No beat was dropped or added, the tempo did
// not take the pass a beat away from the one asked for, and the swing was the one asked
// for. A steady lead or lag does not matter: it is shown, not punished.
func (sc *Score) Clean() (clean bool, why string) {
	s := sc.Settings
	if sc.Expected == 0 {
		return false, "nothing was asked"
	}
	if len(sc.Fit.Slips) > 0 {
		said := sc.Fit.Slips[0].words(sc.Fit.Slips[0].Bar == sc.Events[0].At.Bar)
		return false, strings.ToLower(said[:1]) + said[1:]
	}
	if sc.Timing.Drift.Abs() > sc.Events[0].Beat && math.Abs(sc.Fit.TempoRatio-1) >= tempoTold {
		return false, "the tempo was " + tempoWords(sc.Fit.TempoRatio)
	}
	if sc.swungApart(s.Window) {
		return false, fmt.Sprintf("the swing was %.1f to 1; %s was asked", sc.Offbeats.Heard, trimmed(sc.Offbeats.Wanted))
	}
	if sc.NotHeard > 0 {
		return false, fmt.Sprintf("%d of %d could not be heard: the input was away", sc.NotHeard, sc.Expected)
	}
	told := sc.Expected - sc.Unsure
	if told < sc.Unsure {
		return false, fmt.Sprintf("only %d of %d were heard surely", told, sc.Expected)
	}
	need := int(math.Ceil(s.CleanShare*float64(told) - 1e-9))
	if sc.Matched < need {
		return false, fmt.Sprintf("%d of %d were right; %d are needed", sc.Matched, told, need)
	}
	if spare := told - need; sc.Extra > spare {
		return false, fmt.Sprintf("%d notes too many; %d are let pass", sc.Extra, spare)
	}
	beat := sc.Events[0].Beat
	for i := range sc.Events {
		beat = min(beat, sc.Events[i].Beat)
	}
	most := time.Duration(s.CleanSpread * float64(s.WindowOf(beat)))
	if sc.Timing.Spread > most {
		return false, fmt.Sprintf("the spread was %d ms; %d ms are let pass", sc.Timing.Spread.Milliseconds(), most.Milliseconds())
	}
	return true, ""
}
