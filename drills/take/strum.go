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
	// Hit compares it with the pitch classes of a shape above its bass note, 0 (C)
	// to 11 (B). The verdict is Matched, Unsure or Missed; likely is the chance, 0 to
	// 1, that the shape was struck. It must give the same at each call.
	Hit func(classes []int) (v Verdict, likely float64)
	// Odd names what speaks against such a shape, −1 for nothing: the class that is absent
	// and the strongest that is foreign. It may be nil.
	Odd func(classes []int) (absent, foreign int)
}

// above lists the pitch classes, 0 (C) to 11 (B), that a strike sounds above its
// lowest note, each once. That of the lowest note is left out where there are
// others: above itself it is not told from its own overtones.
func (e *Expected) above() (classes []int) {
	all := append(append([]Want{}, e.Free...), e.Notes...)
	lowest := all[0].MIDI
	for _, w := range all {
		lowest = min(lowest, w.MIDI)
	}
	for _, w := range all {
		if c := byPitchClass(w.MIDI); c != byPitchClass(lowest) && !slices.Contains(classes, c) {
			classes = append(classes, c)
		}
	}
	if len(classes) == 0 {
		classes = append(classes, byPitchClass(lowest))
	}
	return classes
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
		above := sc.Events[sl.event].above()
		v, likely := s.Hit(above)
		late := s.Time - sl.due
		if !heard[i] || v > o.Verdict || v == o.Verdict && late.Abs() < o.Offset.Abs() {
			heard[i] = true
			o.Verdict, o.Confidence, o.Offset = v, likely, late
			o.Absent, o.Foreign = nil, nil
			if s.Odd != nil && v != Matched {
				absent, foreign := s.Odd(above)
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
