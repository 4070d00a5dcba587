package fretboard

import (
	"cmp"
	"slices"
)

// Standard lists the shapes that players know for a chord above a bass degree, the
// best first: the grips of the vocabulary, whole and in part, as an arrangement
// prices them by themselves, with every tension that the symbol names and an altered
// fifth. Where the vocabulary has none, they are those of Shapes. Above the bass they keep to the strings that the line leaves free, and no
// string of them is open; where that leaves nothing, there are none.
func (n Neck) Standard(h Hand, q Query) []Shape {
	f := gripFinder{neck: n, hand: h, w: &arranging}
	var priced []pricedShape
	for _, str := range n.BassStrings {
		for fret := 1; fret <= n.HighestFret; fret++ {
			p := Place{String: str, Fret: fret}
			if q.At != nil && *q.At != p || at(n.DegreeAt(p, q.Chord)) != at(q.Bass) {
				continue
			}
			priced = append(priced, f.known(q.Chord, p)...)
		}
	}
	slices.SortStableFunc(priced, func(a, b pricedShape) int {
		return cmp.Or(cmp.Compare(a.cost, b.cost), slices.Compare(a.Frets, b.Frets))
	})
	var symbol uint16
	for _, d := range q.Chord.Degrees {
		if named(q.Chord, d) || d.Number == 5 && d.Alter != 0 {
			symbol |= bit(d)
		}
	}
	var shapes []Shape
	for _, s := range priced {
		sounding := uint16(0)
		for i, fret := range s.Frets {
			if fret >= 0 {
				d := q.Chord.DegreeOf(n.Tuning[i] + fret)
				s.Degrees = append(s.Degrees, d)
				sounding |= bit(d)
			}
		}
		if symbol&^sounding == 0 {
			shapes = append(shapes, s.Shape)
		}
	}
	if len(shapes) == 0 {
		shapes = n.Shapes(h, q)
	}
	return slices.DeleteFunc(shapes, func(s Shape) bool { return f.crowdsLine(s) || slices.Contains(s.Frets, 0) })
}
