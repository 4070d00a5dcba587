package memory

import (
	"fmt"
	"math"
	"slices"
	"time"
)

// Way is how an answer was given. Times of different ways are never compared.
type Way uint8

// The ways of answering.
const (
	Typed      Way = iota // typed on a screen, timed to the first key
	Cursor                // a place picked on the neck
	MIDI                  // played into a MIDI input
	Microphone            // heard by the microphone
	Lines                 // a whole line of text, timed to its end
	Own                   // the player's own word on a pass nobody listened to
)

var wayNames = [...]string{"typed", "cursor", "midi", "microphone", "lines", "own"}

// String returns "typed", "cursor", "midi", "microphone", "lines" or "own".
func (w Way) String() string {
	if int(w) < len(wayNames) {
		return wayNames[w]
	}
	return fmt.Sprintf("way %d", uint8(w))
}

// ParseWay reads what String writes.
func ParseWay(s string) (Way, error) {
	if i := slices.Index(wayNames[:], s); i >= 0 {
		return Way(i), nil
	}
	return 0, fmt.Errorf("%q is no way of answering; write typed, cursor, midi, microphone, lines or own", s)
}

// Verdict is how an answer went.
type Verdict uint8

// The verdicts.
const (
	Sure Verdict = iota
	Slow
	Missed
)

var verdictNames = [...]string{"sure", "slow", "missed"}

// String returns "sure", "slow" or "missed".
func (v Verdict) String() string {
	if int(v) < len(verdictNames) {
		return verdictNames[v]
	}
	return fmt.Sprintf("verdict %d", uint8(v))
}

// ParseVerdict reads what String writes.
func ParseVerdict(s string) (Verdict, error) {
	if i := slices.Index(verdictNames[:], s); i >= 0 {
		return Verdict(i), nil
	}
	return 0, fmt.Errorf("%q is no verdict; write sure, slow or missed", s)
}

// Grade is what an answer tells the memory model: 1 to 4, the ratings of
// FSRS. The zero value is no grade.
type Grade uint8

// The grades.
const (
	Again Grade = iota + 1 // missed
	Hard                   // right, but slow for this player
	Good                   // right
	Easy                   // right, and fast for this player
)

// PaceTimes is how many of the latest times a pace holds.
const PaceTimes = 50

// paceEnough is how many own times it takes before they are trusted over the
// first guess.
const paceEnough = 8

// firstGuess is the median time taken for a way until the player's own are
// known. Common practice, no source.
var firstGuess = [...]time.Duration{
	Typed: 4 * time.Second, Cursor: 6 * time.Second, MIDI: 3 * time.Second, Microphone: 3500 * time.Millisecond,
	Lines: 5 * time.Second,
}

const (
	// firstSpread is the spread of log times until the player's own is known: one
	// spread is a factor of 1.65. Common practice, no source.
	firstSpread = 0.5
	// leastSpread keeps a very even player from being called slow over trifles.
	leastSpread = 0.15
	// shortest and Longest bound a time that counts, so that one walk to the door
	// does not unmake a pace.
	shortest = 100 * time.Millisecond
)

// Longest is the longest time that an answer counts as: whoever takes more has
// gone away, or their computer slept.
const Longest = 60 * time.Second

// Pace is a player's own answer times for one way of answering and one group
// of items: the latest PaceTimes right answers, oldest first. The zero value
// is a typing player nothing is known of.
type Pace struct {
	Way   Way
	Times []time.Duration
}

// With returns the pace after one more answer. Missed answers do not count.
func (p Pace) With(v Verdict, took time.Duration) Pace {
	if v == Missed {
		return p
	}
	times := append(slices.Clone(p.Times), min(max(took, shortest), Longest))
	if over := len(times) - PaceTimes; over > 0 {
		times = times[over:]
	}
	p.Times = times
	return p
}

// Median returns the median of the own times, 0 where there are none.
func (p Pace) Median() time.Duration {
	if len(p.Times) == 0 {
		return 0
	}
	return time.Duration(median(toFloats(p.Times)))
}

// Spread returns the spread of the own times in log units: 1.4826 times the
// median absolute deviation of ln t, which is the standard deviation where log
// times are normal. It is 0 where there are fewer than two.
func (p Pace) Spread() float64 {
	if len(p.Times) < 2 {
		return 0
	}
	logs := toFloats(p.Times)
	for i, t := range logs {
		logs[i] = math.Log(t)
	}
	centre := median(slices.Clone(logs))
	for i, l := range logs {
		logs[i] = math.Abs(l - centre)
	}
	return 1.4826 * median(logs)
}

// usual returns the median of the own times and their spread, or the first guess until they
// are known.
func (p Pace) usual() (centre time.Duration, spread float64) {
	if len(p.Times) >= paceEnough {
		return p.Median(), max(leastSpread, p.Spread())
	}
	return firstGuess[min(int(p.Way), len(firstGuess)-1)], firstSpread
}

// place returns how far a time lies from the median, in spreads.
func (p Pace) place(took time.Duration) float64 {
	took = min(max(took, shortest), Longest)
	centre, spread := p.usual()
	return math.Log(float64(took)/float64(centre)) / spread
}

// SlowAfter is the time over which a right answer is slow.
func (p Pace) SlowAfter() time.Duration {
	centre, spread := p.usual()
	return time.Duration(float64(centre) * math.Exp(spread))
}

// Known reports whether enough own times are known to tell by them.
func (p Pace) Known() bool {
	return len(p.Times) >= paceEnough
}

// Verdict says how an answer went: missed if wrong; slow if it took more than
// one spread over the player's own median, about the slowest sixth; else sure.
func (p Pace) Verdict(right bool, took time.Duration) Verdict {
	switch {
	case !right:
		return Missed
	case p.place(took) > 1:
		return Slow
	}
	return Sure
}

// Grade turns a verdict and its time into what the memory model is told: missed
// is Again, slow is Hard, sure is Good, or Easy if it was more than one spread
// under the median.
func (p Pace) Grade(v Verdict, took time.Duration) Grade {
	switch {
	case v == Missed:
		return Again
	case v == Slow:
		return Hard
	case p.place(took) < -1:
		return Easy
	}
	return Good
}

func toFloats(times []time.Duration) []float64 {
	f := make([]float64, len(times))
	for i, t := range times {
		f[i] = float64(t)
	}
	return f
}

// median sorts its argument.
func median(v []float64) float64 {
	slices.Sort(v)
	n := len(v)
	if n%2 == 1 {
		return v[n/2]
	}
	return (v[n/2-1] + v[n/2]) / 2
}
