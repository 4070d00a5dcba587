package fretboard

import "math"

// Hand holds the limits of the fretting hand. The thumb frets nothing.
type Hand struct {
	// ReachMM is the farthest that the fretted notes of one shape may lie apart
	// along the neck, in millimetres between their frets. Open strings count for
	// nothing.
	ReachMM float64
	// Fingers is how many fingers may fret, 1 to 4.
	Fingers int
}

// DefaultHand reaches 105 mm with four fingers: frets 1 to 4 (97.3 mm) and 5 to
// 9 (100.1 mm) on a 648 mm scale, but not 1 to 5 (126.2 mm). No study of the
// reach between first and fourth finger was found: common practice, no source,
// and a setting.
func DefaultHand() Hand { return Hand{ReachMM: 105, Fingers: 4} }

// Barre is one finger laid over more than one string at a fret.
type Barre struct {
	Finger int
	Fret   int
	// From and To are the string numbers of its ends, From the lower sounding.
	From, To int
}

// Fingering says which finger holds which string of a shape.
type Fingering struct {
	// Fingers has an entry a string, low string first: 1 (index) to 4 (little
	// finger), 0 for a string that is open or not played.
	Fingers []int
	Barres  []Barre
	// SpanMM is the distance from the lowest fretted note to the highest, in
	// millimetres between their frets.
	SpanMM float64
	// Effort says how hard the hand works to hold the shape, 0 for open strings
	// alone, about 2 for an easy shape, 5 and more for a hard one. It is the sum of
	//   - 0.5 a finger that frets;
	//   - the square of the span as a share of the hand's reach;
	//   - for each pair of neighbouring fretting fingers the square of how far
	//     their distance is from a relaxed 29 mm a finger (one finger a fret has
	//     32.4 mm on frets 1 to 4 and 25.7 mm on frets 5 to 8), in units of those
	//     29 mm, weighed 1 where the hand opens and 0.1 where it closes;
	//   - 0.5 a barre, 0.2 more a string from its third, and 0.6 more where
	//     another finger than the index lies flat, and 1 where the finger has to clear
	//     the next higher string, which sounds at a lower fret;
	//   - 2 where four fingers stand in one fret, one beside the other;
	//   - 0.25 a muted string between sounding ones.
	// The weights are common practice, no source; their order is what counts.
	Effort float64
}

const (
	fingerEffort    = 0.5
	relaxedMM       = 29.0
	openingWeight   = 1.0
	closingWeight   = 0.1
	spanWeight      = 1.0
	barreEffort     = 0.5
	barreWideEffort = 0.2
	barreOtherExtra = 0.6
	barreOverEffort = 1.0
	crowdedEffort   = 2.0
	muteEffort      = 0.25
)

// mostStrings is the largest number of strings a tuning may have.
const mostStrings = 8

// mostFrets is the largest fret that fingers are worked out for.
const mostFrets = 100

// muted marks a string that is not played.
const muted = -1

// Fingering works out the easiest way to hold frets, low string to high, −1
// for a string that is not played. It reports false where the hand cannot:
//   - more fingers than the hand has, a barre counting once;
//   - fretted notes farther apart than its reach;
//   - a muted string between sounding ones that no finger touches: one of its
//     neighbours must be fretted, and where a barre of another finger than the
//     index lies over it, fretted above the barre; the index lets a string within
//     its barre go silent.
//
// A finger never stands behind a lower one: along the frets fingers ascend,
// and at one fret they ascend from the low strings to the high. A barre holds
// every string between its ends, so each of them is fretted at the barre or above.
// Frets past the highest fret of the neck are worked out like any other, up to
// 100.
func (n Neck) Fingering(h Hand, frets []int) (Fingering, bool) {
	if len(frets) == 0 || len(frets) > mostStrings {
		return Fingering{}, false
	}
	top := 0
	var fr [mostStrings]int8
	for i, f := range frets {
		if f > mostFrets {
			return Fingering{}, false
		}
		fr[i] = int8(f)
		top = max(top, f)
	}
	e := newFingerer(n, h, len(frets), top)
	held, ok := e.hold(&fr)
	if !ok {
		return Fingering{}, false
	}
	return held.spell(e, &fr), true
}

// fingerer finds fingerings on one neck for one hand.
type fingerer struct {
	mm      []float64 // distance of each fret from the nut
	reach   float64
	fingers int
	strings int
}

func newFingerer(n Neck, h Hand, strings, top int) *fingerer {
	e := &fingerer{reach: h.ReachMM, fingers: min(h.Fingers, 4), strings: strings, mm: make([]float64, top+1)}
	for f := range e.mm {
		e.mm[f] = n.FretMM(f)
	}
	return e
}

// hold is a fingering in compact form.
type hold struct {
	finger [mostStrings]int8
	effort float64
	span   float64
}

// press is a run of fretted strings that one finger could take: the same
// fret, from one string to another by index.
type press struct {
	fret, from, to int8
	// index is set where the index finger alone can do it: a string within falls silent.
	index bool
}

// hold finds the fingering of least effort; on a tie the lowest fingers, then
// the most barres.
func (e *fingerer) hold(fr *[mostStrings]int8) (hold, bool) {
	var order [mostStrings]int8
	count := 0
	first, last := -1, -1
	for i := range e.strings {
		if fr[i] == muted {
			continue
		}
		if first < 0 {
			first = i
		}
		last = i
		if fr[i] == 0 {
			continue
		}
		j := count
		for j > 0 && fr[order[j-1]] > fr[i] {
			order[j] = order[j-1]
			j--
		}
		order[j] = int8(i)
		count++
	}
	if first < 0 {
		return hold{}, false
	}
	mutes := 0
	for i := first + 1; i < last; i++ {
		if fr[i] != muted {
			continue
		}
		if fr[i-1] <= 0 && fr[i+1] <= 0 {
			return hold{}, false
		}
		mutes++
	}
	best := hold{effort: muteEffort * float64(mutes)}
	if count == 0 {
		return best, true
	}
	low, high := fr[order[0]], fr[order[count-1]]
	best.span = e.mm[high] - e.mm[low]
	if best.span > e.reach {
		return hold{}, false
	}
	s := grouping{e: e, fr: fr, order: order[:count], best: math.Inf(1)}
	s.group(0, 0, 0)
	if math.IsInf(s.best, 1) {
		return hold{}, false
	}
	best.effort += s.best + spanWeight*(best.span/e.reach)*(best.span/e.reach)
	for i := range s.bestCount {
		p := s.bestPresses[i]
		for k := p.from; k <= p.to; k++ {
			if fr[k] == p.fret {
				best.finger[k] = s.bestFingers[i]
			}
		}
	}
	return best, true
}

// grouping is the search over the ways to share fretted strings among fingers.
type grouping struct {
	e           *fingerer
	fr          *[mostStrings]int8
	order       []int8 // fretted strings by fret, then low string to high
	presses     [4]press
	best        float64
	bestCount   int
	bestPresses [4]press
	bestFingers [4]int8
}

// group gives the strings from order[i] on to fingers, count of which are used
// at a cost so far.
func (s *grouping) group(i, count int, cost float64) {
	if cost >= s.best {
		return
	}
	if i == len(s.order) {
		s.number(count, cost)
		return
	}
	if count == s.e.fingers {
		return
	}
	from := s.order[i]
	fret := s.fr[from]
	s.presses[count] = press{fret: fret, from: from, to: from}
	s.group(i+1, count+1, cost+fingerEffort)
	to, index := from, false
	for j := i + 1; j < len(s.order) && s.fr[s.order[j]] == fret; j++ {
		next := s.order[j]
		holds, silent := s.barreHolds(fret, to, next)
		if index = index || silent; !holds || index && count > 0 {
			return
		}
		to = next
		s.presses[count] = press{fret, from, to, index}
		s.group(j+1, count+1, cost+fingerEffort+barreEffort+barreWideEffort*float64(max(0, to-from-1)))
	}
}

// barreHolds tells whether a barre at a fret may go on from one string to the
// next of its own across those between, and whether it has to silence one of them.
func (s *grouping) barreHolds(fret, from, to int8) (holds, silent bool) {
	for k := from + 1; k < to; k++ {
		switch f := s.fr[k]; {
		case f == muted:
			silent = silent || s.fr[k-1] <= fret && s.fr[k+1] <= fret
		case f < fret:
			return false, false
		}
	}
	return true, silent
}

// over reports whether a finger that lies flat has to clear the next higher string.
func (s *grouping) over(p press) bool {
	next := int(p.to) + 1
	return p.from != p.to && next < s.e.strings && s.fr[next] >= 0 && s.fr[next] < p.fret
}

// fingerSets lists the ascending choices of n of four fingers, lowest first.
var fingerSets = [5][][4]int8{
	{{}},
	{{1}, {2}, {3}, {4}},
	{{1, 2}, {1, 3}, {1, 4}, {2, 3}, {2, 4}, {3, 4}},
	{{1, 2, 3}, {1, 2, 4}, {1, 3, 4}, {2, 3, 4}},
	{{1, 2, 3, 4}},
}

// number picks the fingers for the presses made.
func (s *grouping) number(count int, cost float64) {
	for _, set := range fingerSets[count] {
		if int(set[count-1]) > s.e.fingers || count > 0 && s.presses[0].index && set[0] != 1 {
			continue
		}
		c := cost
		if count == 4 && s.presses[0].fret == s.presses[3].fret {
			c += crowdedEffort
		}
		for i := range count {
			if set[i] > 1 && s.presses[i].from != s.presses[i].to {
				c += barreOtherExtra
			}
			if s.over(s.presses[i]) {
				c += barreOverEffort
			}
			if i > 0 {
				apart := (s.e.mm[s.presses[i].fret]-s.e.mm[s.presses[i-1].fret])/relaxedMM - float64(set[i]-set[i-1])
				if apart > 0 {
					c += openingWeight * apart * apart
				} else {
					c += closingWeight * apart * apart
				}
			}
		}
		if c < s.best {
			s.best, s.bestCount, s.bestPresses = c, count, s.presses
			s.bestFingers = set
		}
	}
}

// spell writes a hold out.
func (h hold) spell(e *fingerer, fr *[mostStrings]int8) Fingering {
	f := Fingering{Fingers: make([]int, e.strings), SpanMM: h.span, Effort: h.effort}
	for i := range e.strings {
		f.Fingers[i] = int(h.finger[i])
	}
	f.Barres = h.barres(e.strings, fr)
	return f
}

// barres lists the fingers that hold more than one string.
func (h hold) barres(strings int, fr *[mostStrings]int8) []Barre {
	var barres []Barre
	for finger := int8(1); finger <= 4; finger++ {
		from, to := -1, -1
		for i := range strings {
			if h.finger[i] == finger {
				if from < 0 {
					from = i
				}
				to = i
			}
		}
		if to > from {
			barres = append(barres, Barre{Finger: int(finger), Fret: int(fr[from]), From: strings - from, To: strings - to})
		}
	}
	return barres
}
