package take

import (
	"fmt"
	"math"
	"time"
)

// Clean says whether a pass counts as clean, which is what the tempo ramp goes
// by, and if not, the first reason in plain words.
//
// The rule: everything could be heard, and at least half of it surely; at least
// CleanShare of the events that are not unsure are matched (a right note on a wrong string is); there are no more extra notes
// than the share that is left; and the spread is no more than CleanSpread of
// the window at the pass's shortest beat. The mean offset does not matter: a
// steady lead or lag inside the window is shown, not punished.
func (sc *Score) Clean() (clean bool, why string) {
	s := sc.Settings
	if sc.Expected == 0 {
		return false, "nothing was asked"
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
