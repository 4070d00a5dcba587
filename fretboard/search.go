package fretboard

import (
	"cmp"
	"math/bits"
	"slices"

	"footfall/harmony"
)

// Shapes finds every shape of a query that the hand can hold, the best first.
//
// A shape's lowest note is its bass: it lies on one of the neck's bass strings,
// no thicker string sounds, and no other string sounds below it. Above it sound
// only tones of the chord and the tensions asked for, and with the bass they
// hold
//   - the tones that make the chord heard: third (or what is suspended in its
//     place) and seventh or 6, an altered fifth, altered tensions, and in a chord
//     without a seventh all it adds;
//   - at least three different tones of the chord, or all it has: so a triad is
//     always whole. A bass note outside the chord counts for none of them.
//
// The root may be missing otherwise, and on the third of a plain dominant 7 or
// major 7 the ninth may take its place: 3 b7 9 5, the rootless ninth.
//
// What a hand can hold is said at Fingering. The search goes over every set of
// strings and frets up to the highest fret and leaves out only branches that
// cannot meet the rules, so it misses none.
//
// Best is the least sum of the effort and of what the shape lacks in sound: the
// root (1.2), a natural fifth (0.7), a tension that the symbol names (2.5), another
// tone (0.8), each tone that sounds
// twice (0.4), each bass string that sounds above the bass (0.6), each open
// string above it (0.5, more the farther the hand, 3 where it is past the fifth fret; an open bass by the
// distance alone), a fifth and a sixth string (0.3 and 1.5), each millimetre past 75 (0.08),
// each string left out among those above (0.5), the little finger on the bass
// (0.5), frets past the seventh and, where any tone may be the bass,
// a bass other than the root (1.5 and more). The rootless ninth gains 0.5, a grip that players know 1, save 0.7 where they hold it by more than one finger lying flat. Ties go by
// the frets. The order is the same on every run.
func (n Neck) Shapes(h Hand, q Query) []Shape {
	strings := len(n.Tuning)
	if strings == 0 || strings > mostStrings || n.HighestFret < 0 || n.HighestFret > mostFrets {
		return nil
	}
	s := searcher{
		neck: n, strings: strings, root: q.Chord.Root.Semitone(),
		fingerer: newFingerer(n, h, strings, n.HighestFret),
	}
	s.spread()
	for _, need := range compile(q) {
		s.need = need
		s.places()
		s.from(q.At)
	}
	return s.shapes()
}

// searcher walks the strings from the bass up.
type searcher struct {
	*fingerer
	neck    Neck
	strings int
	root    int
	need    needs
	// lowest and highest are the frets within reach of each fret.
	lowest, highest []int8
	// semitone is the number of semitones above the root of each open string.
	semitone [mostStrings]int
	// tones lists the frets of each string that sound something allowed.
	tones [mostStrings][]int8
	// onBass tells the strings that the bass line takes.
	onBass [mostStrings]bool

	frets [mostStrings]int8
	found []candidate
}

// candidate is a shape found, in compact form.
type candidate struct {
	frets [mostStrings]int8
	hold  hold
	rank  float64
}

// spread works out the frets within reach of each other.
func (s *searcher) spread() {
	frets := len(s.mm)
	s.lowest, s.highest = make([]int8, frets), make([]int8, frets)
	for f := 1; f < frets; f++ {
		low, high := f, f
		for low > 1 && s.mm[f]-s.mm[low-1] <= s.reach {
			low--
		}
		for high < frets-1 && s.mm[high+1]-s.mm[f] <= s.reach {
			high++
		}
		s.lowest[f], s.highest[f] = int8(low), int8(high)
	}
	for i := range s.strings {
		s.semitone[i] = ((s.neck.Tuning[i]-s.root)%12 + 12) % 12
		s.onBass[i] = slices.Contains(s.neck.BassStrings, s.strings-i)
	}
}

// places lists the frets whose notes may sound above the bass.
func (s *searcher) places() {
	for i := range s.strings {
		s.tones[i] = s.tones[i][:0]
		for f := range len(s.mm) {
			if s.need.allowed>>((s.semitone[i]+f)%12)&1 != 0 {
				s.tones[i] = append(s.tones[i], int8(f))
			}
		}
	}
}

// from starts a walk at each place of the bass note.
func (s *searcher) from(at *Place) {
	for i := range s.strings {
		if !s.onBass[i] || at != nil && at.String != s.strings-i {
			continue
		}
		for f := range len(s.mm) {
			if at != nil && at.Fret != f {
				continue
			}
			above := (s.semitone[i] + f) % 12
			if s.need.bass>>above&1 == 0 {
				continue
			}
			for k := range i {
				s.frets[k] = muted
			}
			s.frets[i] = int8(f)
			w := walked{bass: s.neck.Tuning[i] + f, low: 1, high: int8(len(s.mm) - 1), sounding: 1 << above}
			if f > 0 {
				w.low, w.high = s.lowest[f], s.highest[f]
			}
			s.string(i+1, w)
		}
	}
}

// walked is what a walk has met so far.
type walked struct {
	bass      int // MIDI number of the bass
	low, high int8
	sounding  uint16
	silent    int // muted strings in a row just before
}

// string chooses a fret for string i and those above it.
func (s *searcher) string(i int, w walked) {
	left := s.strings - i
	if ones(s.need.heard&^w.sounding) > left {
		return
	}
	if left == 0 {
		s.end(w)
		return
	}
	s.frets[i] = muted
	next := w
	next.silent++
	s.string(i+1, next)
	if w.silent > 2 {
		return // the middle one of three has no finger beside it
	}
	open := s.neck.Tuning[i]
	for _, f := range s.tones[i] {
		if open+int(f) < w.bass || f > 0 && f < w.low {
			continue
		}
		if f > w.high {
			break
		}
		s.frets[i] = f
		next := w
		next.silent = 0
		next.sounding |= 1 << ((s.semitone[i] + int(f)) % 12)
		if f > 0 {
			next.low, next.high = max(w.low, s.lowest[f]), min(w.high, s.highest[f])
		}
		s.string(i+1, next)
	}
}

// end judges a whole set of frets.
func (s *searcher) end(w walked) {
	if s.need.heard&^w.sounding != 0 || ones(s.need.whole&w.sounding) < s.need.least {
		return
	}
	held, ok := s.hold(&s.frets)
	if !ok {
		return
	}
	rank := held.effort + s.lack() + wideStretch*max(0, held.span-wideMM)
	if held.finger[s.bassString()] == 4 {
		rank += littleBass
	}
	found := candidate{frets: s.frets, hold: held, rank: rank}
	if named, known := fingersOf(s.neck, s.frets); known {
		found.rank += knownGain
		if int(slices.Max(named[:])) <= s.fingers && found.named(named) {
			found.rank += otherFingers
		}
	}
	s.found = append(s.found, found)
}

// bassString is the index of the string that sounds the bass.
func (s *searcher) bassString() int {
	return slices.IndexFunc(s.frets[:s.strings], func(f int8) bool { return f != muted })
}

// lack weighs what the set of frets lacks in sound.
func (s *searcher) lack() float64 {
	cost := s.need.gain
	var met uint16
	sounding, gap, open := 0, 0, 0
	openBass := false
	low, high := int8(len(s.mm)), int8(0)
	for i := range s.strings {
		f := s.frets[i]
		high = max(high, f)
		if f == muted {
			gap++
			continue
		}
		above := (s.semitone[i] + int(f)) % 12
		if sounding == 0 {
			cost += s.need.step[above]
			openBass = f == 0
		} else {
			if met>>above&1 != 0 {
				cost += toneDoubled
			}
			if s.onBass[i] {
				cost += bassStringUsed
			}
			if sounding > 1 {
				cost += gapAbove * float64(gap)
			}
			if f == 0 {
				open++
			}
		}
		if f > 0 {
			low = min(low, f)
		}
		met |= 1 << above
		gap = 0
		sounding++
	}
	if high > 5 {
		cost += openHigh * float64(open)
	}
	if sounding > 4 {
		cost += fifthVoice
	}
	if sounding > 5 {
		cost += sixthVoice
	}
	for k := range 12 {
		if met>>k&1 == 0 {
			cost += s.need.wanted[k]
		}
	}
	if int(low) < len(s.mm) {
		if openBass {
			cost += openFarAway * float64(low-1)
		}
		cost += float64(open)*(openAbove+openFarAway*float64(low-1)) + pastSeven*float64(max(0, low-7))
	} else {
		cost += float64(open) * openAbove
	}
	return cost
}

func ones(mask uint16) int { return bits.OnesCount16(mask) }

// named gives the shape the fingers of the vocabulary, where they are for its frets and
// not for open strings in their place, and reports whether they are more than the one
// finger, lying flat, that it had.
func (c *candidate) named(fingers [gripStrings]int8) bool {
	for i, f := range fingers {
		if f > 0 != (c.frets[i] > 0) {
			return false
		}
	}
	flat := slices.Max(c.hold.finger[:gripStrings]) == 1 && slices.Max(fingers[:]) > 1
	copy(c.hold.finger[:], fingers[:])
	return flat
}

// shapes sorts what was found and writes it out.
func (s *searcher) shapes() []Shape {
	slices.SortFunc(s.found, func(a, b candidate) int {
		if c := cmp.Compare(a.rank, b.rank); c != 0 {
			return c
		}
		return slices.Compare(a.frets[:s.strings], b.frets[:s.strings])
	})
	shapes := make([]Shape, len(s.found))
	ints := make([]int, 2*s.strings*len(s.found))
	degrees := make([]harmony.Degree, 0, s.strings*len(s.found))
	for k, c := range s.found {
		frets, fingers := ints[:s.strings:s.strings], ints[s.strings:2*s.strings:2*s.strings]
		ints = ints[2*s.strings:]
		from := len(degrees)
		for i := range s.strings {
			frets[i], fingers[i] = int(c.frets[i]), int(c.hold.finger[i])
			if frets[i] != muted {
				degrees = append(degrees, s.need.degree[(s.semitone[i]+frets[i])%12])
			}
		}
		shapes[k] = Shape{
			Frets:     frets,
			Fingering: Fingering{Fingers: fingers, Barres: c.hold.barres(s.strings, &c.frets), SpanMM: c.hold.span, Effort: c.hold.effort},
			Degrees:   degrees[from:len(degrees):len(degrees)],
			Rank:      c.rank,
		}
	}
	return shapes
}
