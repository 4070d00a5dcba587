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

// Told names the rule and, where it is more than practice, its source.
func (r Rule) Told() string {
	if r.Source == ownPractice {
		return r.Name
	}
	return r.Name + ": " + r.Source
}

// Kind is how the rule is told of: "good", "fault" for what makes a bar fail, else "mind".
func (r Rule) Kind() string {
	switch {
	case r.Good:
		return "good"
	case r.Grave:
		return "fault"
	}
	return "mind"
}

const ownPractice = "common practice, no source"

// The rules of criticism.
var (
	OutOfRange = Rule{Name: "range", Grave: true, Source: "the bass strings and the highest fret of your settings"}
	Unclear    = Rule{Name: "unclear", Grave: true, Source: ownPractice}
	MissedRoot = Rule{Name: "arrival", Grave: true, Source: "in transcribed lines 68 % of changes have the root, most others the fifth or third (FiloBass, Riley and Dixon, ISMIR 2023)"}
	TooFar     = Rule{Name: "reach", Grave: true, Source: "distances by the fret formula L·(1 − 2^(−n/12)); a hand that shifts 20 mm and 200 mm a second (common practice, no source)"}
	OpenLeap   = Rule{Name: "leap", Source: ownPractice}
	Repeat     = Rule{Name: "repeat", Source: ownPractice}
	Tension    = Rule{Name: "tension", Source: "in transcribed lines beat 1 has a chord tone 81 % of the time (Weimar Jazz Database, 88 solos)"}
	Stasis     = Rule{Name: "stasis", Source: ownPractice}
	Wander     = Rule{Name: "wander", Source: "transcribed lines turn in 57 to 59 % of their moves (Weimar Jazz Database, 88 solos), not in all of them"}
	Narrow     = Rule{Name: "narrow", Source: ownPractice}
	Wide       = Rule{Name: "wide", Source: ownPractice}
	Unresolved = Rule{Name: "unresolved", Source: "transcribed lines reach 53 % of roots by a half step (FiloBass recount); what is left of one by a leap is common practice, no source"}
	Dangling   = Rule{Name: "dangling", Source: ownPractice}
	Rootless   = Rule{Name: "rootless", Source: "in transcribed lines 68 % of changes have the root (FiloBass, Riley and Dixon, ISMIR 2023)"}
	NoRoot     = Rule{Name: "root", Source: ownPractice}
	Clash      = Rule{Name: "clash", Source: ownPractice}

	LeadsIn   = Rule{Name: "leads-in", Good: true, Source: "transcribed lines reach 31 % of roots from a half step below and 22 % from above (FiloBass recount)"}
	Outlines  = Rule{Name: "outlines", Good: true, Source: ownPractice}
	Recovered = Rule{Name: "recovered", Good: true, Source: ownPractice}
	Directed  = Rule{Name: "direction", Good: true, Source: ownPractice}
)

// CleanGrade is the grade of a bar without a remark.
const CleanGrade = 10

// Points is what a remark by the rule does to the grade of its bar.
func (r Rule) Points() int {
	switch {
	case r.Good:
		return 1
	case r.Grave:
		return -5
	}
	return -2
}
