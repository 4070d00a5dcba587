package sheet

import (
	"slices"
	"strconv"
	"strings"

	"footfall/fretboard"
)

// Measures of a shape on the neck, in millimetres.
const (
	wireGap   mm = 2.75 // between two strings
	neckEdge  mm = 1.4  // from the outer strings to the edge of the neck
	openWidth mm = 2.9  // for open strings before the nut
	degreeEm  mm = 2.2  // letter size of degrees on the neck
	numberEm  mm = 2.1  // of the fret number
	handWidth mm = 1.6  // for the fingers beside the neck
	shapeFoot mm = 2.8  // room for the fret number under the neck
)

// diagram is a shape on the part of the neck where it lies.
type diagram struct {
	neck      fretboard.Neck
	frets     []int
	degrees   []string // for each sounding string, from the low one up
	fingers   []int
	bass      bool // the lowest note is the bass line's
	layer     fretboard.Layer
	low, high int // the frets that are drawn
	open      bool
}

func diagramOf(n fretboard.Neck, e *fretboard.Event) diagram {
	d := diagram{neck: n, frets: e.Frets, fingers: e.Fingers, bass: !e.Free, layer: e.Layer}
	for s, fret := range e.Frets {
		if fret < 0 {
			continue
		}
		place := fretboard.Place{String: len(e.Frets) - s, Fret: fret}
		degree := n.DegreeAt(place, e.Chord)
		if place == e.Place {
			degree = e.Degree // as the bass row names it
		}
		d.degrees = append(d.degrees, degree.String())
		if fret == 0 {
			d.open = true
			continue
		}
		if d.high == 0 {
			d.low = fret
		}
		d.low, d.high = min(d.low, fret), max(d.high, fret)
	}
	d.low = max(d.low, 1)
	d.high = max(d.high, d.low+2)
	return d
}

// width is the diagram's for a width of its frets.
func (d diagram) width(fret mm) mm {
	w := mm(d.high-d.low+1)*fret + handWidth
	if d.open {
		w += openWidth
	}
	return w
}

// neckHeight is the height of a diagram without the number under it.
func neckHeight(n fretboard.Neck) mm { return mm(len(n.Tuning)-1)*wireGap + 2*neckEdge }

// draw draws the diagram with its left upper corner at a place: the neck lying
// down, the low string at the bottom.
func (d diagram) draw(x, y, fret mm) group {
	g := group{Class: "shape", Title: fretboard.FormatFrets(d.frets) + ": " + strings.Join(d.degrees, " ")}
	whole, span := d.width(fret)-handWidth, mm(d.high-d.low+1)*fret
	if d.neck.LeftHanded {
		x += handWidth
	}
	place := func(from, width mm) mm { // of a stretch of the neck, from the nut's side
		if d.neck.LeftHanded {
			return x + whole - from - width
		}
		return x + from
	}
	nut := whole - span
	height := neckHeight(d.neck)
	frame := "frame"
	if d.layer == fretboard.BassHalves {
		frame = "frame halves"
	}
	g.rect(frame, place(nut, span), y, span, height)
	for f := d.low; f < d.high; f++ {
		at := place(nut+mm(f-d.low+1)*fret, 0)
		g.line("wire", at, y, at, y+height)
	}
	if d.low == 1 {
		at := place(nut, 0)
		g.line("nut", at, y, at, y+height)
	}
	number := strconv.Itoa(d.low)
	g.write("number", place(nut+fret/2, 0), y+height+2.2, number, numberEm, 0)
	label := 0
	for s, f := range d.frets {
		at := y + height - neckEdge - mm(s)*wireGap
		class := "string"
		if slices.Contains(d.neck.BassStrings, len(d.frets)-s) {
			class = "string bass"
		}
		g.line(class, place(nut, span), at, place(nut, span)+span, at)
		if f < 0 {
			continue
		}
		from, width := nut+mm(f-d.low)*fret, fret
		if f == 0 {
			from, width = 0, openWidth
		}
		spot := "spot"
		if label == 0 && d.bass {
			spot = "spot low"
		}
		g.rect(spot, place(from, width)+0.12, at-1.2, width-0.24, 2.4)
		letters := "on"
		if spot == "spot low" {
			letters = "on low"
		}
		g.write(letters, place(from, width)+width/2, at+0.78, d.degrees[label], degreeEm, width-0.4)
		if f > 0 {
			g.write("number", place(whole+0.2, handWidth)+handWidth/2, at+0.7, strconv.Itoa(d.fingers[s]), fingerEm, 0)
		}
		label++
	}
	return g
}
