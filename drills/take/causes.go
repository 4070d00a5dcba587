package take

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

const (
	// From tempoTold on, as a part of it, a tempo is told, and from swingTold on, in
	// the ratio's own terms, a swing. Common practice, no source.
	tempoTold = 0.005
	swingTold = 0.3
)

// Lead is how late the take was on the mean, by its delay and what is left; early
// below 0.
func (sc *Score) Lead() time.Duration { return sc.Fit.Offset + sc.Timing.Mean }

// Causes tells in a sentence each what was one thing all through the take, as a
// teacher would: a delay, another tempo, beats dropped or late, a stop, another swing.
func (sc *Score) Causes() (said []string) {
	f := sc.Fit
	if sc.Throughout() {
		line := lateness(f.Offset.Round(time.Millisecond)) + " throughout: is that the input's delay?"
		if sc.Matched == sc.Expected && sc.Extra == 0 {
			line = "All right, and " + line
		}
		said = append(said, line)
	}
	if math.Abs(f.TempoRatio-1) >= tempoTold {
		said = append(said, tempoWords(f.TempoRatio)+".")
	}
	for i, s := range f.Slips {
		line := s.words(s.Bar == sc.Events[0].At.Bar)
		if i == len(f.Slips)-1 && f.StoppedBar == 0 && sc.rightFrom(s.Bar) {
			line += "; from there all right"
		}
		said = append(said, line+".")
	}
	if f.StoppedBar > 0 {
		said = append(said, fmt.Sprintf("Stopped after bar %d.", f.StoppedBar))
	}
	if sc.swungApart(sc.Settings.Window / 2) {
		said = append(said, fmt.Sprintf("You swing %.1f to 1; %s was asked.", sc.Offbeats.Heard, trimmed(sc.Offbeats.Wanted)))
	}
	return said
}

// Throughout says whether the whole take is so late or early that the input's delay
// may be the reason: beyond half the window.
func (sc *Score) Throughout() bool { return sc.Fit.Offset.Abs() > sc.Settings.Window/2 }

// swungApart says whether the offbeats lie elsewhere than the swing ratio asks, farther
// than some time and than chance.
func (sc *Score) swungApart(most time.Duration) bool {
	o := sc.Offbeats
	chance := 3 * float64(o.Spread) / math.Sqrt(float64(o.Matched))
	return o.Matched >= fewestOff && math.Abs(o.Heard-o.Wanted) >= swingTold && float64(o.Late.Abs()) > max(chance, float64(most))
}

// rightFrom says whether all that was due from a bar on was right.
func (sc *Score) rightFrom(bar int) bool {
	for i, o := range sc.Outcomes {
		if sc.Events[i].At.Bar >= bar && !o.Verdict.Right() && o.Verdict != Skipped {
			return false
		}
	}
	return true
}

func tempoWords(ratio float64) string {
	if ratio < 1 {
		return trimmed(100*(1-ratio)) + " % slow"
	}
	return trimmed(100*(ratio-1)) + " % fast"
}

// trimmed is a number with one decimal, or none where that is 0.
func trimmed(x float64) string { return strings.TrimSuffix(strconv.FormatFloat(x, 'f', 1, 64), ".0") }

// words tells a slip; first says that it stands at the beginning.
func (s Slip) words(first bool) string {
	n := math.Abs(s.Beats)
	much := trimmed(n) + " beats"
	switch {
	case n == 1:
		much = "a beat"
	case s.perBar > 1 && n == s.perBar:
		much = "a bar"
	case s.perBar > 1 && math.Mod(n, s.perBar) == 0:
		much = trimmed(n/s.perBar) + " bars"
	}
	switch {
	case first && s.Beats > 0:
		return "You came in " + much + " late"
	case first:
		return "You came in " + much + " early"
	case s.Beats > 0:
		return fmt.Sprintf("You were %s late from bar %d on", much, s.Bar)
	}
	return fmt.Sprintf("You dropped %s in bar %d", much, s.Bar)
}
