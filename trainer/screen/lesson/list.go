package lesson

import (
	"fmt"
	"slices"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"

	"footfall/drills/lesson"
	"footfall/fretboard"
	"footfall/trainer/screen/aside"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
)

// Row is a lesson of the list.
type Row struct {
	*lesson.Lesson
	// Done tells of each task whether it was met, Met counts those.
	Done []bool
	Met  int
	// Next is set for the one that comes next, Teachers for one of the player's teacher, and
	// Known for one that the level check has passed over.
	Next, Teachers, Known bool
}

// List shows the lessons there are.
type List struct {
	theme  *theme.Theme
	look   func() []Row
	open   func(name string)
	rows   []Row
	list   page.List
	sketch sketch
	// width and height are the page's.
	width, height int
	keys          []key.Binding
}

// NewList makes the page: look gives the rows as they stand, open opens a lesson, and of
// is what can be shown of a task, on a neck.
func NewList(t *theme.Theme, look func() []Row, open func(name string), n fretboard.Neck, of Sketched) *List {
	l := &List{theme: t, look: look, open: open, sketch: sketch{Neck: n, Of: of}, width: 80, keys: []key.Binding{
		page.Act.Key(t, "open"), page.UpDown.Key(t, "lesson"), page.FirstLast.Key(t, "first, last"), page.PageUpDown.Key(t, "a page up, down"),
	}}
	l.refresh()
	return l
}

// refresh looks at the lessons anew, and stands on the one that comes next.
func (l *List) refresh() {
	l.rows = l.look()
	l.list.At = max(0, slices.IndexFunc(l.rows, func(r Row) bool { return r.Next }))
	l.list.Len = len(l.rows)
}

// Init does nothing: the page waits for keys.
func (l *List) Init() tea.Cmd { return nil }

// SetSize gives the page its room: below the list stand a blank line and two of what the
// lesson is for.
func (l *List) SetSize(width, height int) {
	l.width, l.height, l.list.Height = width, height, height-3
	if aside.Fits(width, height) {
		l.list.Height = height
	}
}

// Title names the page.
func (l *List) Title() string { return "lessons" }

// Status says how many were learned.
func (l *List) Status() string {
	done := 0
	for _, r := range l.rows {
		if r.Met == len(r.Tasks) {
			done++
		}
	}
	return fmt.Sprintf("%d of %d done", done, len(l.rows))
}

// Keys lists the keys.
func (l *List) Keys() []key.Binding { return l.keys }

// Passing reports true: the page is made anew each time.
func (l *List) Passing() bool { return true }

// Update takes a key, and looks at the lessons anew once something was done.
func (l *List) Update(m tea.Msg) tea.Cmd {
	if _, ok := m.(page.Done); ok {
		l.refresh()
	}
	if c, ok := m.(page.Clicked); ok {
		to, acts := page.Picked(c, l.list.At, len(l.rows))
		if l.list.At = to; acts {
			l.open(l.rows[to].Name)
		}
	}
	k, ok := m.(tea.KeyMsg)
	switch {
	case !ok || len(l.rows) == 0:
	case page.Act.Is(k):
		l.open(l.rows[l.list.At].Name)
	default:
		l.list.Move(k.String())
	}
	return nil
}

// leastGoal is the width from which the goals stand in the list too.
const leastGoal = 110

// View draws the list, and below or beside it what the lesson is about that it stands on.
func (l *List) View() string {
	lines := l.lines()
	if len(l.rows) == 0 {
		return strings.Join(lines, "\n")
	}
	if aside.Fits(l.width, l.height) {
		left := aside.Left(l.width)
		return strings.Join(page.Beside(l.theme, lines, left, l.beside(l.width-left-4), l.height), "\n")
	}
	lines = append(lines, "")
	for _, s := range strings.Split(page.Wrapped(l.theme.Words(l.rows[l.list.At].Goal+"."), max(20, l.width-8)), "\n") {
		lines = append(lines, "    "+s)
	}
	return strings.Join(lines, "\n")
}

// beside is what stands in the lesson that the list stands on: its goal, what there is to
// practice, and its text as far as there is room.
func (l *List) beside(width int) []string {
	t, r := l.theme, l.rows[l.list.At]
	lines := strings.Split(page.Wrapped(t.Words(r.Title), width), "\n")
	for i := range lines {
		lines[i] = t.Strong.Render(lines[i])
	}
	add := func(head, text string) {
		wrapped := strings.Split(page.Wrapped(t.Words(text), width-lipgloss.Width(head)), "\n")
		for _, w := range wrapped {
			lines = append(lines, head+w)
			head = strings.Repeat(" ", lipgloss.Width(head))
		}
	}
	add("", r.Goal+".")
	lines = append(lines, "", t.Dim.Render("Practice"))
	for i, task := range r.Tasks {
		add(mark(t, r.Done[i])+" ", task.Says())
	}
	lines = append(lines, "")
	for _, paragraph := range r.Text {
		add("", paragraph)
		lines = append(lines, "")
	}
	lines = lines[:len(lines)-1]
	if len(lines) > l.height {
		return append(lines[:l.height-1], t.Dim.Render(t.Glyphs.Down+" more"))
	}
	first := max(0, min(slices.Index(r.Done, false), len(r.Tasks)-1))
	return l.sketch.under(t, lines, r.Lesson, first, width, l.height)
}

// given counts the lessons of the player's teacher, which stand first and have no number.
func (l *List) given() (n int) {
	for _, r := range l.rows {
		if r.Teachers {
			n++
		}
	}
	return n
}

// lines are the list.
func (l *List) lines() []string {
	t := l.theme
	titles := 0
	for _, r := range l.rows {
		titles = min(44, max(titles, lipgloss.Width(t.Words(r.Title))))
	}
	var lines []string
	for i := l.list.Top(); i < l.list.End(); i++ {
		r := l.rows[i]
		pointer, style := " ", t.Text
		if i == l.list.At {
			pointer, style = t.Glyphs.Pointer, t.Selected
		}
		number := "  "
		if n := i + 1 - l.given(); n > 0 {
			number = fmt.Sprintf("%2d", n)
		}
		title := ansi.Truncate(t.Words(r.Title), titles, t.Words("…"))
		line := fmt.Sprintf("  %s %s %s  %s", pointer, mark(t, r.Met == len(r.Tasks)), number, title)
		line = style.Render(line) + strings.Repeat(" ", titles-lipgloss.Width(title)+2)
		state := ""
		switch {
		case r.Met > 0 && r.Met < len(r.Tasks):
			state = fmt.Sprintf("%d of %d tasks", r.Met, len(r.Tasks))
		case r.Teachers:
			state = "from your teacher"
		case r.Next:
			state = "next"
		case r.Known:
			state = "you know it"
		}
		if l.width >= leastGoal && !aside.Fits(l.width, l.height) {
			state = fmt.Sprintf("%-18s%s", state, ansi.Truncate(t.Words(r.Goal), l.width-titles-34, t.Words("…")))
		}
		lines = append(lines, page.Clickable(page.Row, i, line+t.Dim.Render(state)))
	}
	return lines
}
