// Package screen is the program's frame on a terminal: it keeps the pages, hands
// on keys, and draws the title above and the keys below.
//
// It knows pages, never music: what a page asks or shows comes from the pure
// rooms. The table of pages and the doors that lead to them stand in pages.go.
package screen

import (
	"fmt"
	"slices"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"

	"footfall/trainer/guard"
	"footfall/trainer/quote"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
)

// The smallest terminal that every page fits, and the smallest for those that say that
// they fit a small one.
const (
	LeastWidth  = 80
	LeastHeight = 24
	smallWidth  = 60
	smallHeight = 20
)

// chrome is the rows the frame takes: the title, the keys, a blank line each.
const chrome = 4

// leaveAll asks the frame to end the program as the quit key does.
type leaveAll struct{}

// ground tells what the terminal said of its background.
type ground struct{ dark bool }

// frame is the root model.
type frame struct {
	services      *Services
	theme         *theme.Theme
	pages         map[page.ID]page.Page
	stack         []page.ID
	width, height int
	help          help
	spots         []page.Spot // of the view that was drawn last
	ended         bool        // every page was left
	said          string
	opening       *opening // nil where no page is being made
}

// newFrame makes the frame with the pages of ids, the last on top.
func newFrame(s *Services, ids ...page.ID) (*frame, error) {
	f := &frame{services: s, theme: s.Theme, pages: map[page.ID]page.Page{}, stack: ids, said: s.Notice}
	for _, id := range ids {
		p, err := s.page(id)
		if err != nil {
			return nil, err
		}
		f.pages[id] = p
	}
	return f, nil
}

func (f *frame) top() page.Page { return f.pages[f.stack[len(f.stack)-1]] }

// Init starts the pages there are.
func (f *frame) Init() tea.Cmd {
	var cmds []tea.Cmd
	for _, id := range f.stack {
		cmds = append(cmds, f.pages[id].Init())
	}
	return tea.Batch(cmds...)
}

// Update hands a message on, and then does what pages asked for meanwhile.
func (f *frame) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	cmds := []tea.Cmd{f.update(msg)}
	return f, tea.Batch(append(cmds, f.moves()...)...)
}

// moves does what pages asked for with Services.Go.
func (f *frame) moves() []tea.Cmd {
	var cmds []tea.Cmd
	for {
		m, ok := f.services.move()
		if !ok {
			return cmds
		}
		cmds = append(cmds, f.update(m))
	}
}

func (f *frame) update(msg tea.Msg) tea.Cmd {
	switch msg := msg.(type) {
	case tea.WindowSizeMsg:
		f.width, f.height = msg.Width, msg.Height
		f.resize()
		return nil
	case ground:
		f.theme.SetDark(msg.dark)
		f.resize() // what a page has drawn is drawn anew
		return nil
	case tea.KeyMsg:
		return f.keys(msg)
	case tea.MouseMsg:
		return f.mouse(msg)
	case page.Open:
		return f.open(msg.ID)
	case opened:
		return f.arrive(msg)
	case slow:
		if f.opening == msg.of {
			f.said = takesAWhile(msg.of.id)
		}
		return nil
	case page.Back:
		return f.back()
	case leaveAll:
		return f.quit()
	case held:
		return f.reopen(msg)
	case page.Say:
		f.said = msg.Line
		return nil
	case page.Note, page.Strum:
		return f.top().Update(msg)
	case page.Changed:
		for id := range f.pages {
			if id.Tune == msg.Tune && !slices.Contains(f.stack, id) {
				delete(f.pages, id)
			}
		}
	}
	var cmds []tea.Cmd
	for _, p := range f.pages {
		cmds = append(cmds, p.Update(msg))
	}
	return tea.Batch(cmds...)
}

// keys splits runes that arrived in one read into single keys; pasted text stays
// whole.
func (f *frame) keys(msg tea.KeyMsg) tea.Cmd {
	if msg.Type != tea.KeyRunes || msg.Paste || len(msg.Runes) < 2 {
		return f.key(msg)
	}
	var cmds []tea.Cmd
	for _, r := range msg.Runes {
		one := tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{r}, Alt: msg.Alt}
		if r == ' ' {
			one.Type = tea.KeySpace
		}
		cmds = append(cmds, f.key(one))
		cmds = append(cmds, f.moves()...)
	}
	return tea.Sequence(cmds...)
}

func (f *frame) key(msg tea.KeyMsg) tea.Cmd {
	if f.ended {
		return nil
	}
	if page.Stop.Is(msg) {
		stopSelf()
		return nil
	}
	if f.opening != nil {
		return f.waiting(msg)
	}
	f.said = ""
	typing := f.typing()
	switch {
	case page.Abort.Is(msg), !typing && page.Quit.Is(msg):
		return f.quit()
	case f.small() && !page.Esc.Is(msg):
		return nil
	case f.help != noHelp || !typing && page.Help.Is(msg):
		f.help = f.help.after(msg, f.helpFits(f.top()))
		return nil
	case page.Esc.Is(msg):
		if s, ok := f.top().(page.Stepper); ok {
			if used, cmd := s.Step(); used {
				return cmd
			}
		}
		return f.back()
	}
	if !f.lettered(f.top()) {
		msg = page.Arrow(msg)
	}
	return f.top().Update(msg)
}

// typing reports whether all printable keys are text now.
func (f *frame) typing() bool {
	t, ok := f.top().(page.Typist)
	return ok && t.Typing()
}

// abortSays is what the key says that quits also while something is typed.
const abortSays = "quit the program"

// lettered reports whether a page takes letters as text now.
func (f *frame) lettered(p page.Page) bool {
	if t, ok := p.(page.Typist); ok && t.Typing() {
		return true
	}
	l, ok := p.(page.Lettered)
	return ok && l.Letters()
}

func (f *frame) back() tea.Cmd {
	if len(f.stack) == 1 {
		return nil
	}
	id := f.stack[len(f.stack)-1]
	p := f.pages[id]
	f.stack = f.stack[:len(f.stack)-1]
	if pass, ok := p.(page.Passing); ok && pass.Passing() {
		delete(f.pages, id)
	}
	left := leave(p)
	if r, ok := f.top().(page.Returned); ok {
		return tea.Sequence(left, r.Return()) // what is left is kept first
	}
	return left
}

// quit lets every page finish before the program ends, once.
func (f *frame) quit() tea.Cmd {
	if f.ended {
		return nil // on its way, and the guard's patience ends
	}
	f.ended = true
	if f.opening != nil {
		f.opening.giveUp()
	}
	var cmds []tea.Cmd
	for _, p := range f.pages {
		cmds = append(cmds, leave(p))
	}
	return tea.Sequence(tea.Sequence(cmds...), tea.Quit)
}

// leave tells a page that it is left; a fault there keeps no other from being
// told.
func leave(p page.Page) tea.Cmd {
	defer guard.Catch()
	if l, ok := p.(page.Leaver); ok {
		return l.Leave()
	}
	return nil
}

// least is the smallest terminal for a page.
func least(p page.Page) (width, height int) {
	if s, ok := p.(page.Compact); ok && s.Small() {
		return smallWidth, smallHeight
	}
	return LeastWidth, LeastHeight
}

// small reports whether the terminal is too small for the page on top.
func (f *frame) small() bool { return f.smallFor(f.top()) }

func (f *frame) smallFor(p page.Page) bool {
	width, height := least(p)
	return f.width < width || f.height < height
}

func (f *frame) resize() {
	for _, p := range f.pages {
		f.size(p)
	}
}

func (f *frame) size(p page.Page) {
	if f.width > 0 && !f.smallFor(p) {
		p.SetSize(f.width, f.height-chrome)
	}
}

// View draws the page on top within the frame.
func (f *frame) View() string {
	if f.width == 0 {
		return ""
	}
	if f.small() {
		return f.tooSmall()
	}
	p := f.top()
	body := ""
	if f.help != noHelp {
		body = f.helpPage(p)
	} else {
		body = p.View()
	}
	bottom := f.bottom(p)
	room := f.height - chrome + 1 - len(bottom)
	if strings.Count(body, "\n") >= room { // what is said took rows of it
		body = strings.Join(page.Squeezed(strings.Split(body, "\n"), room), "\n")
	}
	body, f.spots = page.Spots(body)
	lines := strings.Split(quote.Styled(body), "\n")
	if len(lines) > room {
		lines = lines[:room]
	}
	var b strings.Builder
	b.WriteString(quote.Styled(f.titleLine(p)))
	b.WriteString("\n\n")
	for _, l := range lines {
		b.WriteString(ansi.Truncate(l, f.width, ""))
		b.WriteByte('\n')
	}
	b.WriteString(strings.Repeat("\n", room-len(lines)+1))
	foot, keys := page.Spots(strings.Join(bottom, "\n"))
	b.WriteString(quote.Styled(foot))
	f.spots = placed(f.spots, 2, len(lines), f.width)
	f.spots = append(f.spots, placed(keys, f.height-len(bottom), len(bottom), f.width)...)
	return b.String()
}

// tooSmall says what the program needs, in the room there is.
func (f *frame) tooSmall() string {
	width, height := least(f.top())
	text := fmt.Sprintf("This page needs %d columns and %d rows.\nThis terminal has %d and %d: make it larger,\nor use footfall --plain.\n%s",
		width, height, f.width, f.height, f.waysOut())
	lines := strings.Split(page.Wrapped(text, f.width), "\n")
	return strings.Join(lines[:min(len(lines), f.height)], "\n")
}

// waysOut says what keys do where the terminal is too small for a page.
func (f *frame) waysOut() string {
	if len(f.stack) > 1 {
		return "esc goes back, q quits."
	}
	return "q quits."
}

func (f *frame) titleLine(p page.Page) string {
	title := f.theme.Words(p.Title())
	status := f.theme.Words(p.Status())
	title = ansi.Truncate(title, max(0, f.width-lipgloss.Width(status)-16), f.theme.Words("…"))
	left := "  " + f.theme.Heading.Render("Footfall") + "  " + f.theme.Strong.Render(title)
	gap := max(1, f.width-lipgloss.Width(left)-lipgloss.Width(status)-2)
	return left + strings.Repeat(" ", gap) + f.theme.Dim.Render(status)
}

// mostSaid is the rows that what is said may take from the page.
const mostSaid = 6

// bottom draws the last lines: what is said, in as many rows as it takes, and the keys,
// which an answer to it may need.
func (f *frame) bottom(p page.Page) []string {
	if f.said != "" {
		lines := strings.Split(page.Wrapped(f.theme.Words(f.said), f.width-4), "\n")
		if len(lines) > mostSaid {
			lines = append(lines[:mostSaid-1], ansi.Truncate(lines[mostSaid-1], f.width-6, "")+f.theme.Words("…"))
		}
		for i, l := range lines {
			lines[i] = "  " + f.theme.Warn.Render(l)
		}
		return append(lines, f.bottomLine(p))
	}
	return []string{f.bottomLine(p)}
}

func (f *frame) bottomLine(p page.Page) string {
	if f.help != noHelp {
		return f.helpFoot()
	}
	// The frame's own keys always show; the page's as far as there is room.
	var own []string
	for _, b := range f.own() {
		own = append(own, f.short(b))
	}
	room := f.width - 3 - lipgloss.Width(strings.Join(own, "   "))
	var shown []string
	for _, b := range p.Keys() {
		if !b.Enabled() {
			continue
		}
		s := f.short(b)
		if w := lipgloss.Width(s) + 3; w <= room {
			room -= w
			shown = append(shown, s)
		}
	}
	return "  " + strings.Join(append(shown, own...), "   ")
}

// own are the frame's keys: there is no way back from the first screen, and letters are
// no keys where they are typed.
func (f *frame) own() []key.Binding {
	keys := []key.Binding{page.Help.Key(f.theme, "keys"), page.Quit.Key(f.theme, "quit")}
	if f.typing() {
		keys = []key.Binding{page.Abort.Key(f.theme, abortSays)}
	}
	if len(f.stack) > 1 {
		keys = slices.Insert(keys, 0, page.Esc.Key(f.theme, "back"))
	}
	return keys
}

func (f *frame) short(b key.Binding) string {
	return page.KeySpot(b.Keys(), f.theme.Key.Render(b.Help().Key)+" "+f.theme.Dim.Render(b.Help().Desc))
}
