// Package drillmenu is the page on which a drill is picked, and the chords or the
// tune that it asks about. It knows the names of what can be picked, never what is
// asked of them.
package drillmenu

import (
	"fmt"
	"slices"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"

	"footfall/drills"
	"footfall/harmony/tune"
	"footfall/trainer/screen/aside"
	"footfall/trainer/screen/bars"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
	"footfall/trainer/session"
)

// row is something to practise with.
type row struct {
	tune, chords string
	title, says  string
	facts        string
	noLine       bool
	written      *tune.Tune // nil where it is no tune
}

// Page is the page.
type Page struct {
	theme   *theme.Theme
	desk    *session.Desk
	picked  string // the tune picked before
	drills  []session.Drill
	rows    []row
	move    func(tea.Msg)
	drillOf func(session.Choice) page.ID
	drill   int
	row     int
	top     int
	width   int
	height  int
	start   key.Binding
	// lacks is what was found lacking, by what was picked.
	lacks  map[string]string
	arrows []key.Binding
}

// New makes the page, with a tune picked, "" for none; drillOf gives the drill's page
// for a choice.
func New(t *theme.Theme, d *session.Desk, tune string, move func(tea.Msg), drillOf func(session.Choice) page.ID) *Page {
	p := &Page{
		theme: t, desk: d, picked: tune, drills: session.Drills(), move: move, drillOf: drillOf, lacks: map[string]string{}, width: 80, height: 20,
	}
	p.offer()
	for i, r := range p.rows {
		if tune != "" && r.tune == tune {
			p.row = i
		}
	}
	p.start = page.Act.Key(t, "start")
	p.arrows = []key.Binding{page.Across.Key(t, "which drill"), page.UpDown.Key(t, "on what")}
	return p
}

// offer lists what there is to practise with.
func (p *Page) offer() {
	p.rows = nil
	for _, s := range drills.Sets {
		p.rows = append(p.rows, row{chords: s.Name, title: s.Title, says: s.Says + ": " + s.Symbols, facts: fmt.Sprintf("%d chords", len(strings.Fields(s.Symbols)))})
	}
	all := p.desk.AllTunes()
	if of, err := p.desk.Tune(p.picked); err == nil && of.Lesson != "" {
		all = append(slices.Clone(all), of)
	}
	for _, tu := range all {
		p.rows = append(p.rows, row{tune: tu.Name, title: tu.Tune.Title, says: tu.Says(), facts: aside.Facts(tu.Tune), noLine: !hasLine(tu.Tune), written: tu.Tune})
	}
}

func hasLine(t *tune.Tune) bool {
	for _, s := range t.Sections {
		for _, b := range s.Bars {
			if b.Bass != nil {
				return true
			}
		}
	}
	return false
}

// Init does nothing.
func (p *Page) Init() tea.Cmd { return nil }

// SetSize takes the room there is.
func (p *Page) SetSize(width, height int) {
	p.width, p.height = width, height
	p.scroll()
}

// Title names the page.
func (p *Page) Title() string { return "drills" }

// Status is empty.
func (p *Page) Status() string { return "" }

// Keys lists the keys.
func (p *Page) Keys() []key.Binding { return append([]key.Binding{p.start}, p.arrows...) }

// MoreKeys lists the keys that have no room below the page.
func (p *Page) MoreKeys() []key.Binding {
	return []key.Binding{page.FirstLast.Key(p.theme, "first, last"), page.PageUpDown.Key(p.theme, "a page up, down")}
}

// choice is what is picked.
func (p *Page) choice() session.Choice {
	r := p.rows[p.row]
	return session.Choice{Drill: p.drills[p.drill].Name, Tune: r.tune, Chords: r.chords}
}

// Update takes keys.
func (p *Page) Update(msg tea.Msg) tea.Cmd {
	if _, ok := msg.(page.Changed); ok {
		clear(p.lacks)
		p.offer()
	}
	if c, ok := msg.(page.Clicked); ok {
		to, acts := page.Picked(c, p.row, len(p.rows))
		if c.On == page.Tab && c.N < len(p.drills) {
			p.drill = c.N
		}
		if p.row = to; acts {
			p.open()
		}
	}
	k, ok := msg.(tea.KeyMsg)
	if !ok {
		return nil
	}
	switch k.String() {
	case "left":
		p.drill = max(0, p.drill-1)
	case "right":
		p.drill = min(len(p.drills)-1, p.drill+1)
	case "enter":
		p.open()
	default:
		p.row = page.Moved(k, p.row, len(p.rows), p.visible())
	}
	p.scroll()
	return nil
}

// open starts the drill picked, unless the page says why it cannot.
func (p *Page) open() {
	if p.cannot() == "" {
		p.move(page.Open{ID: p.drillOf(p.choice())})
	}
}

// cannot says why the drill cannot be had with what is picked, "" if it can.
func (p *Page) cannot() string {
	d, r := p.drills[p.drill], p.rows[p.row]
	switch {
	case d.NeedsTune && r.tune == "":
		return "This drill goes through a tune: pick one further down."
	case d.NeedsTune && r.noLine:
		return fmt.Sprintf("%s has no bass row to walk through: pick another tune.", r.title)
	case d.Needs != "":
		return p.lacking()
	}
	return ""
}

// lacking says what the drill needs that is not in what is picked; it is looked for once.
func (p *Page) lacking() string {
	c := p.choice()
	if says, ok := p.lacks[c.Drill+" "+c.Tune+" "+c.Chords]; ok {
		return says
	}
	says := ""
	if err := p.desk.Asks(c); err != nil {
		says = page.Sentence(err.Error() + ": pick something else")
	}
	p.lacks[c.Drill+" "+c.Tune+" "+c.Chords] = says
	return says
}

const (
	margin  = 10 // columns before the list
	details = 2  // rows for a sentence on what is picked

	leastSays = 40 // columns from which the sentences stand in the list too
)

func firstLines(s string, n int) []string {
	lines := strings.Split(s, "\n")
	return lines[:min(n, len(lines))]
}

// visible is how many rows show at once.
func (p *Page) visible() int {
	return max(3, p.height-5-details)
}

func (p *Page) scroll() {
	n := p.visible()
	p.top = max(0, min(p.top, p.row, len(p.rows)-n))
	if p.row >= p.top+n {
		p.top = p.row - n + 1
	}
}

// tabs are the drills in a row, as many around the one picked as there is room for.
func (p *Page) tabs() string {
	t := p.theme
	more := t.Words("…")
	room := p.width - margin - 2*lipgloss.Width(more) - 2
	first, end := p.drill, p.drill+1
	width := func(i int) int { return lipgloss.Width(p.drills[i].Title) + 3 }
	for room -= width(p.drill); ; {
		switch {
		case end < len(p.drills) && width(end) <= room && (end-p.drill <= p.drill-first || first == 0 || width(first-1) > room):
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
	tabs := ""
	if first > 0 {
		tabs += t.Dim.Render(more) + " "
	}
	for i := first; i < end; i++ {
		tab := " " + p.drills[i].Title + " "
		if i == p.drill {
			tab = t.Selected.Render("[" + p.drills[i].Title + "]")
		}
		tabs += page.Clickable(page.Tab, i, tab) + " "
	}
	if end < len(p.drills) {
		tabs += t.Dim.Render(more)
	}
	return tabs
}

// View draws the page.
func (p *Page) View() string {
	t := p.theme
	var lines []string
	add := func(s string) { lines = append(lines, s) }

	tabs := "  " + t.Dim.Render("Drill   ") + p.tabs()
	add(tabs)
	add(strings.Repeat(" ", margin) + t.Dim.Render(p.drills[p.drill].Says))
	add("")
	titles, facts := 0, 0
	for _, r := range p.rows {
		titles = min(40, max(titles, lipgloss.Width(t.Words(r.title))))
		facts = max(facts, lipgloss.Width(r.facts))
	}
	for i := p.top; i < min(len(p.rows), p.top+p.visible()); i++ {
		r := p.rows[i]
		lead := strings.Repeat(" ", margin)
		if i == p.top {
			lead = "  " + t.Dim.Render("On      ")
		}
		mark, style := "  ", t.Text
		if i == p.row {
			mark, style = t.Glyphs.Pointer+" ", t.Selected
		}
		line := lead + style.Render(mark+pad(t.Words(r.title), titles)) + "  " + t.Dim.Render(r.facts)
		if room := p.width - margin - titles - facts - 10; room >= leastSays && r.says != "" {
			line = lead + style.Render(mark+pad(t.Words(r.title), titles)) + "  " + t.Dim.Render(pad(r.facts, facts)) + "  " + t.Dim.Render(ansi.Truncate(t.Words(r.says), room, t.Words("…")))
		}
		add(page.Clickable(page.Row, i, line))
	}
	if p.visible() < len(p.rows) {
		add(strings.Repeat(" ", margin) + t.Dim.Render(fmt.Sprintf("  %d of %d", p.row+1, len(p.rows))))
	}
	add("")
	detail, look := p.rows[p.row].says, t.Text
	if why := p.cannot(); why != "" {
		detail, look = why, t.Warn
	}
	for _, l := range firstLines(page.Wrapped(t.Words(detail), p.width-margin-4), details) {
		add(strings.Repeat(" ", margin+2) + look.Render(l))
	}
	if tu := p.rows[p.row].written; tu != nil {
		if chart := bars.Preview(t, tu, p.width-margin-4, p.height-len(lines)-1); len(chart) > 0 {
			add("")
			for _, l := range chart {
				add(strings.Repeat(" ", margin+2) + l)
			}
		}
	}
	return strings.Join(lines, "\n")
}

func pad(s string, width int) string {
	s = ansi.Truncate(s, width, "…")
	return s + strings.Repeat(" ", max(0, width-lipgloss.Width(s)))
}
