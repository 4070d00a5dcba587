package walk

import (
	"footfall/harmony"
	"footfall/harmony/tune"
)

// layout says where the bars of a pass lie, in half beats from its start, and
// numbers the chords as they come.
type layout struct {
	tune *tune.Tune
	bars []tune.FormBar
	harmony.Grid
	// chords has a number for each half beat, the same as long as one chord lasts.
	chords []int
	// due is set, by that number, on the chords whose root the ear waits for.
	due []bool
	// struckAll is strikes with the layer's own, once it is asked for.
	struckAll []bool
}

func layOut(t *tune.Tune, bars []tune.FormBar) layout {
	meters := make([]tune.Meter, len(bars))
	for i, fb := range bars {
		meters[i] = fb.Meter
	}
	l := layout{tune: t, bars: bars, Grid: harmony.NewGrid(meters)}
	before := harmony.Chord{None: true}
	n := 0
	all, opens := []harmony.Chord{before}, []bool{false}
	for _, fb := range bars {
		for half := range fb.Meter.Halves() {
			beat, off := harmony.BeatOf(half)
			c, _ := fb.Bar.ChordAt(fb.Meter, beat, off)
			if !c.SoundsAs(before) {
				n++
				all, opens = append(all, c), append(opens, fb.SectionBar == 1 && half == 0 && c.Bass == c.Root)
			}
			before = c
			l.chords = append(l.chords, n)
		}
	}
	l.due = roots(all)
	for k, first := range opens {
		l.due[k] = l.due[k] || first
	}
	return l
}

// meter is that of bar i of the pass, from 0.
func (l *layout) meter(i int) tune.Meter { return l.bars[i].Meter }

// bar returns the bar of the pass, from 0, that a half beat lies in; the end is in
// the last.
func (l *layout) bar(half int) int { return l.At(min(half, l.Total()-1)).Bar - 1 }

// chordAt is the chord that sounds at a half beat; it reports false for none.
func (l *layout) chordAt(half int) (harmony.Chord, bool) {
	p := l.At(half)
	c, ok := l.bars[p.Bar-1].Bar.ChordAt(l.meter(p.Bar-1), p.Beat, p.Off)
	return c, ok && !c.None
}

// seconds is the time from one half beat to a later one, at the tune's tempo; past
// the end of the pass it goes on as the last bar.
func (l *layout) seconds(from, to int) float64 {
	sum := 0.0
	for b := l.bar(from); from < to; b = min(b+1, len(l.bars)-1) {
		end := l.Start(b + 2)
		if end <= from || end > to {
			end = to
		}
		sum += float64(end-from) * pace(l.tune, l.meter(b))
		from = end
	}
	return sum
}
