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
)

// arrivalCost is the cost of each role on the first note over a new chord.
var arrivalCost = [...]float64{root: 0, fifth: 1, third: 1.65, colour: 2.9, step: 6, chrome: impossible}

// beatCost is the cost of each role on any other note, by the weight of its
// beat: chord tones belong on strong beats.
var beatCost = [...][6]float64{
	downbeat: {root: 0.5, fifth: 0, third: 0.35, colour: 0.3, step: 1.15, chrome: impossible},
	second:   {root: 1.15, fifth: 0, third: 0, colour: 0.1, step: 0.35, chrome: 1.95},
	mid:      {root: 0.6, fifth: 0, third: 0, colour: 0.3, step: 1.0, chrome: 1.9},
	inner:    {root: 0.6, fifth: 0.1, third: 0.1, colour: 0.2, step: 0.3, chrome: 1.2},
	last:     {root: 0.6, fifth: 0.4, third: 0.2, colour: 0.2, step: 0.45, chrome: 0.45},
}

// intervalCost is the cost of moving by so many semitones, up or down.
var intervalCost = [13]float64{6, 0.1, 0.3, 0.6, 1.05, 0.3, 1.8, 1.2, 2.2, 2.4, 3, 4, 7}

// What a style says otherwise.
const (
	stepwise     = 1.5  // each interval past a whole step, in the scale style
	arpeggioStep = 1.0  // a half or whole step in arpeggios, no dearer a third
	pedalAway    = 4.5  // another note than the pedal on a strong beat
	pedalHere    = 2.0  // the pedal on a weak one
	pedalOctave  = 1.6  // the pedal's octave, which is its figure
	sameRoot     = 1.5  // the root again, where the next chord has it too
	sameAgain    = 0.2  // a note again, in a bossa
	longInterval = 0.7  // of an interval's cost where the notes are long
	arrivalNoise = 1.6  // the most of a style's noise where a chord comes in
	grammarNoise = 1.4  // from which noise on it does not drown what grammar there is
	degreeShare  = 0.7  // of a style's noise: what is thought of degrees, not of notes
	approachMost = 0.45 // the share of a style's noise on how a chord is reached
)

// bossaCost is added in a bossa: the root on beat 1, the fifth before the middle
// and on it, then the root again or a step into what comes.
var bossaCost = [...][6]float64{
	downbeat: {root: 0, fifth: 1.4, third: 1.6, colour: 1.8, step: 3, chrome: 3},
	second:   {root: 0.9, fifth: 0, third: 0.9, colour: 0.9, step: 2, chrome: 2},
	mid:      {root: 1.2, fifth: 0, third: 0.9, colour: 0.9, step: 2, chrome: 2},
	inner:    {root: 0.9, fifth: 0, third: 0.9, colour: 0.9, step: 2, chrome: 2},
	last:     {root: 0, fifth: 0.8, third: 0.9, colour: 0.6, step: 0.7, chrome: 0.7},
}

// The plan's costs, by common practice, no source.
const (
	goalPull = 0.07 // each semitone from the note in sight
	against  = 0.22 // a move that goes the other way
	astray   = 0.5  // the same in the scale style, which runs
)

// slashMissed is added where a slash bass is named and another note arrives.
const slashMissed = 2

// schoolArrival is added to other notes than the root on a new chord in every
// style but the default: the levels are taught from the root (common practice,
// no source).
const schoolArrival = 0.8

// rootDue is added where another note than the root comes in on a chord whose root the
// ear waits for, and rootMissed where the next one is not it either: a bar of Ab that a
// dominant led to and that has no Ab is a bar of C minor (common practice, no source).
const (
	rootDue    = 4
	rootMissed = 40
)

// lateShown is added where a chord begins on neither root nor third and goes on to
// neither.
const lateShown = 1.6

// repeatAcross is added where the same note stands on both sides of a change.
const repeatAcross = 1.45

// approachCost is the cost of reaching a root on a new chord, by semitones from
// the note before to the root (1 is from a half step below).
func approachCost(by int) float64 {
	switch by {
	case 1:
		return 0.5
	case -1:
		return 0.7
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
	sourNote       = 1.1        // a note of another third or seventh inside the bar
	danglingStep   = 1.2        // a scale tone between chord tones left by a leap
	leaptStep      = 0.8        // the same reached by one
	sameWay        = 1.25       // a leap of a fifth or more that goes on the same way
	leapThenLeap   = 0.85       // a leap of a fourth or more, then no step back
	toAndFro       = 1.35       // back to the note before last
	seesaw         = 1.3        // the same in arpeggios and scales, whose seeds pull hard
	straightOn     = 0.15       // a third note in the same direction
	perSemitone    = 0.03       // distance from the middle of the low octave
	lightShape     = 0.2        // of these, over a pedal and where the notes are long
)

// leap is the least size of a leap in semitones.
const leap = 5

// unary is the cost of a note by itself.
func (p *problem) unary(i, midi int) float64 {
	s := &p.slots[i]
	if s.kept != nil {
		return perSemitone * float64(abs(midi-p.centre))
	}
	style := &styles[p.style]
	class := mod12(midi)
	r := s.roles[class]
	noise := style.noise * (1 + p.freer)
	if s.arrival {
		noise = min(noise, arrivalNoise*(1+p.freer))
	}
	cost := noise * (degreeShare*p.fancy(s, class) + (1-degreeShare)*chanceOf(p.draw(), uint64(i), uint64(midi)))
	if s.goal > 0 {
		cost += goalPull * float64(abs(midi-s.goal))
	} else {
		cost += perSemitone * float64(abs(midi-p.centre))
	}
	if s.pedal >= 0 {
		switch strong := s.at.Beat%2 == 1; {
		case strong && class != s.pedal && s.tones[s.pedal]:
			cost += pedalAway
		case !strong && class == s.pedal:
			cost += pedalHere
		}
	}
	if p.style == Bossa {
		cost += bossaCost[s.weight][r]
	}
	if !s.arrival {
		if r == chrome && s.weight != last && s.sour(class) {
			cost += sourNote
		}
		return cost + beatCost[s.weight][r]
	}
	if r != root {
		if s.chord.Bass != s.chord.Root {
			cost += slashMissed
		}
		if p.style != Approaches && s.pedal < 0 {
			cost += schoolArrival
		}
		if s.due && s.pedal < 0 {
			cost += rootDue
		}
	}
	return cost + arrivalCost[r]
}

// draw is the seed of a style's own preferences, so that one seed does not give
// all styles the same bars.
func (p *problem) draw() uint64 { return p.seed<<8 | uint64(p.style) }

// fancy is what the seed thinks of a degree on a place in the bar, −1 to 1. What it
// likes in one bar it dislikes in the next, so that bars do not repeat.
func (p *problem) fancy(s *slot, class int) float64 {
	place := uint64(s.bar/2*64 + 2*s.at.Beat)
	if s.at.Off {
		place++
	}
	likes := chanceOf(p.draw(), place, uint64(300+mod12(class-s.chord.Root.Semitone())))
	if s.bar%2 == 1 {
		return -likes
	}
	return likes
}

// sour reports a note that says another chord: the other third, or the other
// seventh.
func (s *slot) sour(class int) bool {
	above := func(semitones int) int { return mod12(s.chord.Root.Semitone() + semitones) }
	for _, other := range [][2]int{{3, 4}, {4, 3}, {10, 11}, {11, 10}} {
		if class == above(other[0]) && s.tones[above(other[1])] {
			return true
		}
	}
	return false
}

// pair is the cost of two notes in a row, but for the hand's way.
func (p *problem) pair(i, from, to int) float64 {
	a, b := &p.slots[i-1], &p.slots[i]
	by := to - from
	if by > 12 || by < -12 {
		return unwritable
	}
	if b.kept != nil && tune.Move(from, mod12(to), b.kept.Direction) != to {
		return impossible
	}
	cost := p.interval(a, b, from, to)
	if a.heading*by < 0 && a.bar == b.bar {
		cost += against
		if p.style == ScaleSteps {
			cost += astray
		}
	}
	if unclear(a, b, from, to) {
		cost += impossible
	}
	if a.arrival && a.kept == nil && !b.arrival && a.roles[mod12(from)] != root && a.roles[mod12(from)] != third {
		if r := b.roles[mod12(to)]; r != root && r != third {
			cost += lateShown
		}
	}
	if a.due && a.kept == nil && a.pedal < 0 && a.roles[mod12(from)] != root && (b.arrival || b.roles[mod12(to)] != root) {
		cost += rootMissed
	}
	if b.arrival {
		if b.roles[mod12(to)] == root {
			cost += approachCost(by)
		}
		cost += approachMost * styles[p.style].noise * chanceOf(p.draw(), uint64(i), uint64(200+by))
		if by == 0 && a.chord.Bass.Semitone() != b.chord.Bass.Semitone() {
			cost += repeatAcross
		}
	}
	if b.kept == nil && !b.arrival && b.weight != last && abs(by) > 2 && b.roles[mod12(to)] == step {
		cost += leaptStep * p.grammar()
	}
	if a.kept == nil {
		switch r := a.roles[mod12(from)]; {
		case r == chrome && abs(by) != 1:
			cost += danglingChrome
		case r == step && abs(by) > 2:
			cost += danglingStep * p.grammar()
		}
	}
	return cost
}

// grammar is how much counts what no seed should like, as steps that are left or
// reached by a leap: more in a style whose seeds pull harder.
func (p *problem) grammar() float64 { return max(1, styles[p.style].noise/grammarNoise) }

// interval is the cost of an interval in the problem's style.
func (p *problem) interval(a, b *slot, from, to int) float64 {
	by := abs(to - from)
	cost := intervalCost[by]
	if by == 0 || by >= wideLeap {
		cost *= p.grammar()
	}
	switch {
	case p.style == Pedal && by == 12 && mod12(to) == b.pedal:
		return pedalOctave
	case by == 0 && b.arrival && a.chord.Bass.Semitone() == b.chord.Bass.Semitone():
		return sameRoot
	case p.style == Bossa && by == 0 && !b.arrival:
		return sameAgain
	case p.style == ScaleSteps && by > 2:
		return cost + stepwise
	case p.style == ChordTones && by > 0 && by < 3:
		return arpeggioStep
	case !p.style.quarter() && by < 12 && by > 0:
		return cost * longInterval
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
func triple(style Style, first, then int) float64 {
	cost := 0.0
	switch {
	case abs(first) > 12 || abs(then) > 12:
		return 0
	case first == 0 || then == 0:
	case first == -then:
		cost += toAndFro
		if style == ChordTones || style == ScaleSteps {
			cost += seesaw
		}
	case (first > 0) == (then > 0):
		cost += straightOn
		if abs(first) >= 7 {
			cost += sameWay
		}
	}
	if abs(first) >= leap && abs(first) < 12 && (abs(then) > 2 || (first > 0) == (then > 0)) {
		cost += leapThenLeap
	}
	if style == Pedal || !style.quarter() {
		return cost * lightShape
	}
	return cost
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}

func mod12(n int) int { return ((n % 12) + 12) % 12 }
