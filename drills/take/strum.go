package take

import (
	"cmp"
	"slices"
	"time"
)

// Strum is what an ear heard sound above the bass at one pluck. Time is from the
// start of the pass.
type Strum struct {
	Time time.Duration
	// Hit compares it with a shape: the bass note that sounds already or is struck with
	// it, 0 where there is none, and the notes above it, MIDI numbers. The verdict is
	// Matched, Unsure or Missed; likely is the chance, 0 to 1, that the shape was struck.
	// It must give the same at each call.
	Hit func(bass int, notes []int) (v Verdict, likely float64)
	// Odd names what speaks against such a shape, as pitch classes, 0 (C) to 11 (B), −1 for
	// nothing: that of the note that is absent and that of the one struck in its place. It
	// may be nil.
	Odd func(bass int, notes []int) (absent, foreign int)
}

// bassString is the highest string, counted from the highest, on which the line is played.
const bassString = 5

// above lists the notes, MIDI numbers, that a strike sounds above its bass, and the bass: 0
// for a push, whose own follows it.
func (e *Expected) above() (bass int, notes []int) {
	all := append(append([]Want{}, e.Free...), e.Notes...)
	lowest := all[0]
	for _, w := range all {
		if w.MIDI < lowest.MIDI {
			lowest = w
		}
	}
	if len(e.Free) > 0 || lowest.Place.String >= bassString {
		bass = lowest.MIDI
	}
	for _, w := range all {
		if w.MIDI != bass {
			notes = append(notes, w.MIDI)
		}
	}
	if len(notes) == 0 {
		notes = append(notes, lowest.MIDI)
	}
	return bass, notes
}

// judgeStrums judges each strike by the strums in its window that are nearest to
// it: by the one that says most for it, and among such by the nearest. A strike
// without one is missed.
func (sc *Score) judgeStrums(strums []Strum, strikes []slot) {
	for _, sl := range strikes {
		o := &sc.Outcomes[sl.event]
		o.Whole, o.Verdict, o.Offset, o.Confidence = true, Missed, 0, 0
	}
	strums = slices.Clone(strums)
	slices.SortStableFunc(strums, func(a, b Strum) int { return cmp.Compare(a.Time, b.Time) })
	w, heard := waiting{slots: strikes, taken: make([]bool, len(strikes))}, make([]bool, len(strikes))
	for _, s := range strums {
		w.close(s.Time)
		i := w.closest(Played{Time: s.Time}, byNothing)
		if i < 0 {
			continue
		}
		sl := &strikes[i]
		o := &sc.Outcomes[sl.event]
		bass, notes := sc.Events[sl.event].above()
		v, likely := s.Hit(bass, notes)
		late := s.Time - sl.due
		if !heard[i] || v > o.Verdict || v == o.Verdict && late.Abs() < o.Offset.Abs() {
			heard[i] = true
			o.Verdict, o.Confidence, o.Offset = v, likely, late
			o.Absent, o.Foreign = nil, nil
			if s.Odd != nil && v != Matched {
				absent, foreign := s.Odd(bass, notes)
				o.Absent, o.Foreign = known(absent), known(foreign)
			}
		}
	}
}

// known is a pitch class in a list, none where it is −1.
func known(class int) []int {
	if class < 0 {
		return nil
	}
	return []int{class}
}
