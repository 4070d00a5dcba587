package hearing

import "math"

// Verdict says how a note compares with the one asked for.
type Verdict uint8

// The verdicts. Unsure must be shown as unsure and cost nothing.
const (
	Unsure Verdict = iota
	Right
	Wrong
)

// String returns the verdict's word.
func (v Verdict) String() string { return [...]string{"unsure", "right", "wrong"}[v] }

const (
	// sure is the least confidence of a verdict.
	sure = 0.5
	// tie is how near a rival's chance comes to the best to be as good: then the
	// sound alone does not decide.
	tie = 0.6
)

// Against compares a bass note with the MIDI number asked for. What is expected
// breaks ties only one way: a note that may as well be the one asked for is not
// called wrong, but no note is called right unless the sound alone says so.
func (n Note) Against(expected int) Verdict {
	switch {
	case n.Confidence < sure:
		return Unsure
	case n.MIDI == expected:
		return Right
	case n.Rival == expected && n.RivalChance >= tie*n.Confidence:
		return Unsure
	}
	return Wrong
}

// Strum is what sounded above the bass at a pluck.
type Strum struct {
	Onset float64 // seconds from the first sample
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

const (
	hitHeard    = 0.75
	hitNotHeard = 0.25
)

// Hit compares a strum with the pitch classes of the expected shape above its
// bass note, 0 (C) to 11 (B), and returns the likelihood that the shape was
// struck: the odds that any chord was, times what the classes add. The numbers
// were chosen on rendered samples, see TestHits.
func (s Strum) Hit(classes []int) (Hit, float64) {
	if len(classes) == 0 {
		return NotSure, s.Chance
	}
	wanted := [12]bool{}
	for _, c := range classes {
		wanted[c] = true
	}
	in, out, n := 0.0, 0.0, 0.0
	for c, v := range s.Chroma {
		if wanted[c] {
			in += v
			n++
		} else {
			out += v * v
		}
	}
	fit := in / n * (1 - 0.25*math.Min(2, out))
	chance := between(0.05, s.Chance, 0.95)
	odds := math.Log(chance/(1-chance)) + between(-5, 14*(fit-0.55), 3)
	p := 1 / (1 + math.Exp(-odds))
	switch {
	case p >= hitHeard:
		return Heard, p
	case p <= hitNotHeard:
		return NotHeard, p
	}
	return NotSure, p
}
