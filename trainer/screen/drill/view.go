package drill

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/x/ansi"

	"footfall/drills"
	"footfall/fretboard"
	"footfall/trainer/screen/neck"
	"footfall/trainer/screen/page"
)

// View draws the page.
func (p *Page) View() string {
	if p.state == over {
		return p.summaryView()
	}
	var lines []string
	add := func(s string) { lines = append(lines, s) }
	for l := range strings.SplitSeq(p.wrap(p.asked.Ask.Prompt), "\n") {
		add("  " + p.theme.Strong.Render(l))
	}
	add("")
	if p.asked.Ask.Takes&drills.FormTaps != 0 {
		lines = append(lines, p.rows()...)
	} else {
		drawing := neck.Draw(p.theme, neck.Drawing{
			Neck: p.neck, Marks: p.marks(), Cursor: p.pointing(), Width: p.width - 4, Height: p.height / 3,
		})
		for l := range strings.SplitSeq(drawing, "\n") {
			add("  " + l)
		}
	}
	add("")
	for i, c := range p.asked.Ask.Choices {
		add(fmt.Sprintf("  %s  %s", p.theme.Key.Render(fmt.Sprint(i+1)), p.fit(c)))
	}
	if len(p.asked.Ask.Choices) > 0 {
		add("")
	}
	switch p.state {
	case judged:
		lines = append(lines, p.verdictLines()...)
	case tapping:
		lines = append(lines, p.tapLines()...)
	default:
		lines = append(lines, p.answerLines()...)
	}
	lines = page.Squeezed(lines, p.height)
	if p.height >= roomy {
		lines = append(lines, p.before(p.height-len(lines))...)
	}
	return strings.Join(lines, "\n")
}

func (p *Page) marks() []fretboard.Mark {
	if p.state == judged {
		return append(append([]fretboard.Mark{}, p.asked.Ask.Marks...), p.judged.Judgement.Marks...)
	}
	marks := append([]fretboard.Mark{}, p.asked.Ask.Marks...)
	for _, q := range p.places {
		marks = append(marks, fretboard.Mark{Place: q, Text: "o", Role: fretboard.Next})
	}
	return marks
}

func (p *Page) pointing() *fretboard.Place {
	if !p.shown || p.state == judged {
		return nil
	}
	return &p.cursor
}

func (p *Page) answerLines() []string {
	given := p.theme.Words(p.text) + p.theme.Glyphs.Caret
	switch {
	case p.text != "":
	case len(p.places) > 0:
		given = p.placed()
	case p.shown:
		given = fmt.Sprintf("string %d, fret %d", p.cursor.String, p.cursor.Fret)
	}
	lines := []string{"  " + p.theme.Dim.Render("Answer") + " " + p.theme.Strong.Render(given), ""}
	text, look := "Type "+p.asked.Ask.Hint+p.orPoint()+"; enter answers.", p.theme.Dim
	if p.asked.Ask.Takes&drills.FormTaps != 0 {
		text = "Space, or a note by MIDI, begins: a bar is counted in. Then tap with it, or play. Or type " + p.asked.Ask.Hint + "."
	}
	if p.hint != "" {
		text, look = p.hint, p.theme.Warn
	}
	for l := range strings.SplitSeq(p.wrap(text), "\n") {
		lines = append(lines, "  "+look.Render(l))
	}
	if len(p.asked.Steps) > 0 {
		lines = append(lines, "")
		for _, step := range p.asked.Steps {
			lines = append(lines, "  "+p.fit(step))
		}
	}
	return lines
}

// placed writes the places put down as frets are typed: "8-x-8-9-8-x".
func (p *Page) placed() string {
	frets := make([]int, len(p.neck.Tuning))
	for i := range frets {
		frets[i] = -1
	}
	for _, q := range p.places {
		frets[len(frets)-q.String] = q.Fret
	}
	return fretboard.FormatFrets(frets)
}

func (p *Page) orPoint() string {
	if p.asked.Ask.Takes&(drills.FormPlace|drills.FormPlaces) == 0 {
		return ""
	}
	if p.asked.Ask.Takes&drills.FormPlaces != 0 {
		return ", or put notes down with the arrow keys and space"
	}
	return ", or use the arrow keys"
}

// wrap breaks a text into lines of the page's width.
func (p *Page) wrap(s string) string { return ansi.Wordwrap(p.theme.Words(s), max(10, p.width-4), "") }

// fit cuts a line to the page's width.
func (p *Page) fit(s string) string {
	return ansi.Truncate(p.theme.Words(s), max(10, p.width-4), p.theme.Words("…"))
}
