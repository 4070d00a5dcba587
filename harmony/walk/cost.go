package walk

import "footfall/harmony/tune"

// The costs of a line, in points; a line costs the sum over its notes, and the
// best line costs least. Their order is common practice, no source; their sizes
// are set so that lines in the default style have the shares that were counted
// in transcribed lines (FiloBass, Riley and Dixon, ISMIR 2023, and 88 solos of
// the Weimar Jazz Database), which statistics_test.go prints side by side.
const (
	// impossible stands for what may not be: it is never worth any gain. Of two
	// evils the row's own direction is broken before its compass: a token reaches
	// an octave at most.
	impossible = 1e6
	unwritable = 1e9

	// Noise is the most that a seed adds to or takes from any note's cost, so that
	// a line of n notes is within 2·Noise·n points of the best.
	Noise = 0.4
)

// arrivalCost is the cost of each role on the first note over a new chord.
var arrivalCost = [...]float64{root: 0, fifth: 0.9, third: 1.7, colour: 2.6, step: 6, chrome: impossible}

// beatCost is the cost of each role on any other note, by the weight of its
// beat: chord tones belong on strong beats.
var beatCost = [...][6]float64{
	downbeat: {root: 0.5, fifth: 0, third: 0.35, colour: 0.3, step: 1.15, chrome: impossible},
	second:   {root: 1.15, fifth: 0, third: 0, colour: 0.1, step: 0.35, chrome: 1.95},
	mid:      {root: 0.8, fifth: 0, third: 0, colour: 0.6, step: 0.3, chrome: 0.95},
	inner:    {root: 0.6, fifth: 0.1, third: 0.1, colour: 0.2, step: 0.3, chrome: 1.2},
	last:     {root: 0.5, fifth: 0.35, third: 0.1, colour: 0.1, step: 0.55, chrome: 0.55},
}

// intervalCost is the cost of moving by so many semitones, up or down.
var intervalCost = [13]float64{3, 0.1, 0.3, 0.6, 1.05, 0.3, 1.8, 1.2, 1.8, 1.6, 2.2, 3, 1.1}

// slashMissed is added where a slash bass is named and another note arrives.
const slashMissed = 2

// schoolArrival is added to other notes than the root on a new chord in every
// style but the default: the levels are taught from the root (common practice,
// no source).
const schoolArrival = 1.5

// repeatAcross is added where the same note stands on both sides of a change.
const repeatAcross = 1.45

// approachCost is the cost of reaching a root on a new chord, by semitones from
// the note before to the root (1 is from a half step below).
func approachCost(by int) float64 {
	switch by {
	case 1:
		return 0.5
	case -1:
		return 0.6
	case -2:
		return 0.5
	case 5, -7:
		return 0
	case 2:
		return 0.8
	default:
		return 0.6
	}
}

// Costs of what a note leaves behind.
const (
	danglingChrome = impossible // a chromatic note that no half step resolves
	danglingStep   = 1.2        // a scale tone between chord tones left by a leap
	sameWay        = 1.25       // a leap of a fifth or more that goes on the same way
	leapThenLeap   = 0.85       // a leap of a fourth or more, then no step back
	toAndFro       = 1.35       // back to the note before last
	straightOn     = 0.15       // a third note in the same direction
	perSemitone    = 0.03       // distance from the middle of the low octave
)

// leap is the least size of a leap in semitones.
const leap = 5

// unary is the cost of a note by itself.
func unary(s *slot, midi, centre int) float64 {
	cost := perSemitone * float64(abs(midi-centre))
	if s.kept != nil {
		return cost
	}
	r := s.roles[mod12(midi)]
	if s.arrival {
		if r != root && s.chord.Bass != s.chord.Root {
			cost += slashMissed
		}
		return cost + arrivalCost[r]
	}
	return cost + beatCost[s.weight][r]
}

// pair is the cost of two notes in a row.
func pair(a, b *slot, from, to int) float64 {
	by := to - from
	if by > 12 || by < -12 {
		return unwritable
	}
	if b.kept != nil && tune.Move(from, mod12(to), b.kept.Direction) != to {
		return impossible
	}
	cost := intervalCost[abs(by)]
	if unclear(a, b, from, to) {
		cost += impossible
	}
	if b.arrival && b.roles[mod12(to)] == root {
		cost += approachCost(by)
	}
	if by == 0 && b.arrival {
		cost += repeatAcross
	}
	if a.kept == nil {
		switch r := a.roles[mod12(from)]; {
		case r == chrome && abs(by) != 1:
			cost += danglingChrome
		case r == step && abs(by) > 2:
			cost += danglingStep
		}
	}
	return cost
}

// unclear reports a chord that starts on neither its root nor its third and does
// not go on to one of these or to another of its tones.
func unclear(a, b *slot, from, to int) bool {
	if !a.arrival || a.kept != nil || b.arrival {
		return false
	}
	first, then := a.roles[mod12(from)], b.roles[mod12(to)]
	return first != root && first != third && (then > colour || mod12(from) == mod12(to))
}

// triple is the cost of the shape of three notes, by their two moves.
func triple(first, then int) float64 {
	cost := 0.0
	switch {
	case abs(first) > 12 || abs(then) > 12:
		return 0
	case first == 0 || then == 0:
	case first == -then:
		cost += toAndFro
	case (first > 0) == (then > 0):
		cost += straightOn
		if abs(first) >= 7 {
			cost += sameWay
		}
	}
	if abs(first) >= leap && abs(first) < 12 && (abs(then) > 2 || (first > 0) == (then > 0)) {
		cost += leapThenLeap
	}
	return cost
}

// noise is what a seed adds to the cost of a note, −Noise to Noise, 0 for seed 0.
func noise(seed uint64, at, midi int) float64 {
	if seed == 0 {
		return 0
	}
	// SplitMix64 (Steele, Lea and Flood 2014), from memory.
	x := seed*0x9E3779B97F4A7C15 + uint64(at)*0xBF58476D1CE4E5B9 + uint64(midi)*0x94D049BB133111EB
	x ^= x >> 30
	x *= 0xBF58476D1CE4E5B9
	x ^= x >> 27
	x *= 0x94D049BB133111EB
	x ^= x >> 31
	return Noise * (2*float64(x>>11)/(1<<53) - 1)
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}

func mod12(n int) int { return ((n % 12) + 12) % 12 }
