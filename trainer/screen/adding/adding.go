// Package adding is the page on which a score or a typed chart becomes one of the
// player's own tunes: it is pasted or named, what it leaves open is asked, and its bars
// are shown back before it is kept.
package adding

import (
	"strings"
	"time"

	"github.com/charmbracelet/bubbles/cursor"
	"github.com/charmbracelet/bubbles/key"
	"github.com/charmbracelet/bubbles/textarea"
	"github.com/charmbracelet/bubbles/textinput"
	tea "github.com/charmbracelet/bubbletea"

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
	// Draft keeps what is typed until it is a tune.
	Draft Draft
	// Move asks the frame for another page.
	Move func(tea.Msg)
	// To is the page that a tune is shown on once it is kept.
	To func(tune string) page.ID
}

// Draft is what was typed and is no tune yet, as *tunebook.Draft keeps it.
type Draft interface {
	Found() (text string, at time.Time, ok bool, err error)
	Keep(version int, text string) error
}

// Page takes the text, then the answers.
type Page struct {
	Room
	text   textarea.Model
	answer textinput.Model
	adding *session.Adding
	busy   bool
	fault  string
	// says is told above the text until something is typed.
	says string
	// cleared is the text that was taken away last.
	cleared string
	version int
	// before are the bars as they were read, top the first line of them that shows.
	before        []string
	top           int
	width, height int
	read, next    key.Binding
	clear, turn   key.Binding
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
	drafted struct {
		page *Page
		err  error
	}
)

// longest is how many lines can be typed or pasted.
const longest = 2000

// New makes the page, with what was typed the last time and is no tune yet.
func New(r Room) *Page {
	p := &Page{Room: r, text: textarea.New(), answer: textinput.New(), width: 80, height: 20}
	p.text.ShowLineNumbers, p.text.Prompt, p.text.CharLimit, p.text.MaxHeight = false, "", 0, longest
	p.text.FocusedStyle, p.text.BlurredStyle = textarea.Style{}, textarea.Style{}
	p.text.Cursor.SetMode(cursor.CursorStatic)
	p.answer.Cursor.SetMode(cursor.CursorStatic)
	p.text.Focus()
	p.answer.Prompt = "  "
	p.read = page.Save.Key(r.Theme, "take it in")
	p.clear = page.Anew.Key(r.Theme, "begin anew")
	p.next = page.Act.Key(r.Theme, "answer")
	p.turn = page.PageUpDown.Key(r.Theme, "turn the chart")
	text, _, found, err := p.Draft.Found()
	switch {
	case err != nil:
		p.fault = "What you typed last cannot be read: " + err.Error()
	case found:
		p.text.SetValue(text)
		p.says = "Here is what you typed last. ctrl+l takes it away, and brings it back."
	}
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
	if p.adding != nil {
		p.turn.SetEnabled(p.longChart())
		return []key.Binding{p.next, p.turn}
	}
	says := "begin anew"
	if p.text.Value() == "" {
		says = "bring it back"
	}
	p.clear.SetHelp(p.clear.Help().Key, says)
	p.clear.SetEnabled(p.text.Value() != "" || p.cleared != "")
	return []key.Binding{p.read, p.clear}
}

// Typing reports true: all printable keys are text.
func (p *Page) Typing() bool { return true }

// Passing reports true: the next tune begins anew, or with the draft.
func (p *Page) Passing() bool { return true }

// Step goes back from the questions to the text.
func (p *Page) Step() (bool, tea.Cmd) {
	if p.adding == nil {
		return false, nil
	}
	p.adding, p.fault, p.busy = nil, "", false
	return true, nil
}

// Leave keeps what was typed, to be gone on with.
func (p *Page) Leave() tea.Cmd {
	if strings.TrimSpace(p.text.Value()) != "" {
		p.Move(page.Say{Line: "What you typed is kept: A brings it back."})
	}
	return p.keepDraft()
}

// keepDraft keeps the text as it stands apart, or drops it where there is none.
func (p *Page) keepDraft() tea.Cmd {
	p.version++
	version, text := p.version, p.text.Value()
	if strings.TrimSpace(text) == "" {
		text = ""
	}
	return func() tea.Msg { return drafted{p, p.Draft.Keep(version, text)} }
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
		p.adding, p.fault, p.top, p.before = m.adding, "", 0, cells(m.adding.Tune)
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
	case drafted:
		if m.page == p && m.err != nil {
			p.Move(page.Say{Line: "What was typed cannot be kept apart: " + m.err.Error()})
		}
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
		p.busy, p.fault, p.says = true, "", ""
		return tea.Batch(p.keepDraft(), func() tea.Msg {
			a, err := p.Read(text)
			return wasRead{p, a, err}
		})
	case p.adding == nil && page.Anew.Is(k):
		text := p.text.Value()
		p.text.SetValue(p.cleared)
		p.cleared, p.fault, p.says = text, "", ""
	case p.adding == nil:
		p.fault, p.says = "", ""
		p.text, cmd = p.text.Update(k)
	case page.Act.Is(k):
		before := p.adding.Tune
		if err := p.adding.Answer(p.answer.Value()); err != nil {
			p.fault = err.Error()
			return nil
		}
		if p.fault = ""; before != p.adding.Tune { // it was read anew
			p.before = cells(p.adding.Tune)
		}
		return p.ask()
	case page.PageUpDown.Is(k):
		p.turned(k)
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
	p.text.Reset() // so that leaving drops the draft
	p.Move(page.Back{})
	p.Move(page.Changed{Tune: m.tune.Name})
	p.Move(page.Open{ID: p.To(m.tune.Name)})
	p.Move(page.Say{Line: says})
}
