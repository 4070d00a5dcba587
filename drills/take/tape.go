package take

import (
	"cmp"
	"slices"
	"time"
)

// Tape keeps what is heard while passes follow each other, and cuts it into
// takes. A note near the line between two passes goes to the one it serves: the
// late last note of one, the early first note of the next.
type Tape struct {
	// ByEar is that of Heard.
	ByEar  bool
	notes  []Played
	strums []Strum
}

// surerWithin is how far apart the times of a note may lie that an ear tells again.
const surerWithin = 5 * time.Millisecond

// Hear adds a note. Its Time is on any clock that runs on through the passes,
// the same as Cut is asked with. One that was unsure and is told again as sure is that note.
func (t *Tape) Hear(p Played) {
	if !p.Unsure() {
		for i := len(t.notes) - 1; i >= 0 && t.notes[i].Time > p.Time-lateOrder; i-- {
			if was := t.notes[i]; was.Unsure() && was.MIDI == p.MIDI && (was.Time-p.Time).Abs() < surerWithin {
				t.notes[i] = p
				return
			}
		}
	}
	t.notes = append(t.notes, p)
}

// Earlier takes all that is on the tape to be so much earlier.
func (t *Tape) Earlier(by time.Duration) {
	for i := range t.notes {
		t.notes[i].Time -= by
	}
	for i := range t.strums {
		t.strums[i].Time -= by
	}
}

// Strum adds a strum, its Time on the same clock.
func (t *Tape) Strum(s Strum) { t.strums = append(t.strums, s) }

// Cut grades the pass from start to end, as Grade does, and forgets it and all
// before it. Times of absent are on the tape's clock. It should be called when
// notes that are late by Window and Spread have come. A player may be early all
// through: what comes up to half a beat before the pass may serve it, and what serves
// nothing in this pass but comes as early before its end is left for the next.
func (t *Tape) Cut(expected []Expected, start, end time.Duration, absent []Span, s Settings) *Score {
	slices.SortStableFunc(t.notes, func(a, b Played) int { return cmp.Compare(a.Time, b.Time) })
	early := s.Window
	if len(expected) > 0 {
		early = max(early, expected[0].Beat/2)
	}
	first, _ := slices.BinarySearchFunc(t.notes, start-early, before)
	last, _ := slices.BinarySearchFunc(t.notes, end+s.Window+s.Spread, before)
	played := slices.Clone(t.notes[first:last])
	for i := range played {
		played[i].Time -= start
	}
	gaps := slices.Clone(absent)
	for i := range gaps {
		gaps[i].From, gaps[i].To = gaps[i].From-start, gaps[i].To-start
	}
	heard := Heard{Notes: played, Strums: t.cutStrums(start, end, early, s), ByEar: t.ByEar, Absent: gaps}
	sc := Grade(expected, heard, s)
	// What is over at either end is taken off again, and does not count as extra.
	lead := s.Window + max(0, -sc.Fit.Offset)
	rest := slices.Clone(t.notes[last:])
	over := map[int]bool{}
	for _, j := range sc.Extras {
		p := sc.Played[j]
		over[j] = p.Time < -s.Window || p.Time >= end-start-lead
		if over[j] && p.Time > 0 {
			p.Time += start
			rest = append(rest, p)
		}
	}
	if len(sc.Extras) > 0 {
		var kept []Played
		for j, p := range sc.Played {
			if !over[j] {
				kept = append(kept, p)
			}
		}
		heard.Notes = kept
		sc = Grade(expected, heard, s)
	}
	t.notes = rest
	return sc
}

// cutStrums takes the strums of a pass off the tape. Those near its end stay for
// the next pass too: windows do not overlap, so each serves one of them at most.
func (t *Tape) cutStrums(start, end, early time.Duration, s Settings) []Strum {
	var cut, rest []Strum
	for _, h := range t.strums {
		if h.Time >= end-early {
			rest = append(rest, h)
		}
		if h.Time >= start-early && h.Time < end+s.Window+s.Spread {
			h.Time -= start
			cut = append(cut, h)
		}
	}
	t.strums = rest
	return cut
}

func before(p Played, at time.Duration) int {
	if p.Time < at {
		return -1
	}
	return 1
}
