package walk

import (
	"slices"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// layout says where the bars of a pass lie, in half beats from its start, and
// numbers the chords as they come.
type layout struct {
	tune *tune.Tune
	bars []tune.FormBar
	// from holds the start of each bar, and the end of the last.
	from []int
	// chords has a number for each half beat, the same as long as one chord lasts.
	chords []int
}

func layOut(t *tune.Tune, bars []tune.FormBar) layout {
	l := layout{tune: t, bars: bars, from: make([]int, 1, len(bars)+1)}
	before := harmony.Chord{None: true}
	n := 0
	for i, fb := range bars {
		m := l.meter(i)
		for half := range 2 * m.Beats() {
			c, _ := fb.Bar.ChordAt(m, half/2+1, half%2 == 1)
			if !c.SoundsAs(before) {
				n++
			}
			before = c
			l.chords = append(l.chords, n)
		}
		l.from = append(l.from, len(l.chords))
	}
	return l
}

// meter is that of bar i of the pass, from 0.
func (l *layout) meter(i int) tune.Meter { return l.bars[i].Meter }

// bar returns the bar of the pass, from 0, that a half beat lies in.
func (l *layout) bar(half int) int {
	i, found := slices.BinarySearch(l.from, half)
	if !found {
		i--
	}
	return min(i, len(l.bars)-1)
}

// half counts the half beats from the start of the pass.
func (l *layout) half(p tune.Position) int {
	n := l.from[p.Bar-1] + 2*(p.Beat-1)
	if p.Off {
		n++
	}
	return n
}

// position is the inverse of half.
func (l *layout) position(half int) tune.Position {
	b := l.bar(half)
	in := half - l.from[b]
	return tune.Position{Bar: b + 1, Beat: in/2 + 1, Off: in%2 == 1}
}

// chordAt is the chord that sounds at a half beat; it reports false for none.
func (l *layout) chordAt(half int) (harmony.Chord, bool) {
	p := l.position(half)
	c, ok := l.bars[p.Bar-1].Bar.ChordAt(l.meter(p.Bar-1), p.Beat, p.Off)
	return c, ok && !c.None
}

// seconds is the time from one half beat to a later one, at the tune's tempo; past
// the end of the pass it goes on as the last bar.
func (l *layout) seconds(from, to int) float64 {
	sum := 0.0
	for b := l.bar(from); from < to; b = min(b+1, len(l.bars)-1) {
		end := l.from[b+1]
		if end <= from || end > to {
			end = to
		}
		sum += float64(end-from) * pace(l.tune, l.meter(b))
		from = end
	}
	return sum
}
