package walk

// Rule is one thing to say of a bar, and where it comes from.
type Rule struct {
	// Name is one word, for scripts.
	Name string
	// Good is set on praise, Grave on what makes a bar fail.
	Good, Grave bool
	// Source is where the rule comes from.
	Source string
}

const ownPractice = "common practice, no source"

// The rules of criticism.
var (
	OutOfRange = Rule{Name: "range", Grave: true, Source: "the bass strings and the highest fret of your settings"}
	Unclear    = Rule{Name: "unclear", Grave: true, Source: ownPractice}
	MissedRoot = Rule{Name: "arrival", Grave: true, Source: "in transcribed lines 68 % of changes have the root, most others the fifth or third (FiloBass, Riley and Dixon, ISMIR 2023)"}
	TooFar     = Rule{Name: "reach", Grave: true, Source: "distances by the fret formula L·(1 − 2^(−n/12)); the speed of the hand is a setting (common practice, no source)"}
	OpenLeap   = Rule{Name: "leap", Source: ownPractice}
	Repeat     = Rule{Name: "repeat", Source: ownPractice}
	Tension    = Rule{Name: "tension", Source: "in transcribed lines beat 1 has a chord tone 81 % of the time (Weimar Jazz Database, 88 solos)"}

	LeadsIn   = Rule{Name: "leads-in", Good: true, Source: "transcribed lines reach 31 % of roots from a half step below and 22 % from above (FiloBass recount)"}
	Outlines  = Rule{Name: "outlines", Good: true, Source: ownPractice}
	Recovered = Rule{Name: "recovered", Good: true, Source: ownPractice}
)
