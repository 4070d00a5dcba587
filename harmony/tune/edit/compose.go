package edit

import (
	"errors"
	"slices"
	"strings"

	"footfall/harmony/tune"
	"footfall/harmony/walk"
)

// Compose writes a bass line into bars, joined to those around them as the tune
// is written, and returns its notes; their bars count as written. Of the seeds
// from o.Seed on it takes the first whose line stays within o.Low to o.High over
// the whole form, of a handful, or else the last. o.Fill is left aside.
func (d *Document) Compose(r Range, o walk.Options) ([]walk.Note, error) {
	const seeds = 8
	var notes []walk.Note
	text, next := "", (*tune.Tune)(nil)
	for range seeds {
		var err error
		if notes, text, next, err = d.composed(r, o); err != nil {
			return nil, err
		}
		if _, err := next.Line(o.Range); err == nil {
			break
		}
		o.Seed++
	}
	d.take(text, next)
	return notes, nil
}

// ErrNoOther says that some bars have no other line than those seen.
var ErrNoOther = errors.New("the chords and the bars around leave no other line here")

// ComposeAnother writes a line into bars as Compose does, but one that seen has not:
// the bass of these bars, as it adds it there. Where every line it finds was seen, seen
// is emptied and begun anew with another than the one that stands there. ErrNoOther
// where there is none such, and the bars stay as they are.
func (d *Document) ComposeAnother(r Range, o walk.Options, seen map[string]bool) ([]walk.Note, error) {
	const seeds, even = 24, 6
	type found struct {
		notes []walk.Note
		text  string
		next  *tune.Tune
		bass  string
	}
	now, again := bassOf(d.Tune(), r), (*found)(nil)
	take := func(f *found) ([]walk.Note, error) {
		seen[f.bass] = true
		d.take(f.text, f.next)
		return f.notes, nil
	}
	for n := range seeds {
		// The first few as the style has them, then ever freer.
		o.Freer = float64(n/even) / 2
		notes, text, next, err := d.composed(r, o)
		if err != nil {
			return nil, err
		}
		o.Seed++
		if _, err := next.Line(o.Range); err != nil {
			continue
		}
		f := &found{notes, text, next, bassOf(next, r)}
		switch {
		case f.bass == now:
		case !seen[f.bass]:
			return take(f)
		case again == nil:
			again = f
		}
	}
	if again == nil {
		return nil, ErrNoOther
	}
	clear(seen)
	return take(again)
}

// bassOf is the bass row of some bars, as text.
func bassOf(t *tune.Tune, r Range) string {
	var cells []string
	i := 0
	for _, s := range t.Sections {
		for _, b := range s.Bars {
			if r.Has(i) {
				cells = append(cells, tune.BassCell(b.Bass))
			}
			i++
		}
	}
	return strings.Join(cells, " | ")
}

func (d *Document) composed(r Range, o walk.Options) ([]walk.Note, string, *tune.Tune, error) {
	var line *walk.Line
	text, next, err := d.changed(func(t *tune.Tune) error {
		if err := sounds(t, r); err != nil {
			return err
		}
		// Each section once, so that a bar gets one line wherever it is played.
		form := t.Form
		t.Form = nil
		index := func(section string, bar int) int {
			i := slices.IndexFunc(t.Sections, func(s tune.Section) bool { return s.Name == section })
			return d.Index(Place{Section: i, Bar: bar - 1})
		}
		o.Fill = func(section string, bar int) bool { return r.Has(index(section, bar)) }
		var err error
		if line, err = walk.Compose(t, o); err != nil {
			return err
		}
		walked := line.Tune()
		t.Form = form
		for i := range t.Sections {
			for j := range t.Sections[i].Bars {
				b, w := &t.Sections[i].Bars[j], &walked.Sections[i].Bars[j]
				if slices.Equal(b.Bass, w.Bass) || b.Bass == nil && silent(w.Bass) {
					continue
				}
				for k := range w.Bass {
					if err := writeToken(t, &t.Sections[i], b, tune.BassRow, k, w.Bass[k].String()); err != nil {
						return err
					}
				}
				b.Copies[tune.BassRow] = tune.Copy{}
			}
		}
		return nil
	})
	if err != nil {
		return nil, "", nil, err
	}
	return line.Notes, text, next, nil
}

// sounds reports an error where no chord sounds in the bars of a range.
func sounds(t *tune.Tune, r Range) error {
	i := 0
	for _, s := range t.Sections {
		for _, b := range s.Bars {
			if r.Has(i) && slices.ContainsFunc(b.Chords, func(c tune.Change) bool { return !c.Chord.None }) {
				return nil
			}
			i++
		}
	}
	return errors.New("no chord sounds in these bars, so there is nothing to walk over")
}

func silent(bar []tune.BassBeat) bool {
	return !slices.ContainsFunc(bar, func(b tune.BassBeat) bool { return b.First.Kind != tune.BassRest || b.Split })
}

// Transpose moves the tune up some semitones, or down, and returns the shapes
// that no longer fit below the highest fret.
func (d *Document) Transpose(semitones, highestFret int) ([]tune.LostShape, error) {
	var lost []tune.LostShape
	err := d.change(func(t *tune.Tune) error {
		to, gone, err := t.Transpose(t.Key.Up(semitones), highestFret)
		if err != nil {
			return err
		}
		*t, lost = *to, gone
		return nil
	})
	return lost, err
}
