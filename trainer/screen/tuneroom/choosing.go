package tuneroom

import (
	"fmt"

	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/harmony/tune/edit"
	"footfall/trainer/screen/page"
)

// choosing is a shape for the hit at a place that could be pinned there.
type choosing struct {
	at      edit.Place
	text    string // the tune it is for
	choices []fretboard.Choice
	over    harmony.Chord
	shape   int
}

// choose goes on among the shapes that could be struck at the place, round and
// round.
func (p *Page) choose(by int) {
	at := p.doc.At()
	if p.chosen() == nil {
		c, err := p.choicesAt(at)
		if err != nil {
			p.said = err.Error()
			return
		}
		p.choosing = &choosing{at: at, text: c.text, choices: c.choices, over: c.over}
	}
	n := len(p.choosing.choices)
	p.choosing.shape = (p.choosing.shape + by + n) % n
}

// clicked chooses a shape of those that are listed, or pins the one that is chosen.
func (p *Page) clicked(c page.Clicked) {
	offered, err := p.choicesAt(p.doc.At())
	if err != nil || p.typing || p.found != nil {
		return
	}
	at := 0
	if p.chosen() != nil {
		at = p.choosing.shape
	}
	switch to, acts := page.Picked(c, at, len(offered.choices)); {
	case acts && p.chosen() != nil:
		p.pinChosen()
	case c.On == page.Row:
		p.choose(to - at)
	}
}

// chosen returns the shape chosen for the place, nil where none is or the tune is
// another by now.
func (p *Page) chosen() *choosing {
	if c := p.choosing; c != nil && c.at == p.doc.At() && c.text == p.doc.Text() {
		return c
	}
	return nil
}

// choicesAt works out what could be struck at a place.
func (p *Page) choicesAt(at edit.Place) (*choosing, error) {
	at.Row = 0
	offered := p.sounding().offered
	if c := offered[at]; c != nil {
		return c, nil
	}
	a, err := p.arranged()
	if err != nil {
		return nil, err
	}
	for i := range a.Events {
		e := &a.Events[i]
		if e.Kind == fretboard.ShapeEvent && e.Section == a.Tune.Sections[at.Section].Name && e.SectionBar == at.Bar+1 && e.At.Beat == at.Beat+1 {
			offered[at] = &choosing{text: p.doc.Text(), choices: a.Choices(i), over: e.Chord}
			return offered[at], nil
		}
	}
	return nil, fmt.Errorf("no shape is struck on beat %d: write a hit there first", at.Beat+1)
}

// pinChosen writes the shape chosen into the shapes row.
func (p *Page) pinChosen() {
	c := p.choosing
	p.choosing = nil
	p.pin(c.at, fretboard.FormatFrets(c.choices[c.shape].Frets))
}

// pin writes frets at a place of the shapes row, and stays where it was.
func (p *Page) pin(at edit.Place, frets string) {
	back := p.doc.At()
	at.Row = tune.ShapesRow
	p.doc.GoTo(at)
	err := p.doc.Set(frets)
	p.doc.GoTo(back)
	p.refuse(err)
}

// says puts the shape chosen and its cost beside the first into words.
func (c *choosing) says() string {
	own, now := c.choices[0], c.choices[c.shape]
	s := fmt.Sprintf("shape %d of %d over %s: %s", c.shape+1, len(c.choices), c.over.Symbol, fretboard.FormatFrets(now.Frets))
	if c.shape == 0 {
		return s + ", the arrangement's own; enter pins it"
	}
	return s + fmt.Sprintf(" instead of %s; %s; enter pins it", fretboard.FormatFrets(own.Frets), now.Beside(own))
}
