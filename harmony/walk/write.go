package walk

import (
	"slices"
	"strconv"

	"footfall/harmony/tune"
)

// Tune returns the tune with the line as its bass row. A section that the form
// plays more than once, with another line each time, is written once for each:
// A, then A2, A3 with the same chords, hits, shapes and words. A shape that names
// frets in a composed bar stood on a note of the old line: a * takes its place.
func (l *Line) Tune() *tune.Tune {
	out := *l.tune
	out.Comments = slices.Clone(l.tune.Comments)
	passes, rows, starts := l.passes()
	taken := map[string]bool{}
	for _, s := range l.tune.Sections {
		taken[s.Name] = true
	}
	form := make([]string, len(passes))
	out.Sections = nil
	for _, s := range l.tune.Sections {
		var written [][][]tune.BassBeat // the rows of this section so far
		var names []string
		for n, name := range passes {
			if name != s.Name {
				continue
			}
			at := slices.IndexFunc(written, func(w [][]tune.BassBeat) bool { return sameRow(w, rows[n]) })
			if at < 0 {
				at = len(written)
				written = append(written, rows[n])
				fresh := s.Name
				if at > 0 {
					fresh = freeName(s.Name, taken)
				}
				names = append(names, fresh)
				out.Sections = append(out.Sections, l.section(s, fresh, rows[n], starts[n]))
			}
			form[n] = names[at]
		}
		if written == nil {
			out.Sections = append(out.Sections, s)
		}
	}
	if len(out.Sections) != len(l.tune.Sections) || l.tune.Form != nil {
		out.Form = form
	}
	return &out
}

// freeName returns the first of A2, A3 … that no section has, and takes it.
func freeName(name string, taken map[string]bool) string {
	if last := name[len(name)-1]; last >= '0' && last <= '9' {
		name += "-"
	}
	for n := 2; ; n++ {
		if fresh := name + strconv.Itoa(n); !taken[fresh] {
			taken[fresh] = true
			return fresh
		}
	}
}

// section copies a section, from bar first of the pass on, with another bass
// row. Under a new name its other
// rows are written as copies of the section's own.
func (l *Line) section(s tune.Section, name string, bass [][]tune.BassBeat, first int) tune.Section {
	out := s
	out.Name, out.Bars = name, slices.Clone(s.Bars)
	for i := range out.Bars {
		b := &out.Bars[i]
		if name != s.Name {
			for row := range b.Copies {
				b.Copies[row] = tune.Copy{Kind: tune.CopyOf, Section: s.Name, Bar: i + 1}
			}
		}
		if bass[i] != nil {
			b.Bass = bass[i]
			b.Copies[tune.BassRow] = tune.Copy{}
		}
		if l.fill[first+i] {
			b.Shapes, _ = freed(b.Shapes)
		}
	}
	return out
}

// passes names the section of each part of the form, with its bass row and its
// first bar in the pass.
func (l *Line) passes() (names []string, rows [][][]tune.BassBeat, starts []int) {
	at := 0
	for i, fb := range l.bars {
		if fb.SectionBar == 1 {
			names = append(names, fb.Section)
			rows = append(rows, nil)
			starts = append(starts, i)
		}
		bar := slices.Clone(fb.Bar.Bass)
		first := at
		for at < len(l.Notes) && l.Notes[at].At.Bar == fb.Number {
			at++
		}
		if l.fill[i] {
			bar = l.composed(first, at, l.lay.meter(i).Beats())
		} else {
			for _, n := range l.Notes[first:at] {
				set(bar, n.At, tune.BassToken{Kind: tune.BassNote, Degree: n.Degree, Direction: n.Direction, Pin: n.Pin})
			}
		}
		rows[len(rows)-1] = append(rows[len(rows)-1], bar)
	}
	return names, rows, starts
}

// composed writes out a composed bar, whose notes are first to end.
func (l *Line) composed(first, end, beats int) []tune.BassBeat {
	halves := make([]tune.BassToken, 2*beats)
	for i := first; i < end; i++ {
		n := &l.Notes[i]
		at := n.At.Half()
		halves[at] = tune.BassToken{Kind: tune.BassNote, Degree: n.Degree, Direction: n.Direction}
		for held := at + 1; held < at+l.own[i]; held++ {
			halves[held].Kind = tune.BassHold
		}
	}
	bar := make([]tune.BassBeat, beats)
	for i := range bar {
		bar[i] = tune.JoinHalves(halves[2*i], halves[2*i+1])
	}
	return bar
}

func sameRow(a, b [][]tune.BassBeat) bool {
	return slices.EqualFunc(a, b, func(x, y []tune.BassBeat) bool { return slices.Equal(x, y) })
}

// Freed counts the shapes of the tune that named frets in composed bars.
func (l *Line) Freed() int {
	type place struct {
		section string
		bar     int
	}
	seen := map[place]bool{}
	n := 0
	for i, fb := range l.bars {
		if p := (place{fb.Section, fb.SectionBar}); l.fill[i] && !seen[p] {
			seen[p] = true
			_, named := freed(fb.Bar.Shapes)
			n += named
		}
	}
	return n
}

// freed puts a * in the place of shapes that name frets, and counts them.
func freed(shapes []tune.ShapeToken) ([]tune.ShapeToken, int) {
	n := 0
	out := slices.Clone(shapes)
	for i, s := range out {
		if len(s.Frets) > 0 {
			out[i] = tune.ShapeToken{Choose: true}
			n++
		}
	}
	return out, n
}
