package harmony

import (
	"fmt"
	"sort"
)

// Meter is a time signature: 2/4 to 7/4, or 6/8, 9/8 and 12/8, which are
// counted in dotted quarters.
type Meter struct{ Upper, Lower int }

// ParseMeter reads one of the meters, 2/4 to 7/4, 6/8, 9/8 and 12/8. It reports
// false for anything else.
func ParseMeter(s string) (Meter, bool) {
	for upper := 2; upper <= 7; upper++ {
		if m := (Meter{upper, 4}); s == m.String() {
			return m, true
		}
	}
	for upper := 6; upper <= 12; upper += 3 {
		if m := (Meter{upper, 8}); s == m.String() {
			return m, true
		}
	}
	return Meter{}, false
}

// String writes the meter: "4/4".
func (m Meter) String() string { return fmt.Sprintf("%d/%d", m.Upper, m.Lower) }

// Beats returns the beats that are counted in a bar: 4 in 4/4, 2 in 6/8.
func (m Meter) Beats() int {
	if m.Lower == 8 {
		return m.Upper / 3
	}
	return m.Upper
}

// BeatQuarters returns the length of a counted beat in quarter notes: 1, or 1.5
// where dotted quarters are counted.
func (m Meter) BeatQuarters() float64 {
	if m.Lower == 8 {
		return 1.5
	}
	return 1
}

// Quarters returns the length of a bar in quarter notes.
func (m Meter) Quarters() float64 { return float64(m.Beats()) * m.BeatQuarters() }

// Halves returns the half beats of a bar.
func (m Meter) Halves() int { return 2 * m.Beats() }

// Middle returns the beat in the middle of a bar, from 1: the third of four, the
// second of three or two, the third of five.
func (m Meter) Middle() int { return m.Beats()/2 + 1 }

// MostChords returns the largest number of equal parts that chords may share a
// bar in: two a beat, three where dotted quarters are counted.
func (m Meter) MostChords() int {
	if m.Lower == 8 {
		return m.Upper
	}
	return 2 * m.Upper
}

// Ratio is a swing ratio, the length of a beat's first half to its second, both at
// least 1; 1:1 is straight.
type Ratio struct{ Long, Short int }

// String writes the ratio as a tune has it: "2:1".
func (r Ratio) String() string { return fmt.Sprintf("%d:%d", r.Long, r.Short) }

// Position is a place in a row of bars. Bar and Beat count from 1, as a player
// counts; Off is the beat's second half, at the swing ratio.
type Position struct {
	Bar, Beat int
	Off       bool
}

// Half returns the half beat of the bar that a position stands on, from 0.
func (p Position) Half() int { return HalfOf(p.Beat, p.Off) }

// After reports whether the position comes after another of the same form.
func (p Position) After(q Position) bool {
	return p.Bar > q.Bar || p.Bar == q.Bar && p.Half() > q.Half()
}

// HalfOf returns the half beat of a bar, from 0, of a beat from 1 or of the
// offbeat after it.
func HalfOf(beat int, off bool) int {
	half := 2 * (beat - 1)
	if off {
		half++
	}
	return half
}

// BeatOf returns the beat, from 1, of a half beat of a bar, and whether it is the
// offbeat after it.
func BeatOf(half int) (beat int, off bool) { return half/2 + 1, half%2 == 1 }

// Grid counts the half beats of a row of bars, which may differ in length.
type Grid struct{ starts []int }

// NewGrid returns the grid of bars of some meters.
func NewGrid(meters []Meter) Grid {
	g := Grid{starts: make([]int, len(meters)+1)}
	for i, m := range meters {
		g.starts[i+1] = g.starts[i] + m.Halves()
	}
	return g
}

// Bars returns how many bars there are.
func (g Grid) Bars() int { return len(g.starts) - 1 }

// Total returns the half beats of all bars.
func (g Grid) Total() int { return g.starts[g.Bars()] }

// Start returns the half beat that a bar, counted from 1, begins with. That of the
// bar after the last is Total.
func (g Grid) Start(bar int) int { return g.starts[bar-1] }

// Half returns the half beat of a position, from 0 through all bars.
func (g Grid) Half(p Position) int { return g.starts[p.Bar-1] + p.Half() }

// At returns the position of a half beat from 0 to Total−1.
func (g Grid) At(half int) Position {
	bar := sort.SearchInts(g.starts, half+1)
	beat, off := BeatOf(half - g.starts[bar-1])
	return Position{Bar: bar, Beat: beat, Off: off}
}
