// Package welcome is the page of the first start: three questions, each with an answer
// that enter takes, and never again.
package welcome

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"footfall/trainer/listen"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
)

// Room is what the page works with.
type Room struct {
	Theme *theme.Theme
	// Ports lists the inputs that are there. It may take its time.
	Ports func() ([]listen.Port, error)
	// Done takes the answers in: settings by their keys, and the input that was chosen,
	// "" for none. It may take its time.
	Done func(values map[string]any, port string) tea.Msg
}

// answer is one of a question's: what it sets, and the input that it chooses.
type answer struct {
	says   string
	values map[string]any
	port   string
}

// question is asked with its answers, of which enter takes the one pointed at.
type question struct {
	asks    string
	answers []answer
	at      int
}

// Page asks.
type Page struct {
	Room
	questions []question
	at        int
	done      bool
	width     int
	height    int
}

// instruments are what can be played: the strings low to high. Others are set on the page
// of the settings.
var instruments = []struct {
	says   string
	tuning []string
}{
	{"Six strings", []string{"E2", "A2", "D3", "G3", "B3", "E4"}},
	{"Seven strings, low B", []string{"B1", "E2", "A2", "D3", "G3", "B3", "E4"}},
	{"Eight strings, low F#", []string{"F#1", "B1", "E2", "A2", "D3", "G3", "B3", "E4"}},
}

// lengths are those of a day, in minutes; usual is the one that enter takes.
var lengths = []int{10, 15, 20, 30, 45, 60}

const usual = 20

// New makes the page.
func New(r Room) *Page {
	p := &Page{Room: r, width: 80, height: 20}
	first, second := question{asks: "What do you play?"}, question{asks: "How long will you practice on a day?"}
	for _, in := range instruments {
		for _, left := range []bool{false, true} {
			says := in.says + map[bool]string{true: ", left-handed"}[left]
			strings := len(in.tuning)
			first.answers = append(first.answers, answer{says: says, values: map[string]any{
				"neck.tuning": in.tuning, "neck.bass_strings": []int{strings, strings - 1}, "neck.left_handed": left,
			}})
		}
	}
	for i, minutes := range lengths {
		second.answers = append(second.answers, answer{says: fmt.Sprintf("%d minutes", minutes), values: map[string]any{"today.minutes": minutes}})
		if minutes == usual {
			second.at = i
		}
	}
	third := question{asks: "How should Footfall hear you?", answers: []answer{{says: "Not at all: I type answers, and say whether a pass was clean"}}}
	p.questions = []question{first, second, third}
	return p
}

// ports are the inputs that are there.
type ports struct {
	page  *Page
	found []listen.Port
}

// Init looks for inputs.
func (p *Page) Init() tea.Cmd {
	return func() tea.Msg {
		found, _ := p.Ports() // where they cannot be listed there is none to choose, and the page of inputs says why
		return ports{p, found}
	}
}

// SetSize gives the page its room.
func (p *Page) SetSize(width, height int) { p.width, p.height = width, height }

// Small is true: the page fits small terminals.
func (p *Page) Small() bool { return true }

// Title names the page.
func (p *Page) Title() string { return "welcome" }

// Status counts the questions.
func (p *Page) Status() string { return fmt.Sprintf("question %d of %d", p.at+1, len(p.questions)) }

// Passing reports true: it is not come back to.
func (p *Page) Passing() bool { return true }

// Keys lists the keys.
func (p *Page) Keys() []key.Binding {
	back := page.Across.Key(p.Theme, "question before")
	back.SetEnabled(p.at > 0)
	return []key.Binding{page.Act.Key(p.Theme, "take it"), page.UpDown.Key(p.Theme, "choose"), back, page.FirstLast.Key(p.Theme, "first, last"), page.PageUpDown.Key(p.Theme, "a page up, down")}
}

// Step leaves the questions: those that are not answered keep their usual answers.
func (p *Page) Step() (bool, tea.Cmd) { return true, p.finish() }

// Update takes keys, clicks, and the inputs that were found.
func (p *Page) Update(msg tea.Msg) tea.Cmd {
	q := &p.questions[p.at]
	switch msg := msg.(type) {
	case ports:
		if msg.page == p {
			for _, port := range msg.found {
				says := port.Name
				if _, ear := listen.IsMicrophone(port.Name); !ear {
					says = "MIDI: " + says
				}
				last := &p.questions[len(p.questions)-1]
				last.answers = append(last.answers, answer{says: says, port: port.Name})
			}
		}
	case page.Clicked:
		to, acts := page.Picked(msg, q.at, len(q.answers))
		if q.at = to; acts {
			return p.next()
		}
	case tea.KeyMsg:
		switch {
		case page.Act.Is(msg):
			return p.next()
		case msg.String() == "left":
			p.at = max(0, p.at-1)
		default:
			q.at = page.Moved(msg, q.at, len(q.answers), len(q.answers))
		}
	}
	return nil
}

// next goes on to the next question, or finishes.
func (p *Page) next() tea.Cmd {
	if p.at+1 < len(p.questions) {
		p.at++
		return nil
	}
	return p.finish()
}

// finish takes the answers in, once.
func (p *Page) finish() tea.Cmd {
	if p.done {
		return nil
	}
	p.done = true
	values, port := map[string]any{}, ""
	for _, q := range p.questions {
		a := q.answers[q.at]
		for k, v := range a.values {
			values[k] = v
		}
		port += a.port
	}
	return func() tea.Msg { return p.Done(values, port) }
}

// View draws the question and its answers.
func (p *Page) View() string {
	t := p.Theme
	q := p.questions[p.at]
	lines := []string{"  " + t.Strong.Render(q.asks), ""}
	foot := "Enter takes it. All of it can be changed later: press " + page.SetUp.Key(t, "").Help().Key + " on the first screen."
	rows := max(3, p.height-6)
	list := page.List{Len: len(q.answers), At: q.at, Height: rows}
	for i := list.Top(); i < list.End(); i++ {
		pointer, look := "  ", t.Text
		if i == q.at {
			pointer, look = t.Glyphs.Pointer+" ", t.Selected
		}
		for n, l := range strings.Split(page.Wrapped(t.Words(q.answers[i].says), max(20, p.width-8)), "\n") {
			if n > 0 {
				pointer = "  "
			}
			lines = append(lines, page.Clickable(page.Row, i, look.Render("  "+pointer+l)))
		}
	}
	lines = append(lines, "")
	for l := range strings.SplitSeq(page.Wrapped(foot, max(20, p.width-4)), "\n") {
		lines = append(lines, "  "+t.Dim.Render(l))
	}
	return strings.Join(page.Squeezed(lines[:min(len(lines), p.height+2)], p.height), "\n")
}
