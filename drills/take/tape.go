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

// Hear adds a note. Its Time is on any clock that runs on through the passes,
// the same as Cut is asked with.
func (t *Tape) Hear(p Played) { t.notes = append(t.notes, p) }

// Strum adds a strum, its Time on the same clock.
func (t *Tape) Strum(s Strum) { t.strums = append(t.strums, s) }

// Cut grades the pass from start to end, as Grade does, and forgets it and all
// before it. Times of absent are on the tape's clock. It should be called when
// notes that are late by Window and Spread have come; a note that serves nothing
// in this pass but comes less than Window before its end is left for the next.
func (t *Tape) Cut(expected []Expected, start, end time.Duration, absent []Span, s Settings) *Score {
	slices.SortStableFunc(t.notes, func(a, b Played) int { return cmp.Compare(a.Time, b.Time) })
	first, _ := slices.BinarySearchFunc(t.notes, start-s.Window, before)
	last, _ := slices.BinarySearchFunc(t.notes, end+s.Window+s.Spread, before)
	played := slices.Clone(t.notes[first:last])
	for i := range played {
		played[i].Time -= start
	}
	gaps := slices.Clone(absent)
	for i := range gaps {
		gaps[i].From, gaps[i].To = gaps[i].From-start, gaps[i].To-start
	}
	heard := Heard{Notes: played, Strums: t.cutStrums(start, end, s), ByEar: t.ByEar, Absent: gaps}
	sc := Grade(expected, heard, s)
	// What is over at the end is taken off again, and does not count as extra.
	rest := slices.Clone(t.notes[last:])
	over := map[int]bool{}
	for _, j := range sc.Extras {
		if p := sc.Played[j]; p.Time >= end-start-s.Window {
			over[j] = true
			p.Time += start
			rest = append(rest, p)
		}
	}
	if len(over) > 0 {
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
func (t *Tape) cutStrums(start, end time.Duration, s Settings) []Strum {
	var cut, rest []Strum
	for _, h := range t.strums {
		if h.Time >= end-s.Window {
			rest = append(rest, h)
		}
		if h.Time >= start-s.Window && h.Time < end+s.Window+s.Spread {
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
