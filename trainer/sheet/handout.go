package sheet

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"

	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
)

//go:embed handout.tmpl
var templates string

// html/template escapes what comes from the tune wherever it stands.
var pages = template.Must(template.New("").Parse(templates))

// handout is what the templates draw.
type handout struct {
	Title, Trains string
	Facts         []string
	Sections      []section
}

// section is a run of a section of the form. A Short name fits beside its first
// line of music. The last has the legend, which stays on paper with the last line.
type section struct {
	Name, Bars string
	Short      bool
	Systems    []music
	Table      []row
	Legend     []legendPart
}

// row is a moment of the pass in the table.
type row struct {
	Bar                                         int
	Beat, Chord, Degree, Note, Place, Finger    string
	Shape, ShapeDegrees, ShapeFingers, Hit, Lay string
}

// HTML writes an arrangement as one page that needs nothing but itself: to be
// read on a screen, and printed on A4 or Letter paper. Errors are those of w.
func HTML(w io.Writer, a *fretboard.Arrangement) error {
	return pages.ExecuteTemplate(w, "page", handoutOf(a))
}

func handoutOf(a *fretboard.Arrangement) handout {
	h := handout{
		Title:  printable(a.Tune.Title),
		Trains: printable(a.Tune.Trains),
		Facts:  facts(a),
	}
	l := layout(a)
	for i, r := range l.runs {
		s := section{Name: printable(r.section), Bars: barsWords(r.first(), r.last()), Short: textWidth(r.section, sectionEm) < gutter-1}
		for k, line := range r.lines {
			d := system{a, l.fret, l.perLine, i == len(l.runs)-1 && k == len(r.lines)-1}
			m := d.draw(line)
			m.Ends = d.last
			s.Systems = append(s.Systems, m)
			for b := range line {
				s.Table = append(s.Table, rowsOf(a, &line[b])...)
			}
		}
		h.Sections = append(h.Sections, s)
	}
	h.Sections[len(h.Sections)-1].Legend = legend(a)
	return h
}

// rowsOf lists what is played in a bar, a row for each moment.
func rowsOf(a *fretboard.Arrangement, m *measure) []row {
	var rows []row
	for _, c := range m.slots {
		r := row{Bar: m.number, Beat: beatWord(c.half), Degree: c.degree}
		beat, off := harmony.BeatOf(c.half)
		if chord, ok := m.written.ChordAt(m.meter, beat, off); ok {
			r.Chord = chord.Symbol
		}
		for _, e := range m.notes {
			if e.At.Half() == c.half {
				r.Note = e.Note.Note.String()
				r.Place = fmt.Sprintf("string %d fret %d", e.Place.String, e.Place.Fret)
				r.Finger = fingerWord(e.Finger)
			}
		}
		for _, e := range m.shapes {
			if e.Times[0].Half() == c.half {
				r.Shape, r.Hit, r.Lay = fretboard.FormatFrets(e.Frets), hitWords(e), layerTags[e.Layer]
				if e.Hit == tune.HitPush {
					r.Hit += " " + e.Chord.Symbol
				}
				for _, d := range c.shape.degrees {
					r.ShapeDegrees += d + " "
				}
				for s, f := range e.Frets {
					if f >= 0 {
						r.ShapeFingers += fingerWord(e.Fingers[s]) + " "
					}
				}
			}
		}
		rows = append(rows, r)
	}
	return rows
}

// hitWords says where a shape is struck, as the hits row does.
func hitWords(e *fretboard.Event) string {
	if len(e.Times) == 1 {
		return hitWord(e, 0)
	}
	return tune.HitToken{Hit: tune.HitBoth, Held: e.Held}.String()
}

func fingerWord(finger int) string {
	if finger == 0 {
		return "open"
	}
	return fmt.Sprint(finger)
}
