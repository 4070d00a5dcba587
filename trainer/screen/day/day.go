// Package day is the page of the day's plan: its steps in order, which can be
// started, left out, moved and made longer or shorter. What a plan holds and how
// it may be changed is drills/today's.
package day

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"

	"footfall/drills/today"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
)

// Page shows a plan.
type Page struct {
	theme *theme.Theme
	plan  today.Plan
	move  func(tea.Msg)
	// open gives the page of a step; false where it has none.
	open   func(today.Step) (page.ID, bool)
	at     int
	opened map[page.ID]int // the numbers of the steps whose pages were opened
	width  int
	height int
	keys   []key.Binding
}

// New makes the page of a plan.
func New(t *theme.Theme, plan today.Plan, move func(tea.Msg), open func(today.Step) (page.ID, bool)) *Page {
	p := &Page{theme: t, plan: plan, move: move, open: open, opened: map[page.ID]int{}, width: 80, height: 20}
	p.keys = []key.Binding{
		page.Act.Key(t, "start"), page.UpDown.Key(t, "step"), page.Empty.Key(t, "leave out"), page.Later.Key(t, "later"),
		page.More.Key(t, "longer"), page.Less.Key(t, "shorter"),
	}
	return p
}

// Init does nothing: the page waits for keys.
func (p *Page) Init() tea.Cmd { return nil }

// SetSize gives the page its room.
func (p *Page) SetSize(width, height int) { p.width, p.height = width, height }

// Title names the page.
func (p *Page) Title() string { return "today" }

// Status says how long the plan is.
func (p *Page) Status() string {
	return fmt.Sprintf("%s %s %d of %d minutes", p.plan.Day, p.theme.Glyphs.Dot, p.plan.Total(), p.plan.Minutes)
}

// Keys lists the keys.
func (p *Page) Keys() []key.Binding { return p.keys }

// Update takes a key, and word that a step is done.
func (p *Page) Update(m tea.Msg) tea.Cmd {
	if done, ok := m.(page.Done); ok {
		for i, s := range p.plan.Steps {
			if n := p.opened[done.ID]; n > 0 && s.N == n {
				p.plan.Steps[i].Done = true
			}
		}
	}
	k, ok := m.(tea.KeyMsg)
	if !ok || len(p.plan.Steps) == 0 {
		return nil
	}
	switch {
	case k.String() == "up":
		p.at = max(0, p.at-1)
	case k.String() == "down":
		p.at = min(p.at+1, len(p.plan.Steps)-1)
	case page.Act.Is(k):
		p.start()
	case page.Empty.Is(k):
		p.plan = p.plan.Without(p.at)
		p.at = max(0, min(p.at, len(p.plan.Steps)-1))
	case page.Later.Is(k):
		if later, moved := p.plan.Later(p.at); moved {
			p.plan = later
			p.at++
		}
	case page.More.Is(k):
		p.stretch(1)
	case page.Less.Is(k):
		p.stretch(-1)
	}
	return nil
}

func (p *Page) stretch(minutes int) {
	plan, err := p.plan.Stretched(p.at, minutes)
	if err != nil {
		p.move(page.Say{Line: err.Error()})
		return
	}
	p.plan = plan
}

// start opens the step and goes on to the next. A step without a page, such as a
// break, is done when its key is pressed.
func (p *Page) start() {
	s := &p.plan.Steps[p.at]
	p.at = min(p.at+1, len(p.plan.Steps)-1)
	id, ok := p.open(*s)
	if !ok {
		s.Done = true
		return
	}
	p.opened[id] = s.N
	p.move(page.Open{ID: id})
}

// View draws the plan.
func (p *Page) View() string {
	if len(p.plan.Steps) == 0 {
		return "  Nothing is left in today's plan."
	}
	var lines []string
	for i, s := range p.plan.Steps {
		pointer, style := " ", p.theme.Text
		if i == p.at {
			pointer, style = p.theme.Glyphs.Pointer, p.theme.Selected
		}
		length := fmt.Sprintf("%2d min", s.Minutes)
		if s.Done {
			length = "  done"
		}
		head := fmt.Sprintf("  %s %s  ", pointer, length)
		for l := range strings.SplitSeq(ansi.Wordwrap(p.theme.Words(s.Text), max(20, p.width-2-lipgloss.Width(head)), ""), "\n") {
			lines = append(lines, style.Render(head+l))
			head = strings.Repeat(" ", lipgloss.Width(head))
		}
	}
	for _, n := range p.plan.Notes {
		lines = append(lines, "")
		for l := range strings.SplitSeq(ansi.Wordwrap(p.theme.Words(n), p.width-4, ""), "\n") {
			lines = append(lines, "  "+p.theme.Dim.Render(l))
		}
	}
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " ")
	}
	if over := len(lines) - p.height; over > 0 {
		from := min(over, max(0, p.at-p.height/2))
		lines = lines[from : from+p.height]
	}
	return strings.Join(lines, "\n")
}
