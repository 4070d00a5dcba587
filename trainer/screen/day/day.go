// Package day is the page of the day's plan: its steps in order, which can be
// started, left out, moved and made longer or shorter. What a plan holds and how
// it may be changed is drills/today's.
package day

import (
	"fmt"
	"slices"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"

	"footfall/drills/today"
	"footfall/harmony"
	"footfall/trainer/screen/aside"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
	"footfall/trainer/session"
)

// Agenda is the plan of the day as it stands, and takes changes of it, as
// *session.Agenda does.
type Agenda interface {
	Plan() today.Plan
	Change(func(today.Plan) (today.Plan, error)) error
	// NextGoal works towards the next tune, or the one before.
	NextGoal(step int) error
	// Says tells in a line what changed today and what comes tomorrow.
	Says() string
}

// Page shows a plan.
type Page struct {
	theme  *theme.Theme
	agenda Agenda
	plan   today.Plan // as it stood last
	move   func(tea.Msg)
	// open gives the page of a step; false where it has none.
	open func(today.Step) (page.ID, bool)
	at   int
	// before are the plans before each change, the latest last.
	before []today.Plan
	says   string // once all is done
	width  int
	height int
	keys   []key.Binding
	// Beside is what is shown of a tune, "" for none, beside a step where there is room;
	// nil for nothing. Look looks at the week. It may take its time: it is called away
	// from the keys.
	Beside func(tune string) aside.Pane
	Look   func() (session.Front, error)
	front  session.Front
}

// looked is what was looked up for a page.
type looked struct {
	page  *Page
	front session.Front
}

// New makes the page of a plan.
func New(t *theme.Theme, a Agenda, move func(tea.Msg), open func(today.Step) (page.ID, bool)) *Page {
	p := &Page{theme: t, agenda: a, plan: a.Plan(), move: move, open: open, width: 80, height: 20}
	p.at = p.next()
	p.end()
	p.keys = []key.Binding{
		page.Act.Key(t, "start"), page.UpDown.Key(t, "step"), page.Empty.Key(t, "leave out"), page.Later.Key(t, "later"),
		page.More.Key(t, "longer"), page.Less.Key(t, "shorter"), page.Undo.Key(t, "undo"),
		page.Choose.Key(t, "towards another tune"), page.ChooseBack.Key(t, "the tune before"),
		page.FirstLast.Key(t, "first, last"), page.PageUpDown.Key(t, "a page up, down"),
	}
	return p
}

// Init looks up the week.
func (p *Page) Init() tea.Cmd { return p.look }

// Return looks at the plan and the week anew, once a step was left.
func (p *Page) Return() tea.Cmd {
	p.before = nil
	p.Update(nil)
	return p.look
}

// look looks up what stands beside the plan; where it cannot be had, nothing does.
func (p *Page) look() tea.Msg {
	if p.Look == nil {
		return nil
	}
	f, err := p.Look()
	if err != nil {
		return nil
	}
	return looked{p, f}
}

// Small is true: the page fits terminals that others do not.
func (p *Page) Small() bool { return true }

// SetSize gives the page its room.
func (p *Page) SetSize(width, height int) { p.width, p.height = width, height }

// Title names the page.
func (p *Page) Title() string { return "plan of the day" }

// Status says how long the plan is.
func (p *Page) Status() string {
	if p.width < narrow {
		return fmt.Sprintf("%d of %s", p.plan.Total(), harmony.Counted(p.plan.Minutes, "minute"))
	}
	return fmt.Sprintf("%s %s %d of %s", page.DayOf(p.plan.Day), p.theme.Glyphs.Dot, p.plan.Total(), harmony.Counted(p.plan.Minutes, "minute"))
}

// narrow is the columns below which the day itself has no room beside the title.
const narrow = 70

// Keys lists the keys.
func (p *Page) Keys() []key.Binding { return p.keys }

// next is the place of the first step that is not done, of the last where all are.
func (p *Page) next() int {
	for i, s := range p.plan.Steps {
		if !s.Done {
			return i
		}
	}
	return max(0, len(p.plan.Steps)-1)
}

// end says what the day came to, once all of it is done.
func (p *Page) end() {
	if p.plan.AllDone() {
		p.says = p.agenda.Says()
	}
}

// Update takes a key, and looks at the plan anew.
func (p *Page) Update(m tea.Msg) tea.Cmd {
	p.plan = p.agenda.Plan()
	p.at = max(0, min(p.at, len(p.plan.Steps)-1)) // a step may have gone meanwhile
	switch m := m.(type) {
	case page.Done:
		p.at, p.before = p.next(), nil
		p.end()
	case looked:
		if m.page == p {
			p.front = m.front
		}
	}
	if c, ok := m.(page.Clicked); ok {
		to, acts := page.Picked(c, p.at, len(p.plan.Steps))
		if p.at = to; acts {
			p.start()
		}
	}
	k, ok := m.(tea.KeyMsg)
	if !ok || len(p.plan.Steps) == 0 && !page.Undo.Is(k) {
		return nil
	}
	switch {
	case page.Act.Is(k):
		p.start()
	case page.Empty.Is(k):
		p.change(func(plan today.Plan) (today.Plan, error) { return plan.Without(p.at), nil })
		p.at = max(0, min(p.at, len(p.plan.Steps)-1))
	case page.Later.Is(k):
		if _, moved := p.plan.Later(p.at); moved {
			p.change(func(plan today.Plan) (today.Plan, error) {
				later, _ := plan.Later(p.at)
				return later, nil
			})
			p.at++
		}
	case page.Undo.Is(k):
		p.undo()
	case page.More.Is(k):
		p.stretch(1)
	case page.Less.Is(k):
		p.stretch(-1)
	case page.Choose.Is(k):
		p.goal(1)
	case page.ChooseBack.Is(k):
		p.goal(-1)
	default:
		p.at = page.Moved(k, p.at, len(p.plan.Steps), p.height/2)
	}
	return nil
}

func (p *Page) stretch(minutes int) {
	p.change(func(plan today.Plan) (today.Plan, error) { return plan.Stretched(p.at, minutes) })
}

// goal works towards another tune.
func (p *Page) goal(step int) {
	if err := p.agenda.NextGoal(step); err != nil {
		p.move(page.Say{Line: err.Error()})
	}
	p.plan = p.agenda.Plan()
}

// change changes the plan, or says why not.
func (p *Page) change(change func(today.Plan) (today.Plan, error)) {
	before := p.agenda.Plan()
	before.Steps = slices.Clone(before.Steps)
	if err := p.agenda.Change(change); err != nil {
		p.move(page.Say{Line: err.Error()})
	} else {
		p.before = append(p.before, before)
	}
	p.plan = p.agenda.Plan()
}

// undo takes the last change back. What was done since stays done: from then on there is
// nothing to take back.
func (p *Page) undo() {
	last := len(p.before) - 1
	if last < 0 {
		p.move(page.Say{Line: "There is nothing to undo."})
		return
	}
	before := p.before[last]
	if err := p.agenda.Change(func(today.Plan) (today.Plan, error) { return before, nil }); err != nil {
		p.move(page.Say{Line: err.Error()})
		return
	}
	p.before, p.plan = p.before[:last], p.agenda.Plan()
	p.at = max(0, min(p.at, len(p.plan.Steps)-1))
}

// start opens the step. A break has no page: it is over when its key is pressed.
func (p *Page) start() {
	s := p.plan.Steps[p.at]
	if s.Over() {
		p.move(page.Say{Line: page.OverSays})
		return
	}
	id, ok := p.open(s)
	if ok {
		p.move(page.Open{ID: id})
		return
	}
	if s.Kind == today.Break {
		p.change(func(plan today.Plan) (today.Plan, error) {
			plan.Steps[p.at].Done = true
			return plan, nil
		})
		p.at = p.next()
	}
}

// View draws the plan, and beside it what the step pointed at is about.
func (p *Page) View() string {
	if len(p.plan.Steps) == 0 {
		return "  Nothing is left in today's plan."
	}
	if p.Beside == nil || !aside.Fits(p.width, p.height) {
		return p.list(p.width)
	}
	step, left := p.plan.Steps[p.at], aside.Left(p.width)
	shown := step.Tune
	if shown == "" && len(p.front.Work) > 0 {
		shown = p.front.Work[0]
	}
	pane := p.Beside(shown)
	if shown != step.Tune {
		pane.Says = "In work: "
	}
	pane.Far, pane.Places = p.front.FarOf(shown), p.front.Places
	if asks := aside.Asks(p.theme, step); p.height >= tall && asks.Lines != nil {
		pane.Lines = append([]aside.Line{{Look: p.theme.Dim, Text: asks.Title}}, asks.Lines...)
	}
	lines := strings.Split(p.list(left), "\n")
	week := aside.Below(p.theme, nil, []aside.Block{aside.Work(p.theme, p.front.Far, shown), aside.Week(p.theme, p.front.Days)}, left-4, p.height-len(lines)-1)
	if len(week) > 0 {
		lines = append(lines, strings.Split("\n  "+strings.Join(week, "\n  "), "\n")...)
	}
	return strings.Join(pane.Beside(p.theme, lines, p.width, p.height), "\n")
}

// tall is the rows from which what a step asks stands above its tune.
const tall = 50

// list draws the plan in so many columns.
func (p *Page) list(width int) string {
	var lines []string
	if t := p.plan.Towards; t != nil {
		says := fmt.Sprintf("Towards %s at %g BPM", t.Title, t.Tempo)
		if t.By != "" {
			says += " by " + page.ByDay(t.By, p.plan.Day)
		}
		for l := range strings.SplitSeq(page.Wrapped(p.theme.Words(says+": "+t.Says), max(20, width-4)), "\n") {
			lines = append(lines, "  "+l)
		}
		lines = append(lines, "")
	}
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
		for l := range strings.SplitSeq(page.Wrapped(p.theme.Words(s.Text), max(20, width-2-lipgloss.Width(head))), "\n") {
			lines = append(lines, page.Clickable(page.Row, i, style.Render(head+l)))
			head = strings.Repeat(" ", lipgloss.Width(head))
		}
	}
	below := p.says
	if below == "" && p.at < len(p.plan.Steps) && p.plan.Steps[p.at].Why != "" {
		below = page.Sentence(p.plan.Steps[p.at].Why)
	}
	if below != "" {
		lines = append(lines, "")
		for l := range strings.SplitSeq(page.Wrapped(p.theme.Words(below), width-4), "\n") {
			lines = append(lines, "  "+l)
		}
	}
	for _, n := range p.plan.Notes {
		lines = append(lines, "")
		for l := range strings.SplitSeq(page.Wrapped(p.theme.Words(n), width-4), "\n") {
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
