package edit

import "footfall/harmony/tune"

// follow makes every copy of the tune what it names. A copy that names nothing
// any more is written out.
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
	c := &b.Copies[row]
	switch c.Kind {
	case tune.Simile:
		if bar == 0 {
			*c = tune.Copy{}
			return
		}
		take(b, &s.Bars[bar-1], row)
	case tune.CopyOf:
		from := t.Section(c.Section)
		if from == nil || c.Bar < 1 || c.Bar > len(from.Bars) {
			*c = tune.Copy{}
			return
		}
		take(b, &from.Bars[c.Bar-1], row)
	case tune.HoldsOver:
		if bar == 0 || len(b.Chords) == 0 || len(s.Bars[bar-1].Chords) == 0 {
			*c = tune.Copy{}
			return
		}
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
