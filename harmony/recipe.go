package harmony

import (
	"cmp"
	"slices"
	"strconv"
)

// recipe is what a chord symbol asks for, before it is worked out into degrees.
// The zero value is a major triad.
type recipe struct {
	minor, dim, power bool
	major             bool // the seventh is major
	triangle          bool // the major seventh comes without a number
	sixth             bool
	triadB6           bool // a b6 written before any seventh
	seventh           Degree
	top               int // the main number: 7, 9, 11 or 13
	sus               []Degree
	fifths            []Degree // altered fifths, in place of the 5
	altered           []Degree // altered tensions: b9 #9 #11 b13 b6
	added             []Degree
	omit              []string
}

// extend stacks thirds up to the number text.
func (q *recipe) extend(text string) {
	q.top, _ = strconv.Atoi(text)
	switch {
	case q.major:
		q.seventh = Degree{7, 0}
	case q.dim:
		q.seventh = Degree{7, -2}
	default:
		q.seventh = Degree{7, -1}
	}
}

// alter puts an altered fifth in place of the 5, or adds an altered tension.
func (q *recipe) alter(d Degree) {
	if d.Number == 5 {
		q.fifths = append(q.fifths, d)
	} else {
		q.triadB6 = q.triadB6 || d == Degree{6, -1} && q.seventh == Degree{}
		q.altered = append(q.altered, d)
	}
}

func (q *recipe) add(d Degree) { q.added = append(q.added, d) }

// suspend puts a tone in the place of the third, minor or not.
func (q *recipe) suspend(d Degree) { q.minor, q.sus = false, append(q.sus, d) }

// addNamed adds the tone that an added number names: over a seventh the 4 and
// the 6 become 11 and 13. It reports false for a number that nobody adds.
func (q *recipe) addNamed(text string, step int8) bool {
	if step != 0 {
		d, ok := alterations[alteration{step, text}]
		if ok {
			q.alter(d)
		}
		return ok && d.Number != 5
	}
	seventh := q.seventh != Degree{}
	switch text {
	case "2", "9":
		q.add(Degree{9, 0})
	case "4", "11":
		if text == "4" && !seventh {
			q.add(Degree{4, 0})
		} else {
			q.add(Degree{11, 0})
		}
	case "6", "13":
		if seventh {
			q.add(Degree{13, 0})
		} else {
			q.sixth = true
		}
	default:
		return false
	}
	return true
}

// has reports an altered tension.
func (q *recipe) has(number, alter int8) bool {
	return slices.Contains(q.altered, Degree{number, alter})
}

// degrees works the recipe out, low to high. Where the trade leaves a choice it
// follows tonal 6.4.2 (npm, MIT), as the tests check: an 11 leaves out the 3, a
// 13 leaves out the 11, 7alt is 1 3 #5 b7 #9. Unlike there a b13 keeps the 5,
// alone as beside other tensions (common practice, no source).
func (q *recipe) degrees() []Degree {
	q.imply()
	ds := make([]Degree, 0, 8)
	ds = append(ds, Degree{1, 0})
	ds = q.thirds(ds)
	ds = q.addFifths(ds)
	if q.sixth {
		ds = append(ds, Degree{6, 0})
	}
	if q.seventh != (Degree{}) {
		ds = append(ds, q.seventh)
	}
	if q.top >= 9 && !q.has(9, -1) && !q.has(9, 1) {
		ds = append(ds, Degree{9, 0})
	}
	if q.top == 11 && !q.has(11, 1) {
		ds = append(ds, Degree{11, 0})
	}
	if q.top == 13 && !q.has(13, -1) {
		ds = append(ds, Degree{13, 0})
	}
	ds = append(ds, q.altered...)
	ds = append(ds, q.added...)
	ds = slices.DeleteFunc(ds, func(d Degree) bool { return slices.Contains(q.omit, strconv.Itoa(int(d.Number))) })
	slices.SortStableFunc(ds, func(a, b Degree) int {
		return cmp.Or(cmp.Compare(a.Semitones(), b.Semitones()), cmp.Compare(a.Number, b.Number))
	})
	return oncePerSound(ds)
}

// oncePerSound keeps the lowest of the degrees that sound alike, so that a note
// has one name in its chord: Cm#9 has no tone beside its b3.
func oncePerSound(ds []Degree) []Degree {
	var heard [12]bool
	return slices.DeleteFunc(ds, func(d Degree) bool {
		class := mod(d.Semitones(), 12)
		again := heard[class]
		heard[class] = true
		return again
	})
}

// imply adds what a symbol means without writing it.
func (q *recipe) imply() {
	none := q.seventh == Degree{}
	switch {
	case q.dim && q.sixth && q.seventh == Degree{7, -2}:
		q.seventh = Degree{7, 0}
	case none && q.major && q.has(11, 1) && !q.sixth:
		q.seventh = Degree{7, 0} // maj#11
	case none && q.sus != nil && q.has(9, -1):
		q.seventh = Degree{7, -1} // sus(b9)
	case none && q.sus != nil && slices.Contains(q.added, Degree{9, 0}):
		q.added[slices.Index(q.added, Degree{9, 0})] = Degree{2, 0} // sus4add9
	}
	minor7 := q.minor && q.seventh == Degree{7, -1}
	if minor7 && slices.Contains(q.fifths, Degree{5, 1}) {
		// Cm7#5 is Ab over C: its raised fifth is spelled as the flat sixth.
		q.fifths = slices.DeleteFunc(q.fifths, func(d Degree) bool { return d == Degree{5, 1} })
		q.altered = append(q.altered, Degree{6, -1})
		q.omit = append(q.omit, "5")
	}
}

func (q *recipe) thirds(ds []Degree) []Degree {
	switch {
	case q.power:
		return ds
	case q.sus != nil:
		return append(ds, q.sus...)
	case q.minor || q.dim:
		return append(ds, Degree{3, -1})
	case q.top == 11 && q.seventh == Degree{7, -1} && !q.has(11, 1):
		return ds
	default:
		return append(ds, Degree{3, 0})
	}
}

func (q *recipe) addFifths(ds []Degree) []Degree {
	if q.dim && len(q.fifths) == 0 {
		return append(ds, Degree{5, -1})
	}
	if len(q.fifths) > 0 {
		return append(ds, q.fifths...)
	}
	lone := len(q.altered) == 1 && len(q.added) == 0
	switch {
	case q.has(6, -1) && q.major && !q.minor:
		return ds // M7b6
	case q.triadB6 && q.minor && (!lone || q.seventh != Degree{}):
		return ds // mb6 with a further tone
	}
	return append(ds, Degree{5, 0})
}
