package chart

import (
	"fmt"
	"slices"
)

// compare notes whether a line without bar lines has as many chords as the one before it.
func (r *reader) compare(n int) {
	first := len(r.bars) == r.part.from && r.lyrics == 0
	if n > 0 && r.perLine > 0 && !first && n != r.perLine && (r.lyrics > 0 || n%4 != r.perLine%4) {
		r.unequal = true
	}
	if r.singles++; n != 1 {
		r.singles = 0
	}
	if n > 0 {
		r.perLine = n
	}
}

// unusual tells where lines without bar lines hold unequal numbers of chords, for some
// may then share a bar; of a section whose number of bars is odd; and of a chart without
// marks of sections whose number is none of fours. Common practice, no source.
func (r *reader) unusual() {
	if len(r.bars) < 3 {
		return
	}
	if r.unequal && !r.barred {
		r.told = append(r.told, told(0, true, "some lines have no bar lines and unequal numbers of chords: a chord a bar"))
	}
	var said []string
	from := 0
	for i := 1; i <= len(r.bars); i++ {
		if i < len(r.bars) && (r.bars[i].Section == "" || r.bars[i].Section == r.bars[i-1].Section) {
			continue // the same section, or one of its single bars again
		}
		name, n := r.bars[from].Section, i-from
		bars := "bars"
		if n == 1 {
			bars = "bar"
		}
		whole := name == "" && n == len(r.bars)
		if name == "" {
			name = "the part"
		}
		if whole && n%4 != 0 {
			r.told = append(r.told, told(0, n%2 != 0, "it has %d bars", n))
		} else if what := fmt.Sprintf("%s has %d %s", clipped(name), n, bars); n%2 != 0 && !slices.Contains(said, what) {
			said = append(said, what)
			r.told = append(r.told, told(from+1, true, "%s", what))
		}
		from = i
	}
}
