// Package review is the page that looks back on practice: one subject at a time,
// as a plot or as a table. The tables are those of drills/progress; the page
// works nothing out.
package review

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"

	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/fretboard"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
)

// Look gives the review since a day, 0 for all there is.
type Look func(since memory.Day) (progress.Review, error)

// spans are how far back the page can look, in days; 0 is all time.
var spans = []struct {
	days int
	says string
}{{0, "all time"}, {84, "12 weeks"}, {28, "4 weeks"}}

// Page looks back on practice.
type Page struct {
	theme  *theme.Theme
	neck   fretboard.Neck
	look   Look
	today  memory.Day
	span   int
	fault  error
	topics []topic
	topic  int
	advice string
	// table is set while tables are shown where there is a plot as well; top is the
	// first row of a table, or which of a topic's plots is shown.
	table  bool
	top    int
	width  int
	height int
	keys   []key.Binding
}

// topic is a subject with its table, and its plots where it has some. A topic's
// plots need a terminal that draws more than ASCII.
type topic struct {
	name  string
	table progress.Table
	plots []plot
}

type plot struct {
	title string
	draw  func(width, height int) string
}

// New makes the page.
func New(t *theme.Theme, n fretboard.Neck, today memory.Day, look Look) *Page {
	p := &Page{theme: t, neck: n, look: look, today: today, width: 80, height: 20}
	p.keys = []key.Binding{
		page.Across.Key(t, "subject"), page.UpDown.Key(t, "more"), page.View.Key(t, "plot or table"), page.Far.Key(t, "how far back"),
		page.PageUpDown.Key(t, "a page up, down"), page.FirstLast.Key(t, "first, last"),
	}
	p.fill()
	return p
}

// fill looks back anew and stays at the same subject.
func (p *Page) fill() {
	name := ""
	if p.topic < len(p.topics) {
		name = p.topics[p.topic].name
	}
	since := memory.Day(0)
	if days := spans[p.span].days; days > 0 {
		since = p.today - memory.Day(days-1)
	}
	var v progress.Review
	v, p.fault = p.look(since)
	p.advice = v.Advice()
	p.topics, p.topic = p.topicsOf(v), 0
	for i, t := range p.topics {
		if t.name == name {
			p.topic = i
		}
	}
	p.begin()
}

// begin shows a subject from its start; a table of days, weeks or months from
// its latest rows.
func (p *Page) begin() {
	p.top = 0
	if len(p.topics) == 0 || p.plotted() {
		return
	}
	p.top = p.start(p.topics[p.topic])
}

// start is the first row shown of a subject's table at first.
func (p *Page) start(t topic) int {
	if t.table.OfTime() {
		return max(0, len(t.table.Rows)-p.rows())
	}
	return 0
}

// Init does nothing: the page waits for keys.
func (p *Page) Init() tea.Cmd { return nil }

// SetSize gives the page its room.
func (p *Page) SetSize(width, height int) { p.width, p.height = width, height }

// Title names the page.
func (p *Page) Title() string { return "look back" }

// Status says how far back.
func (p *Page) Status() string { return spans[p.span].says }

// Keys lists the keys.
func (p *Page) Keys() []key.Binding { return p.keys }

// Passing reports true: looking again looks anew.
func (p *Page) Passing() bool { return true }

// Update takes a key.
func (p *Page) Update(m tea.Msg) tea.Cmd {
	if c, ok := m.(page.Clicked); ok && c.On == page.Tab && c.N < len(p.topics) {
		p.topic = c.N
		p.begin()
	}
	k, ok := m.(tea.KeyMsg)
	if !ok || len(p.topics) == 0 && !page.Far.Is(k) {
		return nil
	}
	switch {
	case k.String() == "left":
		p.topic = (p.topic + len(p.topics) - 1) % len(p.topics)
		p.begin()
	case k.String() == "right":
		p.topic = (p.topic + 1) % len(p.topics)
		p.begin()
	case page.View.Is(k):
		p.table = !p.table
		p.begin()
	case page.Far.Is(k):
		p.span = (p.span + 1) % len(spans)
		p.fill()
	default:
		rows := 1
		if !p.plotted() {
			rows = p.rows() - 1
		}
		p.top = page.Moved(k, p.top, p.last()+1, rows)
	}
	return nil
}

// plotted reports whether the present subject is shown as a plot.
func (p *Page) plotted() bool { return !p.table && len(p.topics[p.topic].plots) > 0 }

// last is the last value of top.
func (p *Page) last() int {
	t := p.topics[p.topic]
	if p.plotted() {
		return len(t.plots) - p.stacked(t)
	}
	return max(0, len(t.table.Rows)-p.rows())
}

// leastPlot is the rows a plot is worth where it is not alone.
const leastPlot = 16

// stacked is how many plots of a subject stand below each other.
func (p *Page) stacked(t topic) int { return min(len(t.plots), max(1, (p.height-2)/leastPlot)) }

// rows is how many rows of a table there is room for.
func (p *Page) rows() int {
	if p.several() {
		return p.height - 2 - headed - 3 // the last of these are for what a teacher says
	}
	return max(1, p.height-6)
}

// View draws the subject, or where there is room it and those that follow.
func (p *Page) View() string {
	switch {
	case p.fault != nil:
		return p.theme.Warn.Render(indent(page.Wrapped(p.theme.Words(p.fault.Error()), p.width-4)))
	case len(p.topics) == 0:
		return "  Nothing has been practiced in this time."
	}
	head := "  " + p.tabs() + "\n\n"
	t := p.topics[p.topic]
	switch {
	case p.several():
		return head + strings.Join(p.subjects(), "\n")
	case p.plotted():
		return head + p.plotView(t, p.width, p.height-2)
	}
	return head + "  " + p.theme.Heading.Render(t.table.Title) + "\n\n" + indent(p.drawTable(t.table, p.width-4, p.top, p.rows()))
}

// plotView draws the plots of a subject below each other.
func (p *Page) plotView(t topic, width, height int) string {
	n := p.stacked(t)
	first := max(0, min(p.top, len(t.plots)-n))
	each := height / n
	var drawn []string
	for i, pl := range t.plots[first : first+n] {
		which := ""
		if len(t.plots) > n {
			which = fmt.Sprintf("%d of %d", first+i+1, len(t.plots))
		}
		title := ansi.Truncate(p.theme.Words(pl.title), width-8-len(which), p.theme.Words("…"))
		gap := strings.Repeat(" ", width-4-lipgloss.Width(title)-len(which))
		rows := strings.Split("  "+p.theme.Heading.Render(title)+gap+p.theme.Dim.Render(which)+"\n"+indent(pl.draw(width-4, each-3)), "\n")
		for len(rows) < each && i+1 < n {
			rows = append(rows, "")
		}
		drawn = append(drawn, rows...)
	}
	return strings.Join(drawn, "\n")
}

// tabs are the subjects in a line, as many around the present one as have room.
func (p *Page) tabs() string {
	more := p.theme.Words("…")
	room := p.width - 6 - 2*lipgloss.Width(more)
	width := func(i int) int { return lipgloss.Width(p.topics[i].name) + 2 }
	first, end := p.topic, p.topic+1
	for room -= width(p.topic) + 2; ; {
		switch {
		case end < len(p.topics) && width(end) <= room && (end-p.topic <= p.topic-first || first == 0):
			room -= width(end)
			end++
			continue
		case first > 0 && width(first-1) <= room:
			first--
			room -= width(first)
			continue
		}
		break
	}
	var tabs []string
	if first > 0 {
		tabs = append(tabs, p.theme.Dim.Render(more))
	}
	for i := first; i < end; i++ {
		tab := p.theme.Dim.Render(p.topics[i].name)
		if i == p.topic {
			tab = p.theme.Selected.Render("[" + p.topics[i].name + "]")
		}
		tabs = append(tabs, page.Clickable(page.Tab, i, tab))
	}
	if end < len(p.topics) {
		tabs = append(tabs, p.theme.Dim.Render(more))
	}
	return strings.Join(tabs, "  ")
}

// drawTable lays a table out in columns of a width in all, so many rows from one on.
func (p *Page) drawTable(t progress.Table, width, from, rows int) string {
	widths := make([]int, len(t.Columns))
	for _, row := range append([][]string{t.Columns}, t.Rows...) {
		for i, cell := range row {
			widths[i] = max(widths[i], lipgloss.Width(p.theme.Words(cell)))
		}
	}
	line := func(row []string, style lipgloss.Style) string {
		var b strings.Builder
		used := 0
		for i, cell := range row {
			cell = p.theme.Words(cell)
			pad := strings.Repeat(" ", widths[i]-lipgloss.Width(cell))
			if i == 0 {
				cell += pad
			} else {
				cell = "  " + pad + cell
			}
			if more := p.theme.Words("…"); used+lipgloss.Width(cell) > width {
				return style.Render(ansi.Truncate(b.String()+strings.Repeat(" ", width), width-lipgloss.Width(more), "") + more)
			}
			used += lipgloss.Width(cell)
			b.WriteString(cell)
		}
		return style.Render(b.String())
	}
	lines := []string{line(t.Columns, p.theme.Dim)}
	from = min(from, len(t.Rows))
	to := min(from+rows, len(t.Rows))
	for _, row := range t.Rows[from:to] {
		lines = append(lines, line(row, p.theme.Text))
	}
	if to < len(t.Rows) {
		lines = append(lines, p.theme.Dim.Render(p.theme.Glyphs.Down+" more"))
	}
	return strings.Join(lines, "\n")
}

func indent(s string) string { return "  " + strings.ReplaceAll(s, "\n", "\n  ") }
