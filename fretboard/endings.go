package fretboard

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// mostEndings is how many places there are for a last chord.
const mostEndings = 3

// Endings are the places at which a tune's last chord can be held.
type Endings struct {
	Chord harmony.Chord
	// Section, SectionBar and Beat say where the chord is in the tune with an ending of
	// its own (see tune.WithEnding), bar and beat from 1.
	Section          string
	SectionBar, Beat int
	// Shapes are the places, the lowest first, three at most.
	Shapes []Shape

	neck Neck
	last tune.FormBar
	bass bool // the section has a bass row
	all  *tune.Tune
}

// EndingsOf finds three places for the last chord of a tune's form: a shape that
// players know and its next inversions up the neck, with the 1, 3 or 5 lowest; of a chord whose family the hand cannot hold in
// three places, shapes that players know from place to place. An error says why
// there are none.
func EndingsOf(t *tune.Tune, n Neck, h Hand) (*Endings, error) {
	t = t.WithEnding()
	bars := t.Unroll()
	if len(bars) == 0 {
		return nil, fmt.Errorf("%s has no bars to end", t.Title)
	}
	last := bars[len(bars)-1]
	e := &Endings{Section: last.Section, SectionBar: last.SectionBar, Beat: 1, neck: n, last: last, bass: last.Bar.Bass != nil, all: t}
	e.Chord, _ = last.Bar.ChordAt(last.Meter, last.Meter.Beats(), false)
	if e.Chord.None || len(e.Chord.Degrees) == 0 {
		return nil, errors.New("no chord sounds in the last bar, so there is nothing to end on")
	}
	for e.Beat < last.Meter.Beats() {
		if c, _ := last.Bar.ChordAt(last.Meter, e.Beat, false); c.Identity() == e.Chord.Identity() {
			break
		}
		e.Beat++
	}
	known := n.Standard(h, Query{Chord: e.Chord, Bass: harmony.Degree{Number: 1}})
	reached := func(s Shape) bool { _, ok := e.token(s); return ok }
	for _, s := range known {
		family, err := n.Along(h, e.Chord, s.Frets)
		if err != nil {
			continue
		}
		family = slices.DeleteFunc(family, func(s Shape) bool {
			return s.SpanMM > h.ReachMM || slices.Contains(s.Frets, 0) || s.Degrees[0].Number > 5 || !reached(s)
		})
		if len(family) >= mostEndings {
			e.Shapes = family[:mostEndings]
			return e, nil
		}
	}
	for _, s := range known {
		apart := !slices.ContainsFunc(e.Shapes, func(o Shape) bool { return o.Bass() == s.Bass() })
		if len(e.Shapes) < mostEndings && apart && reached(s) {
			e.Shapes = append(e.Shapes, s)
		}
	}
	slices.SortFunc(e.Shapes, func(a, b Shape) int { return a.Bass().Fret - b.Bass().Fret })
	if len(e.Shapes) == 0 {
		return nil, fmt.Errorf("no shape of %s fits the hand where the line can go", e.Chord.Symbol)
	}
	return e, nil
}

// Rows writes one of the places, counted from 0, for the rows of the bar from the
// chord's beat on: its bass note on its string and the shape, struck and held.
func (e *Endings) Rows(place int) map[tune.Row]string {
	s := e.Shapes[place]
	rest := e.last.Meter.Beats() - e.Beat
	rows := map[tune.Row]string{
		tune.HitsRow:   "on-" + strings.Repeat(" .", rest),
		tune.ShapesRow: s.String() + strings.Repeat(" .", rest),
	}
	if token, ok := e.token(s); ok && e.bass {
		rows[tune.BassRow] = token.String() + strings.Repeat(" -", rest)
	}
	return rows
}

// token returns the bass token that brings the line to a shape's bass note; false
// where none does. Any will do where there is no line.
func (e *Endings) token(s Shape) (tune.BassToken, bool) {
	if !e.bass {
		return tune.BassToken{}, true
	}
	p := s.Bass()
	t, bar := *e.all, *e.last.Bar
	t.Sections = slices.Clone(t.Sections)
	for i := range t.Sections {
		if t.Sections[i].Name == e.Section {
			t.Sections[i].Bars = slices.Clone(t.Sections[i].Bars)
			bar.Bass = slices.Clone(bar.Bass)
			t.Sections[i].Bars[e.SectionBar-1] = bar
		}
	}
	for beat := e.Beat; beat < len(bar.Bass); beat++ {
		bar.Bass[beat] = tune.BassBeat{First: tune.BassToken{Kind: tune.BassHold}}
	}
	for _, way := range []tune.Direction{tune.Nearest, tune.Rise, tune.Fall} {
		token := tune.BassToken{Kind: tune.BassNote, Degree: s.Degrees[0], Direction: way, Pin: p.String}
		bar.Bass[e.Beat-1] = tune.BassBeat{First: token}
		line, err := t.Line(e.neck.BassRange())
		if err == nil && line[len(line)-1].Pitch.MIDI() == e.neck.MIDI(p) {
			return token, true
		}
	}
	return tune.BassToken{}, false
}
