// Package adding is the page on which a score or a typed chart becomes one of the
// player's own tunes: it is pasted or named, and what it leaves open is asked.
package adding

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/bubbles/cursor"
	"github.com/charmbracelet/bubbles/key"
	"github.com/charmbracelet/bubbles/textarea"
	"github.com/charmbracelet/bubbles/textinput"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"

	"footfall/harmony/tune"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
	"footfall/trainer/session"
)

// Room is what the page works with. Read and Keep may take their time: they are
// called away from the keys.
type Room struct {
	Theme *theme.Theme
	// Read reads what was typed, pasted or named.
	Read func(text string) (*session.Adding, error)
	// Keep saves the tune, and reports whether a line was made up for it.
	Keep func(*session.Adding) (t session.Tune, composed bool, err error)
	// Move asks the frame for another page.
	Move func(tea.Msg)
	// To is the page that a tune is shown on once it is kept.
	To func(tune string) page.ID
}

// Page takes the text, then the answers.
type Page struct {
	Room
	text          textarea.Model
	answer        textinput.Model
	adding        *session.Adding
	busy          bool
	fault         string
	width, height int
	read, next    key.Binding
}

type (
	wasRead struct {
		page   *Page
		adding *session.Adding
		err    error
	}
	wasKept struct {
		page     *Page
		tune     session.Tune
		composed bool
		err      error
	}
)

// longest is how many lines can be typed or pasted.
const longest = 2000

// New makes the page.
func New(r Room) *Page {
	p := &Page{Room: r, text: textarea.New(), answer: textinput.New(), width: 80, height: 20}
	p.text.ShowLineNumbers, p.text.Prompt, p.text.CharLimit, p.text.MaxHeight = false, "", 0, longest
	p.text.FocusedStyle, p.text.BlurredStyle = textarea.Style{}, textarea.Style{}
	p.text.Cursor.SetMode(cursor.CursorStatic)
	p.answer.Cursor.SetMode(cursor.CursorStatic)
	p.text.Focus()
	p.answer.Prompt = "  "
	p.read = page.Save.Key(r.Theme, "take it in")
	p.next = page.Act.Key(r.Theme, "answer")
	return p
}

// Init does nothing: the page waits for text.
func (p *Page) Init() tea.Cmd { return nil }

// SetSize gives the page its room.
func (p *Page) SetSize(width, height int) {
	p.width, p.height = width, height
	p.text.SetWidth(max(10, width-4))
	p.text.SetHeight(max(1, height-10))
	p.answer.Width = max(10, width-8)
}

// Title names the page.
func (p *Page) Title() string { return "add a tune" }

// Status says that the page is at work.
func (p *Page) Status() string {
	if p.busy {
		return "one moment"
	}
	return ""
}

// Keys lists the keys of where it stands.
func (p *Page) Keys() []key.Binding {
	if p.adding == nil {
		return []key.Binding{p.read}
	}
	return []key.Binding{p.next}
}

// Typing reports true: all printable keys are text.
func (p *Page) Typing() bool { return true }

// Passing reports true: the next tune begins anew.
func (p *Page) Passing() bool { return true }

// Step goes back from the questions to the text.
func (p *Page) Step() (bool, tea.Cmd) {
	if p.adding == nil {
		return false, nil
	}
	p.adding, p.fault, p.busy = nil, "", false
	return true, nil
}

// Update takes keys, and what was read or kept.
func (p *Page) Update(m tea.Msg) tea.Cmd {
	switch m := m.(type) {
	case wasRead:
		if m.page != p || !p.busy {
			return nil
		}
		p.busy = false
		if m.err != nil {
			p.fault = m.err.Error()
			return nil
		}
		p.adding, p.fault = m.adding, ""
		return p.ask()
	case wasKept:
		if m.page != p || !p.busy {
			return nil
		}
		p.busy = false
		if m.err != nil {
			p.fault = "Not saved: " + m.err.Error()
			return nil
		}
		p.kept(m)
	case tea.KeyMsg:
		return p.key(m)
	}
	return nil
}

func (p *Page) key(k tea.KeyMsg) tea.Cmd {
	var cmd tea.Cmd
	switch {
	case p.busy:
	case p.adding == nil && page.Save.Is(k):
		text := p.text.Value()
		if strings.TrimSpace(text) == "" {
			p.fault = "There is nothing here yet: type or paste the chords, or a file's path."
			return nil
		}
		p.busy, p.fault = true, ""
		return func() tea.Msg {
			a, err := p.Read(text)
			return wasRead{p, a, err}
		}
	case p.adding == nil:
		p.fault = ""
		p.text, cmd = p.text.Update(k)
	case page.Act.Is(k):
		if err := p.adding.Answer(p.answer.Value()); err != nil {
			p.fault = err.Error()
			return nil
		}
		p.fault = ""
		return p.ask()
	default:
		p.answer, cmd = p.answer.Update(k)
	}
	return cmd
}

// ask puts the next question, or keeps the tune where there is none left.
func (p *Page) ask() tea.Cmd {
	ask, more := p.adding.Next()
	if more {
		p.answer.Reset()
		p.answer.Placeholder = ask.Default
		p.answer.Focus()
		return nil
	}
	p.busy = true
	adding := p.adding
	return func() tea.Msg {
		t, composed, err := p.Keep(adding)
		return wasKept{p, t, composed, err}
	}
}

func (p *Page) kept(m wasKept) {
	says := m.tune.Tune.Title + " is among your tunes."
	if m.composed {
		says = m.tune.Tune.Title + " is among your tunes, with a bass line made up for it."
	}
	p.Move(page.Back{})
	p.Move(page.Changed{Tune: m.tune.Name})
	p.Move(page.Open{ID: p.To(m.tune.Name)})
	p.Move(page.Say{Line: says})
}

// View draws the text, or the question and what it is about.
func (p *Page) View() string {
	if p.adding == nil {
		rows := append([]string{""}, p.wrapped(p.Theme.Dim, "Type or paste the chords as you write them, or a file's path (MusicXML, MIDI, text).")...)
		return strings.Join(p.fit(append(append(rows, ""), indented(p.text.View())...)), "\n")
	}
	rows := []string{""}
	if t := p.adding.Tune; t != nil {
		rows = append(rows, "  "+p.Theme.Strong.Render(t.Title)+"  "+p.Theme.Dim.Render(fmt.Sprintf("%s  %s  %g BPM", t.Key, t.Meter, t.Tempo)), "")
		rows = append(rows, p.chart(t)...)
		rows = append(rows, "")
		for _, l := range p.adding.Losses {
			if l.Kind == "" {
				rows = append(rows, p.wrapped(p.Theme.Dim, l.String())...)
			}
		}
	}
	foot := []string{""}
	if ask, more := p.adding.Next(); more {
		foot = append(foot, p.wrapped(p.Theme.Text, ask.Says)...)
		foot = append(foot, p.answer.View())
	}
	if p.fault != "" {
		foot = append(foot, p.wrapped(p.Theme.Strong, p.fault)...)
	}
	if room := p.height - len(foot); len(rows) > room {
		rows = rows[:max(0, room)]
	}
	return strings.Join(append(rows, foot...), "\n")
}

// fit adds the fault below the text.
func (p *Page) fit(rows []string) []string {
	if p.fault != "" {
		rows = append(rows, "")
		rows = append(rows, p.wrapped(p.Theme.Strong, p.fault)...)
	}
	return rows[:min(len(rows), p.height)]
}

// chart writes the bars with their numbers, four to a row.
func (p *Page) chart(t *tune.Tune) []string {
	var rows []string
	row := ""
	for _, fb := range t.Unroll() {
		cell := "| " + p.Theme.Words(tune.ChordCell(fb.Bar.Chords)) + " "
		if row == "" || fb.Number%4 == 1 || ansi.StringWidth(row+cell) > p.width-3 {
			rows, row = append(rows, row), fmt.Sprintf("%5d ", fb.Number)
		}
		row += cell
	}
	return append(rows[min(1, len(rows)):], row)
}

func (p *Page) wrapped(look lipgloss.Style, text string) []string {
	rows := indented(page.Wrapped(p.Theme.Words(text), max(20, p.width-4)))
	for i, r := range rows {
		rows[i] = look.Render(r)
	}
	return rows
}

func indented(text string) []string {
	rows := strings.Split(text, "\n")
	for i, r := range rows {
		rows[i] = "  " + r
	}
	return rows
}
