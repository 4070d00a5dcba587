package home

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"

	"footfall/drills/today"
	"footfall/harmony"
	"footfall/trainer/screen/aside"
	"footfall/trainer/screen/page"
	"footfall/trainer/session"
)

const (
	margin = 10 // columns before the lines that can be pointed at
	// leastTunes is how many tunes show at least.
	leastTunes = 2
)

// wide reports whether there is a pane beside the list.
func (p *Page) wide() bool { return aside.Fits(p.width, p.height) }

// left is the columns of the list.
func (p *Page) left() int {
	if p.wide() {
		return aside.Left(p.width)
	}
	return p.width
}

// Status says the day and how long it is.
func (p *Page) Status() string {
	if p.front == nil || p.front.Plan.Day == "" {
		return ""
	}
	plan := p.front.Plan
	return fmt.Sprintf("%s %s %s", page.DayOf(plan.Day), p.Theme.Glyphs.Dot, harmony.Counted(plan.Minutes, "minute"))
}

// View draws the page.
func (p *Page) View() string {
	above := p.above()
	below := p.doorLines()
	room := p.height - len(above) - len(below) - 1
	lines := append(append(above, p.tuneLines(room)...), "")
	lines = page.Squeezed(append(lines, below...), p.height)
	for i, l := range lines {
		lines[i] = strings.TrimRight(ansi.Truncate(l, p.left(), ""), " ")
	}
	if p.wide() {
		lines = p.aside().Beside(p.Theme, lines, p.width, p.height)
	}
	return strings.Join(lines, "\n")
}

// visible is how many tunes show at once.
func (p *Page) visible() int {
	return max(leastTunes, p.height-len(p.above())-len(p.doorLines())-2)
}

// above draws what stands above the tunes: the week, what is worked towards, the day.
func (p *Page) above() []string {
	t := p.Theme
	var lines []string
	add := func(look lipgloss.Style, text string) {
		for l := range strings.SplitSeq(page.Wrapped(t.Words(text), p.left()-4), "\n") {
			lines = append(lines, "  "+look.Render(l))
		}
	}
	roomy := p.height >= 18
	switch {
	case p.fault != "":
		add(t.Warn, p.fault)
	case p.Fresh:
		add(t.Text, "Welcome. Press enter: the first step finds out what you know already.")
	case p.front != nil:
		add(t.Dim, p.front.Week)
	default:
		add(t.Dim, "Looking at what comes today"+t.Words("…"))
	}
	if p.front != nil && roomy && p.front.Plan.Towards != nil {
		to := p.front.Plan.Towards
		add(t.Text, ansi.Truncate(fmt.Sprintf("Towards %s at %g BPM: %s", to.Title, to.Tempo, to.Says), 2*(p.left()-6), t.Words("…")))
	}
	lines = append(lines, "")
	label := "Today"
	for i, s := range p.steps() {
		lines = append(lines, p.stepLines(label, i, s)...)
		label = ""
	}
	if p.front != nil && p.front.Over != "" {
		lines = append(lines, "")
		add(t.Text, p.front.Over)
	} else if s := p.step(); s != nil && !p.wide() && s.Why != "" {
		for _, l := range page.Cut(t.Words(page.Sentence(s.Why)), p.left()-margin-12, map[bool]int{true: 2, false: 1}[roomy], t.Words("…")) {
			lines = append(lines, strings.Repeat(" ", margin+10)+t.Dim.Render(l))
		}
	}
	return append(lines, "")
}

// stepLines draws a step: in one line, or in more where it is pointed at and long.
func (p *Page) stepLines(label string, i int, s today.Step) []string {
	t := p.Theme
	pointer, look := "  ", t.Text
	length := fmt.Sprintf("%2d min", s.Minutes)
	if s.Done {
		length, look = "  done", t.Dim
	}
	if i == p.at {
		pointer, look = t.Glyphs.Pointer+" ", t.Selected
	}
	head, width := p.label(label), max(20, p.left()-margin-12)
	text := []string{ansi.Truncate(t.Words(s.Text), width, t.Words("…"))}
	if i == p.at {
		text = strings.Split(page.Wrapped(t.Words(s.Text), width), "\n")
	}
	lines := []string{page.Clickable(page.Row, i, head+look.Render(pointer+length+"  "+text[0]))}
	for _, l := range text[1:] {
		lines = append(lines, page.Clickable(page.Row, i, strings.Repeat(" ", margin+10)+look.Render(l)))
	}
	return lines
}

func (p *Page) label(text string) string {
	return "  " + p.Theme.Dim.Render(fit(text, margin-2))
}

// tuneLines draws the tunes in some rows, those around the one pointed at.
func (p *Page) tuneLines(rows int) []string {
	t := p.Theme
	rows = max(leastTunes, rows)
	var lines []string
	label := "Tunes"
	switch {
	case p.filtering:
		lines = append(lines, p.label("Find")+"  "+t.Strong.Render(t.Words(p.filter)+t.Glyphs.Caret))
		rows, label = rows-1, ""
	case p.filter != "":
		lines = append(lines, p.label("Find")+"  "+t.Dim.Render(t.Words(p.filter)+"  (esc shows all)"))
		rows, label = rows-1, ""
	}
	if len(p.tunes) == 0 {
		return append(lines, p.label(label)+"  "+t.Dim.Render("none with these letters; esc shows all"))
	}
	titles, facts := 0, 0
	for _, u := range p.tunes {
		titles = min(36, max(titles, lipgloss.Width(t.Words(u.Tune.Title))))
		facts = max(facts, lipgloss.Width(aside.Facts(u.Tune)))
	}
	titles = min(titles, p.left()-margin-facts-6)
	shown := min(rows, len(p.tunes))
	if shown < len(p.tunes) && shown > 1 {
		shown--
	}
	picked := p.at - len(p.steps())
	first := max(0, min(picked-shown/2, len(p.tunes)-shown))
	for i := first; i < first+shown; i++ {
		u := p.tunes[i]
		pointer, look := "  ", t.Text
		if i == picked {
			pointer, look = t.Glyphs.Pointer+" ", t.Selected
		}
		line := p.label(label) + look.Render(pointer+fit(t.Words(u.Tune.Title), titles)) + "  " + t.Dim.Render(fit(aside.Facts(u.Tune), facts))
		if room := p.left() - lipgloss.Width(line) - 3; room >= len("in work") && p.inWork(u) {
			line += "  " + t.Text.Render("in work")
		} else if room >= len("your own") && u.Path != "" {
			line += "  " + t.Text.Render("your own")
		} else if room >= 30 && u.Says() != "" {
			line += "  " + t.Dim.Render(ansi.Truncate(t.Words(u.Says()), room, t.Words("…")))
		}
		lines, label = append(lines, page.Clickable(page.Row, i+len(p.steps()), line)), ""
	}
	if shown < len(p.tunes) && rows > shown {
		of := harmony.Counted(len(p.tunes), "tune")
		if picked >= 0 {
			of = fmt.Sprintf("%d of %d", picked+1, len(p.tunes))
		}
		if !p.filtering {
			of += "; / finds one"
		}
		lines = append(lines, p.label("")+"  "+t.Dim.Render(of))
	}
	return lines
}

func (p *Page) inWork(u session.Tune) bool {
	if p.front == nil {
		return false
	}
	for _, name := range p.front.Work {
		if name == u.Name {
			return true
		}
	}
	return false
}

// doorLines lists the doors, as many to a line as fit: those of the tune pointed at,
// then the others.
func (p *Page) doorLines() []string {
	t := p.Theme
	var lines []string
	for _, part := range []struct {
		label string
		tune  bool
	}{{"Tune", true}, {"More", false}} {
		line, width := p.label(part.label)+"  ", 0
		for _, d := range p.Doors {
			if d.NeedsTune != part.tune {
				continue
			}
			k := d.Key.Key(t, d.Says).Help().Key
			w := lipgloss.Width(k+" "+d.Says) + 3
			if width > 0 && margin+2+width+w > p.left() {
				lines = append(lines, line)
				line, width = p.label("")+"  ", 0
			}
			line += page.KeySpot(d.Key.Key(t, "").Keys(), t.Key.Render(k)+" "+t.Dim.Render(d.Says)) + "   "
			width += w
		}
		if width > 0 {
			lines = append(lines, line)
		}
	}
	return lines
}

// aside is what is pointed at: a step's reason and its tune, or the one in work.
func (p *Page) aside() aside.Pane {
	t := p.Theme
	pane := aside.Pane{Neck: p.Neck()}
	if s := p.step(); s != nil {
		if s.Why != "" {
			pane.Lines = append(pane.Lines, aside.Line{Look: t.Text, Text: page.Sentence(s.Why)})
		}
		if s.Criterion != "" {
			pane.Lines = append(pane.Lines, aside.Line{Look: t.Dim, Text: "Done when: " + s.Criterion})
			if s.SoFar != "" {
				pane.Lines = append(pane.Lines, aside.Line{Look: t.Dim, Text: page.Sentence(s.SoFar)})
			}
		}
	}
	shown := p.tune()
	if p.front != nil {
		pane.Places = p.front.Places
		if shown == "" && len(p.front.Work) > 0 {
			shown, pane.Says = p.front.Work[0], "In work: "
		}
		pane.Far = p.front.FarOf(shown)
		for _, n := range p.front.Plan.Notes {
			pane.Blocks = append(pane.Blocks, aside.Block{Lines: []aside.Line{{Look: t.Dim, Text: n}}})
		}
		if s := p.step(); s != nil {
			pane.Blocks = append(pane.Blocks, aside.Asks(t, *s))
		}
		pane.Blocks = append(pane.Blocks, aside.Work(t, p.front.Far, shown), aside.Week(t, p.front.Days))
	}
	for _, u := range p.Tunes() {
		if u.Name == shown {
			pane.Tune = u.Tune
		}
	}
	return pane
}

func fit(s string, width int) string {
	s = ansi.Truncate(s, max(0, width), "…")
	return s + strings.Repeat(" ", max(0, width-lipgloss.Width(s)))
}
