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
}

// Above lists the pitch classes, 0 (C) to 11 (B), that a strike sounds above its
// lowest note, each once. The class of that note is left out where there are
// others: above itself it is not told from its own overtones.
func (e *Expected) Above() []int {
	all := append(append([]Want{}, e.Free...), e.Notes...)
	lowest := 0
	for i, w := range all {
		if w.MIDI < all[lowest].MIDI {
			lowest = i
		}
	}
	var classes []int
	for i, w := range all {
		c := byPitchClass(w.MIDI)
		if i != lowest && c != byPitchClass(all[lowest].MIDI) && !slices.Contains(classes, c) {
			classes = append(classes, c)
		}
	}
	if len(classes) == 0 && len(all) > 1 {
		classes = append(classes, byPitchClass(all[lowest].MIDI))
	}
	return classes
}

// judgeStrums judges each strike by the strum that is paired with it; a strike
// without one is missed.
func (sc *Score) judgeStrums(strums []Strum, strikes []slot) {
	if len(strikes) == 0 {
		return
	}
	strums = slices.Clone(strums)
	slices.SortStableFunc(strums, func(a, b Strum) int { return cmp.Compare(a.Time, b.Time) })
	al := &aligner{played: make([]Played, len(strums)), taken: make([]bool, len(strums))}
	for j, s := range strums {
		al.played[j].Time = s.Time
	}
	for _, sl := range strikes {
		o := &sc.Outcomes[sl.event]
		o.Whole, o.Verdict, o.Offset, o.Confidence = true, Missed, 0, 0
	}
	al.align(strikes, make([]bool, len(strikes)), byNothing, apart, func(i, j int) {
		sl := &strikes[i]
		o := &sc.Outcomes[sl.event]
		o.Verdict, o.Confidence = strums[j].Hit(sc.Events[sl.event].Above())
		o.Offset = strums[j].Time - sl.due
	})
}
