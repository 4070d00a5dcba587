package hearing

import "math"

// Strum is what sounded above the bass at a pluck.
type Strum struct {
	Onset float64 // seconds from the first sample
	// Bass is the note below it, a MIDI number, 0 where none is known.
	Bass int
	// Chance is how likely a chord was struck at all, over 0 to 1.
	Chance float64
	// Chroma is the strength of each pitch class, C first, that the pluck
	// brought above the bass note; 1 is the strongest that is no overtone of it.
	Chroma [12]float64
}

// Hit says whether an expected chord was heard.
type Hit uint8

// The answers.
const (
	NotSure Hit = iota
	Heard
	NotHeard
)

// String returns the answer's words.
func (h Hit) String() string { return [...]string{"not sure", "heard", "not heard"}[h] }

// The likelihoods from which a chord counts as heard, and below which as not
// heard; what lies between costs the player nothing.
const (
	hitHeard    = 0.65
	hitNotHeard = 0.15
)

const hitFeatures = 4

const (
	// A shape is not heard surely where one of its classes is weaker than leastClass, or
	// another stronger than mostForeign; an overtone of one of its notes or of the bass
	// counts overtoneShare. By 184 strikes put together of recorded notes, half with one
	// note a half or a whole step off: 1 of 96 of those is heard, and of the right ones
	// 69 of 88, the others being unsure.
	leastClass    = 0.3
	mostForeign   = 0.35
	overtoneShare = 0.8
)

// Odd returns what speaks against the shape with these pitch classes above its bass note,
// −1 for nothing: the class that is absent, and the strongest that is foreign. The fifth
// above the bass is never absent: the bass sounds it too.
func (s Strum) Odd(classes []int) (absent, foreign int) {
	absent, foreign = -1, -1
	var asked, overtones [12]bool
	spill := func(c int) { overtones[(c+7)%12], overtones[(c+4)%12] = true, true }
	weakest, strongest := leastClass, mostForeign
	for _, c := range classes {
		asked[c] = true
		spill(c)
		if v := s.Chroma[c]; v < weakest && (s.Bass == 0 || (c-s.Bass%12+12)%12 != 7) {
			absent, weakest = c, v
		}
	}
	if s.Bass != 0 {
		asked[s.Bass%12] = true
		spill(s.Bass % 12)
	}
	for c, v := range s.Chroma {
		if overtones[c] {
			v *= overtoneShare
		}
		if !asked[c] && v > strongest {
			foreign, strongest = c, v
		}
	}
	return absent, foreign
}

// hitFitted turn hitEvidence into log-odds. TestFitHits fits them.
var hitFitted = [hitFeatures]float64{-6.77, 0.58, 11.58, -1.78}

// hitEvidence says how much a strum looks like a chord with these pitch classes:
// the log-odds of any chord, the mean strength of the classes, compressed since
// one note often drowns the others, and the power of all other classes.
func (s Strum) hitEvidence(classes []int) [hitFeatures]float64 {
	wanted := [12]bool{}
	for _, c := range classes {
		wanted[c] = true
	}
	in, out, n := 0.0, 0.0, 0.0
	for c, v := range s.Chroma {
		if wanted[c] {
			in += math.Sqrt(v)
			n++
		} else {
			out += v * v
		}
	}
	chance := between(0.02, s.Chance, 0.95)
	return [hitFeatures]float64{1, math.Log(chance / (1 - chance)), in / n, math.Min(2, out)}
}

// Hit compares a strum with the pitch classes of the expected shape above its
// bass note, 0 (C) to 11 (B), without that of the bass note itself, and returns
// the likelihood that the shape was struck. It is heard only where nothing is odd.
func (s Strum) Hit(classes []int) (Hit, float64) {
	if len(classes) == 0 {
		return NotSure, s.Chance
	}
	odds := 0.0
	for i, v := range s.hitEvidence(classes) {
		odds += hitFitted[i] * v
	}
	p := 1 / (1 + math.Exp(-odds))
	absent, foreign := s.Odd(classes)
	switch {
	case p >= hitHeard && absent < 0 && foreign < 0:
		return Heard, p
	case p < hitNotHeard:
		return NotHeard, p
	}
	return NotSure, p
}
