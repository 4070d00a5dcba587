package edit

import "footfall/harmony/tune"

// follow makes every copy of the tune what it names. That bar is there: whoever
// takes bars out writes out what copies them.
func follow(t *tune.Tune) {
	for i := range t.Sections {
		s := &t.Sections[i]
		for bar := range s.Bars {
			for row := tune.ChordsRow; row < tune.Rows; row++ {
				followRow(t, i, bar, row)
			}
		}
	}
}

func followRow(t *tune.Tune, section, bar int, row tune.Row) {
	s := &t.Sections[section]
	b := &s.Bars[bar]
	switch c := b.Copies[row]; c.Kind {
	case tune.Simile:
		take(b, &s.Bars[bar-1], row)
	case tune.CopyOf:
		take(b, &t.Section(c.Section).Bars[c.Bar-1], row)
	case tune.HoldsOver:
		before := s.Bars[bar-1].Chords
		b.Chords[0].Chord = before[len(before)-1].Chord
	}
}

// take takes a row over from another bar. They share it: a tune that is changed
// is read anew from its text before anything else is done to it.
func take(b, from *tune.Bar, row tune.Row) {
	switch row {
	case tune.ChordsRow:
		b.Chords = append([]tune.Change(nil), from.Chords...)
	case tune.BassRow:
		b.Bass = from.Bass
	case tune.HitsRow:
		b.Hits = from.Hits
	case tune.ShapesRow:
		b.Shapes = from.Shapes
	case tune.WordsRow:
		b.Words = from.Words
	}
}
