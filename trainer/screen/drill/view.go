package drill

import (
	"fmt"
	"slices"
	"strings"

	"github.com/charmbracelet/x/ansi"

	"footfall/drills"
	"footfall/fretboard"
	"footfall/trainer/screen/aside"
	"footfall/trainer/screen/neck"
	"footfall/trainer/screen/page"
)

// Small is true: without its neck, where that has no room, the page fits terminals that
// others do not.
func (p *Page) Small() bool { return true }

// View draws the page.
func (p *Page) View() string {
	if whole := p.width; aside.Fits(p.width, p.height) {
		p.width = aside.Left(whole)
		defer func() { p.width = whole }()
		return strings.Join(p.beside().Beside(p.theme, strings.Split(p.view(), "\n"), whole, p.height), "\n")
	}
	return p.view()
}

// beside is the pane beside a question: how the thing went before, and the chords that are
// asked about.
func (p *Page) beside() aside.Pane {
	pane, m := p.Aside, p.asked.Plan.Material
	if p.state != over {
		pane.Lines = []aside.Line{{Look: p.theme.Dim, Text: "So far"}, {Look: p.theme.Text, Text: p.asked.Story}}
	}
	if pane.Tune = m.Tune; m.Tune == nil {
		var symbols []string
		for _, c := range m.Chords {
			symbols = append(symbols, c.Symbol)
		}
		title := m.Title
		if slices.Equal(strings.Fields(title), symbols) {
			title = "Chords"
		}
		pane.Lines = append(pane.Lines, aside.Line{}, aside.Line{Look: p.theme.Dim, Text: title}, aside.Line{Look: p.theme.Text, Text: strings.Join(symbols, "  ")})
	}
	return pane
}

// view draws the page in its width.
func (p *Page) view() string {
	if p.state == over {
		return p.summaryView()
	}
	lines := page.Squeezed(p.lines(true), p.height)
	if len(lines) > p.height {
		lines = page.Squeezed(p.lines(false), p.height)
	}
	if p.height >= roomy {
		lines = append(lines, p.before(p.height-len(lines))...)
	}
	return strings.Join(lines, "\n")
}

// lines are those of a question and what became of it, with the neck or without.
func (p *Page) lines(drawn bool) (lines []string) {
	for l := range strings.SplitSeq(p.wrap(p.asked.Ask.Prompt), "\n") {
		lines = append(lines, "  "+p.theme.Strong.Render(l))
	}
	lines = append(lines, "")
	switch {
	case p.asked.Ask.Takes&drills.FormTaps != 0:
		lines = append(append(lines, p.rows()...), "")
	case drawn:
		p.drawn = neck.Drawing{Neck: p.neck, Marks: p.marks(), Cursor: p.pointing(), Width: p.width - 4, Height: p.height / 3, Degrees: true}
		for i, l := range strings.Split(neck.Draw(p.theme, p.drawn), "\n") {
			lines = append(lines, "  "+page.Clickable(page.Drawn, i, l))
		}
		lines = append(lines, "")
	}
	for i, c := range p.asked.Ask.Choices {
		before := "  " + p.theme.Key.Render(fmt.Sprint(i+1)) + "  "
		for l := range strings.SplitSeq(p.wrapTo(c, p.width-7), "\n") {
			lines, before = append(lines, page.Clickable(page.Row, i, before+l)), "     "
		}
	}
	if len(p.asked.Ask.Choices) > 0 {
		lines = append(lines, "")
	}
	switch p.state {
	case judged:
		return append(lines, p.verdictLines()...)
	case tapping:
		return append(lines, p.tapLines()...)
	}
	return append(lines, p.answerLines(drawn)...)
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

// answerLines tell what is given so far, with the place pointed at where no neck shows
// it, and what may be given.
func (p *Page) answerLines(drawn bool) []string {
	given := p.theme.Words(p.text) + p.theme.Glyphs.Caret
	at := fmt.Sprintf("string %d, fret %d", p.cursor.String, p.cursor.Fret)
	switch {
	case p.text != "":
	case len(p.places) > 0:
		if given = p.placed(); p.shown && !drawn {
			given += ", at " + at
		}
	case p.shown:
		given = at
	}
	lines := []string{"  " + p.theme.Dim.Render("Answer") + " " + p.theme.Strong.Render(given), ""}
	text, look := "Type "+p.asked.Ask.Hint+p.orPoint()+"; enter answers.", p.theme.Dim
	if p.asked.Ask.Takes&drills.FormTaps != 0 {
		text = "Space, or a note by MIDI, starts: a bar is counted in. Then tap with it, or play. Or type " + p.asked.Ask.Hint + "."
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
		return ", or place notes with the arrow keys and space"
	}
	return ", or point with the arrow keys"
}

// wrap breaks a text into lines of the page's width.
func (p *Page) wrap(s string) string { return p.wrapTo(s, p.width-4) }

// wrapTo breaks a text into lines of a width.
func (p *Page) wrapTo(s string, width int) string {
	return page.Wrapped(p.theme.Words(s), max(10, width))
}

// fit cuts a line to the page's width.
func (p *Page) fit(s string) string {
	return ansi.Truncate(p.theme.Words(s), max(10, p.width-4), p.theme.Words("…"))
}
