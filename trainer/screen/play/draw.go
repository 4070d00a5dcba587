package play

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"

	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/trainer/screen/bars"
	"footfall/trainer/screen/neck"
	"footfall/trainer/screen/page"
	"footfall/trainer/sound"
)

// Below neckWidth columns or neckHeight rows there is no room for a neck, from
// paneWidth and paneHeight on panes stand beside it, and from columnWidth on they stand
// beside the chart where it is long.
const (
	neckWidth, neckHeight = 76, 18
	paneWidth, paneHeight = 110, 30
	columnWidth, longForm = 160, 17
	asideWidth            = 38
	// leastPasses is the rows of the pane of passes where it stands below another.
	leastPasses = 2
)

// draw draws the page in the room there is: the chart first, which always has the bar
// to come, then the neck, then what comes next and how the passes went.
func (p *Page) draw(now sound.Now, at shown) string {
	foot := p.foot(at)
	head := []string{p.heading(now, at), ""}
	room := p.height - len(head) - len(foot)
	loop := p.along.Bars()
	var lines []string
	switch {
	case p.setUp != nil:
		foot = nil
		lines = append(p.chart(at, p.width, max(1, p.height-len(head)-1-len(choices))), "")
		lines = append(lines, p.setUp.view(p, p.height-len(head)-len(lines))...)
	case p.width < neckWidth+2 || p.height < neckHeight:
		below := append([]string{""}, p.inWords(at)...)
		lines = append(p.chart(at, p.width, room-len(below)), below...)
	case p.width < paneWidth || p.height < paneHeight:
		below := append([]string{""}, indented(p.drawNeck(at, p.width-4, p.height/3))...)
		below = append(below, "", p.coming(at))
		lines = append(p.chart(at, p.width, room-len(below)), below...)
	case p.width >= columnWidth && loop.Last-loop.First+1 >= longForm:
		wide := p.width * 3 / 5
		aside := p.drawNeck(at, p.width-wide-4, 2*len(p.neck.Tuning))
		aside = append(aside, neck.Legend(p.theme, p.width-wide-4, "now", roles...))
		aside = append(append(append(aside, ""), p.next(at, p.width-wide-4)...), "")
		aside = append(aside, p.history(room-len(aside))...)
		lines = p.beside(p.chart(at, wide, room), wide, aside)
	default:
		wide := p.width - 4 - p.asides()*(asideWidth+3)
		band := p.drawNeck(at, wide, min(2*len(p.neck.Tuning), p.height/3+1))
		band = append(band, neck.Legend(p.theme, wide, "now", roles...))
		left := p.width - p.asides()*(asideWidth+3)
		aside := p.next(at, asideWidth)
		if p.asides() > 1 {
			aside = p.beside(aside, asideWidth, p.history(len(band)))
		} else {
			aside = append(append(aside, ""), p.history(leastPasses)...)
		}
		// A line of bars is worth a blank one, which is squeezed out.
		lines = append(p.chart(at, p.width, room-max(len(band), len(aside))), "")
		lines = append(lines, p.beside(indented(band), left, aside)...)
	}
	lines = append(append(head, lines...), foot...)
	for i, l := range lines {
		lines[i] = ansi.Truncate(l, p.width, p.theme.Words("…"))
	}
	return strings.Join(page.Squeezed(lines, p.height), "\n")
}

// asides is how many panes stand beside the neck.
func (p *Page) asides() int {
	if p.width >= columnWidth {
		return 2
	}
	return 1
}

// indented puts the page's margin before some lines.
func indented(lines []string) []string {
	out := make([]string, len(lines))
	for i, l := range lines {
		out[i] = "  " + l
	}
	return out
}

// beside puts lines at the right of others, which have a width.
func (p *Page) beside(left []string, width int, right []string) []string {
	var out []string
	for i := range max(len(left), len(right)) {
		line := ""
		if i < len(left) {
			line = ansi.Truncate(left[i], width, "")
		}
		line += strings.Repeat(" ", max(0, width-lipgloss.Width(line)))
		line += " " + p.theme.Dim.Render(p.theme.Glyphs.Wire)
		if i < len(right) {
			line += " " + right[i]
		}
		out = append(out, line)
	}
	return out
}

// chart draws the rolling chart, with the marks of what was heard.
func (p *Page) chart(at shown, width, rows int) []string {
	loop := p.along.Bars()
	c := bars.Chart{
		Arrangement: p.along.Arrangement(), Form: p.form, First: loop.First, Last: loop.Last, Width: width, Height: rows,
		At: p.place(at), Picked: at.state == sound.Playing || p.chosen(), Pass: at.pass,
	}
	if p.along.Rests() {
		c.Pass = 1 // in the rest the chart is laid out anew, from the left
	}
	if p.along.Listens() {
		c.Heard = p.mark
	}
	return bars.Roll(p.theme, c)
}

// place is where the music is, at rest and in a count-in where it will begin.
func (p *Page) place(at shown) tune.Position {
	loop := p.along.Bars()
	if at.state == sound.Playing && at.bar >= loop.First && at.bar <= loop.Last {
		return tune.Position{Bar: at.bar, Beat: at.beat, Off: at.off}
	}
	return tune.Position{Bar: min(max(p.here(), loop.First), loop.Last), Beat: 1}
}

// The marks of a verdict, told apart without colour.
var markText = map[take.Verdict]string{
	take.Missed: "--", take.NotHeard: "..", take.Unsure: "??", take.WrongString: "str", take.WrongOctave: "oct", take.WrongPitch: "bad",
}

func (p *Page) mark(at tune.Position) string {
	if p.along.Free() {
		return p.verdict(at)
	}
	for _, kind := range []fretboard.Kind{fretboard.BassEvent, fretboard.ShapeEvent} {
		m, ok := p.along.MarkOf(at, kind)
		if !ok {
			continue
		}
		if m.Verdict == take.Matched {
			if kind == fretboard.BassEvent && p.shapeFault(at) {
				continue
			}
			return p.theme.Role(fretboard.Right).Render(fmt.Sprintf("%+.0f", ms(m.Offset)))
		}
		return p.theme.Role(fretboard.Wrong).Render(markText[m.Verdict])
	}
	return ""
}

// shapeFault reports whether the shape struck at a place went wrong, which then
// is what the mark says.
func (p *Page) shapeFault(at tune.Position) bool {
	m, ok := p.along.MarkOf(at, fretboard.ShapeEvent)
	return ok && m.Verdict != take.Matched
}

// roles are those of what the neck shows: what sounds now, the bass note and the shape to
// come, and what is in both shapes.
var roles = []fretboard.Role{fretboard.Right, fretboard.Next, fretboard.Coming, fretboard.Staying}

// drawNeck draws what sounds now, and what comes, each in signs of its role.
func (p *Page) drawNeck(at shown, width, height int) []string {
	near := p.along.Arrangement().Around(p.place(at), p.along.Bars().First, p.along.Bars().Last)
	var marks []fretboard.Mark
	if near.Shape >= 0 {
		marks = p.shapeMarks(&p.along.Arrangement().Events[near.Shape], fretboard.Coming)
	}
	if near.Bass != nil {
		marks = append(marks, p.shapeMarks(near.Bass, fretboard.Next)...)
	}
	for _, e := range near.Now {
		for _, m := range p.shapeMarks(e, fretboard.Right) {
			coming := func(c fretboard.Mark) bool { return c.Place == m.Place && c.Role == fretboard.Coming }
			if slices.ContainsFunc(marks, coming) {
				m.Role = fretboard.Staying
			}
			marks = append(marks, m)
		}
	}
	drawing := neck.Drawing{Neck: p.neck, Marks: marks, Width: width, Height: height, Degrees: !p.fingers}
	if at, to := p.along.Arrangement().HandAt(near); at > 0 && p.height >= paneHeight {
		drawing.Hand = &neck.Hand{At: at, To: to}
	}
	return strings.Split(neck.Draw(p.theme, drawing), "\n")
}

// shapeMarks are the places of an event, with its degrees or its fingers.
func (p *Page) shapeMarks(e *fretboard.Event, role fretboard.Role) []fretboard.Mark {
	return neck.Event(p.neck, e, p.fingers, role)
}

// inWords says what the neck would show: what sounds now, where the next bass note is, and
// the shape to come.
func (p *Page) inWords(at shown) []string {
	loop := p.along.Bars()
	near := p.along.Arrangement().Around(p.place(at), loop.First, loop.Last)
	line := func(role fretboard.Role, when string, e *fretboard.Event) string {
		says := fmt.Sprintf(" %s %s, string %d fret %d", when, e.Note.Note, e.Place.String, e.Place.Fret)
		return "  " + neck.Sign(p.theme, role, e.Degree.String()) + p.theme.Words(says)
	}
	var lines []string
	for _, e := range near.Now {
		if e.Kind == fretboard.BassEvent {
			lines = append(lines, line(fretboard.Right, "now", e))
		}
	}
	if near.Bass != nil {
		lines = append(lines, line(fretboard.Next, "then", near.Bass))
	}
	return append(lines, p.coming(at))
}

// coming says the shape to come in a line.
func (p *Page) coming(at shown) string {
	a, loop := p.along.Arrangement(), p.along.Bars()
	near := a.Around(p.place(at), loop.First, loop.Last)
	if near.Shape < 0 {
		return p.theme.Dim.Render("  the bass alone")
	}
	e := &a.Events[near.Shape]
	line := "  " + neck.Sign(p.theme, fretboard.Coming, " ") + p.theme.Dim.Render(" next shape ") + p.shapeWords(e) + p.theme.Dim.Render("  "+p.whenWords(at, e))
	if fingers := p.theme.Dim.Render("  " + fingersOf(e)); lipgloss.Width(line+fingers) <= p.width {
		line += fingers
	}
	return line
}

// shapeWords says a shape: its frets, its chord and what is in the bass.
func (p *Page) shapeWords(e *fretboard.Event) string {
	return p.theme.Strong.Render(fretboard.FormatFrets(e.Frets)) + p.theme.Words(fmt.Sprintf("  %s, bass %s", e.Chord, e.Degree))
}

// whenWords says when an event that comes is struck.
func (p *Page) whenWords(at shown, e *fretboard.Event) string {
	struck := e.Times[0]
	says := fmt.Sprintf("beat %d", struck.Beat)
	if struck.Off {
		says = "after " + says
	}
	if struck.Bar != p.place(at).Bar {
		says = fmt.Sprintf("bar %d %s", struck.Bar, says)
	}
	return says
}

// fingersOf names the fingers of a shape, low string first, where all are known.
func fingersOf(e *fretboard.Event) string {
	var fingers []string
	for s, fret := range e.Frets {
		if fret > 0 && s < len(e.Fingers) && e.Fingers[s] > 0 {
			fingers = append(fingers, fmt.Sprint(e.Fingers[s]))
		}
	}
	if len(fingers) == 0 {
		return ""
	}
	return "fingers " + strings.Join(fingers, " ")
}

// next is the pane of the shape to come: its frets and fingers, a picture, and how the
// voices get there.
func (p *Page) next(at shown, width int) []string {
	a, loop := p.along.Arrangement(), p.along.Bars()
	near := a.Around(p.place(at), loop.First, loop.Last)
	if near.Shape < 0 {
		return []string{p.theme.Dim.Render("Next shape"), "", "none: the bass alone"}
	}
	e := &a.Events[near.Shape]
	lines := []string{
		p.theme.Dim.Render("Next shape, " + p.whenWords(at, e)),
		p.shapeWords(e),
		p.theme.Dim.Render(fingersOf(e)),
	}
	picture := neck.Draw(p.theme, neck.Drawing{Neck: p.neck, Marks: p.shapeMarks(e, fretboard.Coming), Width: width, Degrees: !p.fingers})
	return append(lines, strings.Split(picture, "\n")...)
}

// history is the pane of the passes that were played, the last one first.
func (p *Page) history(rows int) []string {
	lines := []string{p.theme.Dim.Render("Passes")}
	results := p.along.Results()
	if p.along.Listens() && p.shown.state == sound.Playing && !p.along.Free() {
		right, wrong, missed := p.along.SoFar()
		lines = append(lines, fmt.Sprintf("now: %d right, %d wrong, %d missed", right, wrong, missed))
	}
	if len(results) == 0 && len(lines) == 1 {
		lines = append(lines, p.theme.Dim.Render("none yet"))
	}
	for i := len(results) - 1; i >= 0 && len(lines) < rows; i-- {
		lines = append(lines, p.theme.Words(passLine(&results[i])))
	}
	return lines[:min(len(lines), max(0, rows))]
}

// minutes writes a length in minutes and seconds.
func minutes(d time.Duration) string {
	s := int(d.Round(time.Second) / time.Second)
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}
