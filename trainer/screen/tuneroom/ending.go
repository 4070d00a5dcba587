package tuneroom

import (
	"fmt"

	"footfall/fretboard"
)

// ended is the ending that was put in last, so that the next time brings another.
type ended struct {
	text  string
	place int
}

// end puts the last chord at the lowest of its places, or, where that was done just
// now, at the next one.
func (p *Page) end() {
	place := 0
	if p.ended.text == p.doc.Text() && p.doc.Undo() {
		place = p.ended.place + 1
	}
	e, err := fretboard.EndingsOf(p.doc.Tune(), p.Neck, p.Hand)
	if err == nil {
		place %= len(e.Shapes)
		err = p.doc.SetEnding(e.Beat, e.Rows(place))
	}
	if err != nil {
		p.refuse(err)
		return
	}
	p.ended = ended{p.doc.Text(), place}
	p.said = fmt.Sprintf("Ending %d of %d: %s as %s. | puts the next in, u takes it back.", place+1, len(e.Shapes), e.Chord.Symbol, e.Shapes[place])
}
