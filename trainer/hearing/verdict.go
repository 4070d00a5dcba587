package hearing

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

// Tied returns the pitch that the sound may as well be, a MIDI number; 0 where one
// stands out.
func (n Note) Tied() int {
	if n.RivalChance >= tie*n.Confidence {
		return n.Rival
	}
	return 0
}

// Against compares a bass note with the MIDI number asked for. What is expected
// breaks ties only one way: a note that may as well be the one asked for is not
// called wrong, but no note is called right unless the sound alone says so.
func (n Note) Against(expected int) Verdict {
	switch {
	case n.Confidence < sure:
		return Unsure
	case n.MIDI == expected:
		return Right
	case n.Tied() == expected:
		return Unsure
	}
	return Wrong
}
