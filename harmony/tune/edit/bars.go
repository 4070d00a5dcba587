package edit

import (
	"fmt"
	"slices"
	"strings"

	"footfall/harmony/tune"
)

// Range is a run of written bars, First to Last, both included, as Index counts
// them.
type Range struct{ First, Last int }

// Has reports whether a bar lies in the range.
func (r Range) Has(index int) bool { return r.First <= index && index <= r.Last }

// InsertBar puts a bar behind the place's and goes there. The chord before it
// holds, and nothing else is in it.
func (d *Document) InsertBar() error {
	p := d.at
	err := d.change(func(t *tune.Tune) error {
		s := &t.Sections[p.Section]
		before := &s.Bars[p.Bar]
		beats := t.MeterOf(s).Beats()
		fresh := tune.Bar{Chords: []tune.Change{{Chord: before.Chords[len(before.Chords)-1].Chord, Slots: 1}}}
		fresh.Copies[tune.ChordsRow].Kind = tune.HoldsOver
		if before.Bass != nil {
			fresh.Bass = make([]tune.BassBeat, beats)
		}
		if before.Hits != nil {
			fresh.Hits = make([]tune.HitToken, beats)
		}
		if before.Shapes != nil {
			fresh.Shapes = make([]tune.ShapeToken, beats)
		}
		if p.Bar+1 < len(s.Bars) {
			// What repeated the bar before it now copies it from further off.
			for row, c := range s.Bars[p.Bar+1].Copies {
				if c.Kind == tune.Simile {
					s.Bars[p.Bar+1].Copies[row] = tune.Copy{Kind: tune.CopyOf, Section: s.Name, Bar: p.Bar + 1}
				}
			}
		}
		s.Bars = slices.Insert(s.Bars, p.Bar+1, fresh)
		renumber(t, s.Name, func(bar int) int {
			if bar > p.Bar+1 {
				return bar + 1
			}
			return bar
		})
		return nil
	})
	if err == nil {
		d.MoveBars(1)
	}
	return err
}

// RemoveBars takes bars out. A section keeps at least one.
func (d *Document) RemoveBars(r Range) error {
	at := d.Place(r.First)
	at.Row = d.at.Row
	err := d.change(func(t *tune.Tune) error {
		first := 0
		for i := range t.Sections {
			s := &t.Sections[i]
			n := len(s.Bars)
			from, to := max(0, r.First-first), min(n, r.Last+1-first)
			first += n
			if from >= to {
				continue
			}
			if to-from == n {
				return fmt.Errorf("section %s would have no bar left; leave it one", s.Name)
			}
			if to < n {
				for row, c := range s.Bars[to].Copies {
					if c.Kind == tune.Simile || c.Kind == tune.HoldsOver {
						s.Bars[to].Copies[row] = tune.Copy{}
					}
				}
			}
			s.Bars = slices.Delete(s.Bars, from, to)
			renumber(t, s.Name, func(bar int) int {
				switch {
				case bar > to:
					return bar - (to - from)
				case bar > from:
					return 0
				}
				return bar
			})
		}
		return nil
	})
	if err == nil {
		d.GoTo(at)
	}
	return err
}

// renumber gives the bars that are copied from a section their new numbers; 0 is
// a bar that is gone, whose copies are written out.
func renumber(t *tune.Tune, section string, to func(int) int) {
	for i := range t.Sections {
		for j := range t.Sections[i].Bars {
			copies := &t.Sections[i].Bars[j].Copies
			for row := range copies {
				c := &copies[row]
				if c.Kind != tune.CopyOf || c.Section != section {
					continue
				}
				if c.Bar = to(c.Bar); c.Bar == 0 {
					*c = tune.Copy{}
				}
			}
		}
	}
}

// SetBass writes the bass row of a bar.
func (d *Document) SetBass(p Place, bar []tune.BassBeat) error {
	texts := make([]string, len(bar))
	for i, beat := range bar {
		texts[i] = beat.String()
	}
	return d.change(func(t *tune.Tune) error {
		s := &t.Sections[p.Section]
		return writeRow(t, s, &s.Bars[p.Bar], tune.BassRow, 0, texts)
	})
}

// SetEnding writes rows of the last bar of the form from a beat on, counted from 1, a
// token a beat, as one change, and goes there. Where the last section comes in the
// form before, its last time becomes a section of its own (see tune.WithEnding).
func (d *Document) SetEnding(beat int, texts map[tune.Row]string) error {
	var at Place
	err := d.change(func(t *tune.Tune) error {
		*t = *t.WithEnding()
		form := t.FormOrder()
		at.Section = slices.IndexFunc(t.Sections, func(s tune.Section) bool { return s.Name == form[len(form)-1] })
		s := &t.Sections[at.Section]
		at.Bar, at.Beat = len(s.Bars)-1, beat-1
		for row := tune.BassRow; row <= tune.ShapesRow; row++ {
			if err := writeRow(t, s, &s.Bars[at.Bar], row, at.Beat, strings.Fields(texts[row])); err != nil {
				return err
			}
		}
		return nil
	})
	if err == nil {
		at.Row = tune.ShapesRow
		d.GoTo(at)
	}
	return err
}

// writeRow writes tokens of a bar's row out from a beat on.
func writeRow(t *tune.Tune, s *tune.Section, b *tune.Bar, row tune.Row, beat int, tokens []string) error {
	for i, token := range tokens {
		if err := writeToken(t, s, b, row, beat+i, token); err != nil {
			return err
		}
		b.Copies[row] = tune.Copy{}
	}
	return nil
}
