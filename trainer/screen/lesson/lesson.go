// Package lesson is the page of a lesson's text: it is read, and then what the
// lesson asks is begun.
package lesson

import (
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/ansi"

	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
)

// Page shows the text of a lesson.
type Page struct {
	theme  *theme.Theme
	title  string
	text   []string
	begin  func()
	top    int
	width  int
	height int
	keys   []key.Binding
}

// New makes the page of a lesson's paragraphs; begin begins what it asks.
func New(t *theme.Theme, title string, text []string, begin func()) *Page {
	return &Page{theme: t, title: title, text: text, begin: begin, width: 80, height: 20,
		keys: []key.Binding{page.Act.Key(t, "begin"), page.UpDown.Key(t, "read on")}}
}

// Init does nothing: the page waits for keys.
func (p *Page) Init() tea.Cmd { return nil }

// SetSize gives the page its room.
func (p *Page) SetSize(width, height int) { p.width, p.height = width, height }

// Title names the page.
func (p *Page) Title() string { return "lesson" }

// Status is empty.
func (p *Page) Status() string { return "" }

// Keys lists the keys.
func (p *Page) Keys() []key.Binding { return p.keys }

// Passing reports true: the text is the same each time.
func (p *Page) Passing() bool { return true }

// Update takes a key.
func (p *Page) Update(m tea.Msg) tea.Cmd {
	k, ok := m.(tea.KeyMsg)
	switch {
	case !ok:
	case page.Act.Is(k):
		p.begin()
	case k.String() == "up":
		p.top = max(0, p.top-1)
	case k.String() == "down":
		p.top = min(p.top+1, max(0, len(p.lines())-p.height))
	}
	return nil
}

// mostWide is the width from which lines are no longer read with ease, in columns
// (Dyson and Haselgrove 2001: 55 characters a line read best; a terminal's are wider).
const mostWide = 76

func (p *Page) lines() []string {
	width := max(20, min(p.width-4, mostWide))
	var lines []string
	for i, text := range append([]string{p.title}, p.text...) {
		if i > 0 {
			lines = append(lines, "")
		}
		for l := range strings.SplitSeq(ansi.Wordwrap(p.theme.Words(text), width, ""), "\n") {
			if i == 0 {
				l = p.theme.Strong.Render(l)
			}
			lines = append(lines, "  "+l)
		}
	}
	return lines
}

// View draws the text, from where it was read to.
func (p *Page) View() string {
	lines := p.lines()
	top := min(p.top, max(0, len(lines)-p.height))
	end := min(len(lines), top+p.height)
	shown := append([]string(nil), lines[top:end]...)
	if end < len(lines) && len(shown) > 0 {
		shown[len(shown)-1] = "  " + p.theme.Dim.Render(p.theme.Glyphs.Down+" more")
	}
	return strings.Join(shown, "\n")
}
