// Package lesson is the page of a lesson, which is read and then practised task by
// task, and the page that lists the lessons there are. It shows what a session says is
// met, and never decides it.
package lesson

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/ansi"

	"footfall/drills/lesson"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
)

// Room is what the page of a lesson works with.
type Room struct {
	Theme  *theme.Theme
	Lesson *lesson.Lesson
	// Place is where it stands among the lessons that come with the program, "3 of 30",
	// or whose it is.
	Place string
	// Met reports whether a task, counted from 1, was ever met.
	Met func(task int) bool
	// Begin begins a task.
	Begin func(task int)
	// Next is the title of the lesson that comes after, "" for none, and OpenNext opens
	// it.
	Next     string
	OpenNext func()
}

// Page shows a lesson.
type Page struct {
	Room
	// at is the task that is begun next, counted from 0; the number of tasks stands for
	// the lesson after.
	at            int
	top           int
	width, height int
}

// New makes the page of a lesson.
func New(r Room) *Page {
	p := &Page{Room: r, width: 80, height: 20}
	p.at = p.first()
	return p
}

// first is the first task that is not met.
func (p *Page) first() int {
	for i := range p.Lesson.Tasks {
		if !p.Met(i + 1) {
			return i
		}
	}
	return p.last()
}

// last is the last place there is to stand on.
func (p *Page) last() int {
	if p.Next == "" {
		return len(p.Lesson.Tasks) - 1
	}
	return len(p.Lesson.Tasks)
}

// Init does nothing: the page waits for keys.
func (p *Page) Init() tea.Cmd { return nil }

// SetSize gives the page its room.
func (p *Page) SetSize(width, height int) { p.width, p.height = width, height }

// Title names the page.
func (p *Page) Title() string { return "lesson" }

// Status says where the lesson stands.
func (p *Page) Status() string { return p.Place }

// Keys lists the keys.
func (p *Page) Keys() []key.Binding {
	says := "begin"
	if p.at == len(p.Lesson.Tasks) {
		says = "next lesson"
	}
	return []key.Binding{page.Act.Key(p.Theme, says), page.UpDown.Key(p.Theme, "read on"), page.Across.Key(p.Theme, "which task"),
		page.PageUpDown.Key(p.Theme, "a page up, down"), page.FirstLast.Key(p.Theme, "first, last")}
}

// Passing reports true: the page is made anew each time.
func (p *Page) Passing() bool { return true }

// Update takes a key, and looks for the next task once one was done.
func (p *Page) Update(m tea.Msg) tea.Cmd {
	if _, ok := m.(page.Done); ok {
		p.at = p.first()
	}
	if c, ok := m.(page.Clicked); ok {
		to, acts := page.Picked(c, p.at, p.last()+1)
		if p.at = to; acts {
			p.begin()
		}
	}
	k, ok := m.(tea.KeyMsg)
	switch {
	case !ok:
	case page.Act.Is(k):
		p.begin()
	case k.String() == "left":
		p.at = max(0, p.at-1)
	case k.String() == "right":
		p.at = min(p.at+1, p.last())
	default:
		p.top = page.Moved(k, p.top, max(0, len(p.text())-p.room())+1, p.room()-1)
	}
	return nil
}

// begin begins the task that the page stands on, or opens the lesson after.
func (p *Page) begin() {
	if p.at == len(p.Lesson.Tasks) {
		p.OpenNext()
		return
	}
	p.Begin(p.at + 1)
}

// mostWide is the width from which lines are no longer read with ease, in columns
// (Dyson and Haselgrove 2001: 55 characters a line read best; a terminal's are wider),
// and wide the width from which the tasks stand beside the text.
const mostWide, wide = 76, 130

func (p *Page) wrapped(text string, width int) []string {
	return strings.Split(page.Wrapped(p.Theme.Words(text), width), "\n")
}

func (p *Page) textWidth() int { return max(20, min(p.width-4, mostWide)) }

// text is the title, the goal and the paragraphs.
func (p *Page) text() []string {
	lines := []string{"  " + p.Theme.Strong.Render(ansi.Truncate(p.Theme.Words(p.Lesson.Title), p.textWidth(), p.Theme.Words("…")))}
	for _, l := range p.wrapped(p.Lesson.Goal+".", p.textWidth()) {
		lines = append(lines, "  "+p.Theme.Dim.Render(l))
	}
	for _, text := range p.Lesson.Text {
		lines = append(lines, "")
		for _, l := range p.wrapped(text, p.textWidth()) {
			lines = append(lines, "  "+l)
		}
	}
	return lines
}

// tasks lists the tasks, each with its tick, what it is and what counts as done.
func (p *Page) tasks(width int) []string {
	t := p.Theme
	lines := []string{"  " + t.Dim.Render("Practice")}
	row := func(at int, mark, says, done string) {
		pointer, style := " ", t.Text
		if p.at == at {
			pointer, style = t.Glyphs.Pointer, t.Selected
		}
		head := fmt.Sprintf("  %s %s ", pointer, mark)
		for i, l := range p.wrapped(says, max(20, width-8)) {
			if i > 0 {
				head = "      "
			}
			lines = append(lines, page.Clickable(page.Row, at, style.Render(head+l)))
		}
		if done != "" {
			lines = append(lines, "      "+t.Dim.Render(t.Words(done)))
		}
	}
	for i, task := range p.Lesson.Tasks {
		done := ""
		if p.at == i {
			done = "done with " + task.Criterion()
		}
		row(i, p.tick(p.Met(i+1)), task.Says(), done)
	}
	if p.Next != "" {
		row(len(p.Lesson.Tasks), " ", "Next: "+p.Next, "")
	}
	return lines
}

// tick marks what is done.
func (p *Page) tick(done bool) string { return mark(p.Theme, done) }

func mark(t *theme.Theme, done bool) string {
	if done {
		return t.Glyphs.Struck
	}
	return t.Glyphs.Beat
}

// room is how many lines the text has.
func (p *Page) room() int {
	if p.width >= wide {
		return p.height
	}
	return max(3, p.height-len(p.tasks(p.width))-1)
}

// View draws the text, from where it was read to, and the tasks below or beside it.
func (p *Page) View() string {
	lines, room := p.text(), p.room()
	top := min(p.top, max(0, len(lines)-room))
	end := min(len(lines), top+room)
	shown := append([]string(nil), lines[top:end]...)
	if end < len(lines) && len(shown) > 0 {
		shown[len(shown)-1] = "  " + p.Theme.Dim.Render(p.Theme.Glyphs.Down+" more")
	}
	if p.width < wide {
		return strings.Join(append(append(shown, ""), p.tasks(p.width)...), "\n")
	}
	beside := p.tasks(p.width - mostWide - 6)
	for i, l := range beside[:min(len(beside), p.height)] {
		if i == len(shown) {
			shown = append(shown, "")
		}
		shown[i] += strings.Repeat(" ", max(1, mostWide+6-ansi.StringWidth(shown[i]))) + l
	}
	return strings.Join(shown, "\n")
}
