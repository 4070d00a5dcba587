package arrangement

import (
	"fmt"
	"slices"
	"strings"

	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/trainer/screen/page"
)

// hit returns the event of the shape struck at the moment shown, −1 where none is.
func (p *Page) hit() int {
	if p.at >= len(p.moments) {
		return -1
	}
	for i := p.moments[p.at].first; i <= p.moments[p.at].last; i++ {
		if p.a.Events[i].Kind == fretboard.ShapeEvent {
			return i
		}
	}
	return -1
}

// noHit says why there is no shape to choose or to pin.
func (p *Page) noHit() string {
	if p.layer == fretboard.Bass {
		return fmt.Sprintf("The bass alone has no shapes: %s goes on to a layer with them.", p.keyOf(page.Layer))
	}
	return "No shape is struck on this beat: go to one where comping has a hit."
}

// keyOf is the name of a key.
func (p *Page) keyOf(u page.Use) string { return u.Key(p.theme, "").Help().Key }

// choose goes on among the shapes of the hit, round and round.
func (p *Page) choose(by int) {
	i := p.hit()
	if i < 0 {
		p.said = p.noHit()
		return
	}
	n := len(p.a.Choices(i))
	if p.choice = (p.choice + by + n) % n; n == 1 {
		p.said = "There is no other shape here that the hand can hold and reach."
		if p.school != fretboard.Mixed {
			p.said = fmt.Sprintf("There is no other shape here in this school, %s, that the hand can hold and reach: %s goes on to another school.", p.school, p.keyOf(page.School))
		}
	}
}

// pin has the shape shown written, in the key that the tune is written in.
func (p *Page) pin() {
	i := p.hit()
	switch {
	case i < 0:
		p.said = p.noHit()
		return
	case p.shift != 0:
		p.said = fmt.Sprintf("Shapes are pinned in the key that the tune is written in: %s.", p.written.Key)
		return
	}
	e := &p.a.Events[i]
	frets := fretboard.FormatFrets(p.a.Choices(i)[p.choice].Frets)
	undo, err := p.doors.Pin(e.Section, e.SectionBar, e.At.Beat, frets)
	if err != nil {
		p.said = "Not pinned: " + err.Error() + "."
		return
	}
	p.pins = append(p.pins, undo)
	before := p.a
	p.changed()
	times := 0
	for _, b := range p.bars {
		if b.Section == e.Section && b.SectionBar == e.SectionBar {
			times++
		}
	}
	p.said = fmt.Sprintf("Pinned %s on beat %d of this bar, and saved; %s takes it back.", frets, e.At.Beat, p.keyOf(page.Undo))
	if times > 1 {
		p.said = fmt.Sprintf("Pinned %s on beat %d of this bar, each of the %d times it comes, and saved; %s takes it back.", frets, e.At.Beat, times, p.keyOf(page.Undo))
	}
	if p.fault == nil {
		p.said += alsoMoved(p.a.Moved(before), func(at tune.Position) bool {
			b := p.bars[at.Bar-1]
			return b.Section == e.Section && b.SectionBar == e.SectionBar && at.Beat == e.At.Beat
		})
	}
}

// mostMoved is how many beats are named that a pin moves.
const mostMoved = 4

// alsoMoved says which beats a pin moves beside those that it is for, "" where none.
func alsoMoved(moved []tune.Position, isFor func(tune.Position) bool) string {
	moved = slices.DeleteFunc(moved, isFor)
	var beats []string
	for _, at := range moved[:min(len(moved), mostMoved)] {
		beats = append(beats, fmt.Sprintf("bar %d beat %d", at.Bar, at.Beat))
	}
	switch n := len(moved) - len(beats); {
	case len(beats) == 0:
		return ""
	case n > 0:
		return fmt.Sprintf(" This also moves %s and %s more.", strings.Join(beats, ", "), harmony.Counted(n, "beat"))
	}
	return " This also moves " + harmony.Listed(beats) + "."
}

// undo takes the last pin back.
func (p *Page) undo() {
	if len(p.pins) == 0 {
		p.said = "Nothing was pinned here that could be taken back."
		return
	}
	last := len(p.pins) - 1
	if err := p.pins[last](); err != nil {
		p.said = "Not taken back: " + err.Error() + "."
		return
	}
	p.pins = p.pins[:last]
	p.said = "Taken back: the tune is as it was before."
}

// chosen puts another shape for a hit into words: what it does, and what it costs
// beside the arrangement's own.
func (p *Page) chosen(i int) []string {
	all := p.a.Choices(i)
	own, c := all[0], all[p.choice]
	key := "enter pins it"
	if p.shift != 0 {
		key = "pin it in the key the tune is written in"
	}
	return []string{
		fmt.Sprintf("shape %d of %d, instead of %s; %s; %s", p.choice+1, len(all), fretboard.FormatFrets(own.Frets), c.Beside(own), key),
		fmt.Sprintf("%s: %s", fretboard.FormatFrets(c.Frets), p.neck.ReadOver(c.Frets, p.a.Events[i].Chord).Says),
	}
}
