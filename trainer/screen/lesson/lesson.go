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
	"footfall/fretboard"
	"footfall/trainer/screen/aside"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
)

// Room is what the page of a lesson works with.
type Room struct {
	Theme  *theme.Theme
	Neck   fretboard.Neck
	Lesson *lesson.Lesson
	// Place is where it stands among the lessons that come with the program, "3 of 30",
	// or whose it is.
	Place string
	// Met reports whether a task, counted from 1, was ever met.
	Met func(task int) bool
	// SoFar says how far a task has come, "" where it is not begun.
	SoFar func(task int) string
	// Sketch is what can be shown of a task.
	Sketch Sketched
	// Begin begins a task.
	Begin func(task int)
	// Next is the title of the lesson that comes after, "" for none, and OpenNext opens
	// it.
	Next     string
	OpenNext func()
	// OnWith goes back to where the page was opened, nil where the lesson is no part of the
	// day, and DayDone reports whether that part is done.
	OnWith  func()
	DayDone func() bool
}

// Page shows a lesson.
type Page struct {
	Room
	// at is the task that is begun next, counted from 0; after them come the rows of
	// rows.
	at            int
	top           int
	width, height int
	sketch        sketch
}

// New makes the page of a lesson.
func New(r Room) *Page {
	p := &Page{Room: r, width: 80, height: 20, sketch: sketch{Neck: r.Neck, Of: r.Sketch}}
	p.at = p.first()
	return p
}

// row is a row below the tasks: where it leads to.
type row struct {
	text, key string
	open      func()
}

// rows are the rows below the tasks.
func (p *Page) rows() (rows []row) {
	if p.Next != "" {
		rows = append(rows, row{"Next: " + p.Next, "next lesson", p.OpenNext})
	}
	if p.OnWith != nil {
		rows = append(rows, row{"Enough of it for today", "go back", p.OnWith})
	}
	return rows
}

// first is where to go on: with the day, where its part of the lesson is done, else the
// first task that is not met.
func (p *Page) first() int {
	if p.OnWith != nil && p.DayDone() {
		return p.last()
	}
	for i := range p.Lesson.Tasks {
		if !p.Met(i + 1) {
			return i
		}
	}
	return min(len(p.Lesson.Tasks), p.last())
}

// last is the last place there is to stand on.
func (p *Page) last() int { return len(p.Lesson.Tasks) + len(p.rows()) - 1 }

// Init does nothing: the page waits for keys.
func (p *Page) Init() tea.Cmd { return nil }

// SetSize gives the page its room.
func (p *Page) SetSize(width, height int) { p.width, p.height = width, height }

// Small is true: the page fits terminals that others do not.
func (p *Page) Small() bool { return true }

// Title names the page.
func (p *Page) Title() string { return "lesson" }

// Status says where the lesson stands.
func (p *Page) Status() string { return p.Place }

// Keys lists the keys.
func (p *Page) Keys() []key.Binding {
	says := "begin"
	if below := p.at - len(p.Lesson.Tasks); below >= 0 {
		says = p.rows()[below].key
	}
	reads := []key.Binding{page.Across.Key(p.Theme, "turn the page"), page.PageUpDown.Key(p.Theme, "a page of the text back, on"), page.FirstLast.Key(p.Theme, "its beginning, its end")}
	for i := range reads {
		reads[i].SetEnabled(len(p.text()) > p.room())
	}
	return append([]key.Binding{page.Act.Key(p.Theme, says), page.UpDown.Key(p.Theme, "which task")}, reads...)
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
	case k.String() == "up":
		p.at = max(0, p.at-1)
	case k.String() == "down":
		p.at = min(p.at+1, p.last())
	case k.String() == "left":
		p.read(page.Pressed("pgup"))
	case k.String() == "right":
		p.read(page.Pressed("pgdown"))
	default:
		p.read(k)
	}
	return nil
}

// read moves in the text.
func (p *Page) read(k tea.KeyMsg) {
	p.top = page.Moved(k, p.top, max(0, len(p.text())-p.room())+1, p.room()-1)
}

// begin begins the task that the page stands on, or opens the lesson after.
func (p *Page) begin() {
	if below := p.at - len(p.Lesson.Tasks); below >= 0 {
		p.rows()[below].open()
		return
	}
	p.Begin(p.at + 1)
}

// mostWide is the width from which lines are no longer read with ease, in columns
// (Dyson and Haselgrove 2001: 55 characters a line read best; a terminal's are wider).
const mostWide = 76

// wide reports whether the tasks stand beside the text.
func (p *Page) wide() bool { return aside.Fits(p.width, p.height) }

func (p *Page) wrapped(text string, width int) []string {
	return strings.Split(page.Wrapped(p.Theme.Words(text), width), "\n")
}

func (p *Page) textWidth() int {
	width := p.width
	if p.wide() {
		width = aside.Left(p.width)
	}
	return max(20, min(width-4, mostWide))
}

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

// tasks lists the tasks, each with its tick, what it is and what counts as done, in so
// many rows at most: then those around the one that is begun next.
func (p *Page) tasks(width, rows int) []string {
	t := p.Theme
	var lines []string
	here, end := 0, 0 // the lines of the one that is begun next
	row := func(at int, mark, says, done string) {
		pointer, style := " ", t.Text
		if p.at == at {
			pointer, style, here = t.Glyphs.Pointer, t.Selected, len(lines)
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
		if p.at == at {
			end = len(lines)
		}
	}
	for i, task := range p.Lesson.Tasks {
		done := ""
		if p.at == i {
			done = "done when " + task.DoneWhen()
			if soFar := p.SoFar(i + 1); soFar != "" {
				done += ": " + soFar
			}
		}
		row(i, p.tick(p.Met(i+1)), task.Says(), done)
	}
	for i, r := range p.rows() {
		row(len(p.Lesson.Tasks)+i, " ", r.text, "")
	}
	title := "Practice"
	if rows--; len(lines) > rows {
		rows = max(1, rows)
		first := max(0, min(here, (here+end-rows)/2, len(lines)-rows))
		lines = lines[first : first+rows]
		title = fmt.Sprintf("Practice, %d of %d", min(p.at+1, len(p.Lesson.Tasks)), len(p.Lesson.Tasks))
	}
	return append([]string{"  " + t.Dim.Render(title)}, lines...)
}

// tick marks what is done.
func (p *Page) tick(done bool) string { return mark(p.Theme, done) }

func mark(t *theme.Theme, done bool) string {
	if done {
		return t.Glyphs.Struck
	}
	return t.Glyphs.Beat
}

// leastText is how many lines of the text stand above the tasks at least.
const leastText = 7

// below are the tasks where they stand below the text.
func (p *Page) below() []string { return p.tasks(p.width, p.height-leastText-1) }

// room is how many lines the text has.
func (p *Page) room() int {
	if p.wide() {
		return p.height
	}
	return max(3, p.height-len(p.below())-1)
}

// View draws the text, from where it was read to, and the tasks below it, or beside it
// with what they are about.
func (p *Page) View() string {
	lines, room := p.text(), p.room()
	top := min(p.top, max(0, len(lines)-room))
	end := min(len(lines), top+room)
	shown := append([]string(nil), lines[top:end]...)
	if end < len(lines) && len(shown) > 0 {
		shown[len(shown)-1] = "  " + p.Theme.Dim.Render("more: "+p.Theme.Glyphs.Right)
	}
	if !p.wide() {
		return strings.Join(append(append(shown, ""), p.below()...), "\n")
	}
	left := p.textWidth() + 3
	return strings.Join(page.Beside(p.Theme, shown, left, p.beside(p.width-left-4), p.height), "\n")
}

// beside are the tasks, the bars of the one pointed at, and where it lies on the neck,
// as far as there is room.
func (p *Page) beside(width int) []string {
	t := p.Theme
	lines := p.tasks(width, p.height)
	for i, l := range lines {
		lines[i] = strings.TrimPrefix(l, "  ")
	}
	var needs []string
	for _, n := range []struct {
		title string
		words []string
	}{{"Leans on", p.Lesson.Needs}, {"Teaches", p.Lesson.Teaches}} {
		if n.words != nil {
			needs = append(needs, p.wrapped(n.title+" "+strings.Join(n.words, ", "), width)...)
		}
	}
	for i, l := range needs {
		needs[i] = t.Dim.Render(l)
	}
	lines = p.sketch.under(t, lines, p.Lesson, min(p.at, len(p.Lesson.Tasks)-1), width, p.height-len(needs)-1)
	if len(lines)+1+len(needs) <= p.height {
		lines = append(append(lines, ""), needs...)
	}
	return lines
}
