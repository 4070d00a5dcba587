// Package preferences is the page of the settings: each with its value, which the arrow
// keys change or a text does, and what it is for. Whatever is changed stands in the
// settings file at once, and holds when the page is left.
package preferences

import (
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/ansi"

	"footfall/trainer/screen/neck"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
	"footfall/trainer/settings"
)

// Room is what the page works with.
type Room struct {
	Theme *theme.Theme
	// Now are the settings that hold, Path is their file.
	Now  settings.Settings
	Path string
	// Hold lets settings hold, once the page is left after a change. It may take its time.
	Hold func(settings.Settings) tea.Msg
}

// Page shows the settings.
type Page struct {
	Room
	// held are the settings that hold in the program.
	held   settings.Settings
	keys   []string
	at     int
	before []change // what was changed, the latest last
	// unwritten are values that the file does not have yet; writing while they are
	// written.
	unwritten map[string]any
	writing   bool
	typing    bool
	text      string
	fault     string
	width     int
	height    int
}

// change is a setting that was changed, and its value before.
type change struct {
	key string
	was any
}

// written tells what came of writing.
type written struct {
	page *Page
	err  error
}

// New makes the page.
func New(r Room) *Page {
	return &Page{Room: r, held: r.Now, keys: settings.Keys(), unwritten: map[string]any{}, width: 80, height: 20}
}

// Init does nothing: the page waits for keys.
func (p *Page) Init() tea.Cmd { return nil }

// SetSize gives the page its room.
func (p *Page) SetSize(width, height int) { p.width, p.height = width, height }

// Title names the page.
func (p *Page) Title() string { return "settings" }

// Status names the file.
func (p *Page) Status() string {
	if over := ansi.StringWidth(p.Path) - p.width/2; over > 0 {
		return p.Theme.Words("…") + ansi.TruncateLeft(p.Path, over+1, "")
	}
	return p.Path
}

// Passing reports true: the page is made anew each time.
func (p *Page) Passing() bool { return true }

// Typing reports whether a value is typed.
func (p *Page) Typing() bool { return p.typing }

// Step ends typing without a change.
func (p *Page) Step() (bool, tea.Cmd) {
	was := p.typing
	p.typing, p.fault = false, ""
	return was, nil
}

// Keys lists the keys.
func (p *Page) Keys() []key.Binding {
	if p.typing {
		return []key.Binding{page.Act.Key(p.Theme, "set it")}
	}
	back := page.Undo.Key(p.Theme, "undo")
	back.SetEnabled(len(p.before) > 0)
	return []key.Binding{
		page.UpDown.Key(p.Theme, "choose"), page.Across.Key(p.Theme, "change it"), page.Act.Key(p.Theme, "type a value"), back,
		page.FirstLast.Key(p.Theme, "first, last"), page.PageUpDown.Key(p.Theme, "a page up, down"),
	}
}

// Leave writes what is not written yet, and lets the settings hold.
func (p *Page) Leave() tea.Cmd {
	if len(p.before) == 0 {
		return nil
	}
	now, path, values := p.Now, p.Path, p.unwritten
	return func() tea.Msg {
		if err := settings.Change(path, now, values); err != nil {
			return page.Say{Line: err.Error()}
		}
		return p.Hold(now)
	}
}

// Update takes keys, clicks, and what came of writing.
func (p *Page) Update(msg tea.Msg) tea.Cmd {
	switch msg := msg.(type) {
	case written:
		if msg.page == p {
			return p.wrote(msg.err)
		}
	case page.Clicked:
		to, acts := page.Picked(msg, p.at, len(p.keys))
		if p.at, p.typing, p.fault = to, false, ""; acts {
			return p.step(1)
		}
	case tea.KeyMsg:
		p.fault = ""
		if p.typing {
			return p.typed(msg)
		}
		return p.key(msg)
	}
	return nil
}

func (p *Page) key(k tea.KeyMsg) tea.Cmd {
	switch {
	case k.String() == "left":
		return p.step(-1)
	case k.String() == "right":
		return p.step(1)
	case page.Act.Is(k):
		p.typing, p.text = true, ""
	case page.Undo.Is(k):
		if last := len(p.before) - 1; last >= 0 {
			c := p.before[last]
			p.at = max(0, index(p.keys, c.key))
			cmd := p.set(c.key, c.was)
			p.before = p.before[:last]
			return cmd
		}
	default:
		p.at = page.Moved(k, p.at, len(p.keys), p.height/2)
	}
	return nil
}

func index(all []string, one string) int {
	for i, s := range all {
		if s == one {
			return i
		}
	}
	return -1
}

// step goes on to the next value of the setting, or the one before.
func (p *Page) step(by int) tea.Cmd {
	v, ok := p.Now.Step(p.keys[p.at], by)
	if !ok {
		if v == nil {
			p.fault = "Press enter and type a value."
		}
		return nil
	}
	return p.set(p.keys[p.at], v)
}

// typed takes a key while a value is typed.
func (p *Page) typed(k tea.KeyMsg) tea.Cmd {
	const longest = 200
	switch k.Type {
	case tea.KeyEnter:
		v, err := settings.Typed(p.keys[p.at], p.text)
		if err == nil {
			_, err = p.Now.With(p.keys[p.at], v)
		}
		if err != nil {
			p.fault = err.Error()
			return nil
		}
		p.typing = false
		return p.set(p.keys[p.at], v)
	case tea.KeyBackspace:
		if r := []rune(p.text); len(r) > 0 {
			p.text = string(r[:len(r)-1])
		}
	case tea.KeyRunes, tea.KeySpace:
		if len(p.text)+len(string(k.Runes)) <= longest {
			p.text += string(k.Runes)
		}
	}
	return nil
}

// set sets a setting, and has it written.
func (p *Page) set(key string, v any) tea.Cmd {
	with, err := p.Now.With(key, v)
	if err != nil {
		p.fault = err.Error()
		return nil
	}
	p.before = append(p.before, change{key, p.Now.Get(key)})
	strings := len(p.Now.Neck.Tuning) != len(with.Neck.Tuning)
	p.Now = with
	p.unwritten[key] = v
	if strings {
		p.unwritten["neck.bass_strings"] = with.Neck.BassStrings
	}
	return p.write()
}

// write writes what the file does not have yet, one after the other.
func (p *Page) write() tea.Cmd {
	if p.writing || len(p.unwritten) == 0 {
		return nil
	}
	p.writing = true
	values := p.unwritten
	p.unwritten = map[string]any{}
	now, path := p.Now, p.Path
	return func() tea.Msg { return written{p, settings.Change(path, now, values)} }
}

// wrote goes on to what was changed meanwhile, or shows what is in the way: then nothing
// was changed, and the page goes back to what the program holds.
func (p *Page) wrote(err error) tea.Cmd {
	p.writing = false
	if err != nil {
		p.fault = "Not written: " + err.Error()
		p.Now, p.before, p.unwritten = p.held, nil, map[string]any{}
		return nil
	}
	return p.write()
}

// From roomy rows on the neck stands below as it is set, at most so many columns wide.
const roomy, widest = 50, 120

// View draws the settings around the one pointed at, and what that one is for.
func (p *Page) View() string {
	t := p.Theme
	k := p.keys[p.at]
	var below []string
	for l := range strings.SplitSeq(page.Wrapped(t.Words(settings.Help(k)), max(20, p.width-6)), "\n") {
		below = append(below, "    "+l)
	}
	if p.fault != "" {
		for l := range strings.SplitSeq(page.Wrapped(t.Words(p.fault), max(20, p.width-6)), "\n") {
			below = append(below, "    "+t.Warn.Render(l))
		}
	}
	if p.height >= roomy {
		n, _ := p.Now.Instrument()
		below = append(below, "")
		drawing := neck.Draw(t, neck.Drawing{Neck: n, Width: min(p.width-4, widest), Height: 2 * len(n.Tuning)})
		for l := range strings.SplitSeq(drawing, "\n") {
			below = append(below, "  "+l)
		}
	}
	var lines []string
	at, heading := 0, ""
	for i, k := range p.keys {
		if h := settings.Heading(k); h != heading {
			if heading = h; i > 0 {
				lines = append(lines, "")
			}
			lines = append(lines, "  "+t.Dim.Render(h))
		}
		value := t.Words(p.Now.Value(k))
		pointer, look := " ", t.Text
		if i == p.at {
			pointer, look, at = t.Glyphs.Pointer, t.Selected, len(lines)
			if p.typing {
				value = t.Words(p.text) + t.Glyphs.Caret
			}
		}
		name := settings.Name(k)
		line := "  " + pointer + " " + name + strings.Repeat(" ", max(1, 18-len(name))) + value
		lines = append(lines, page.Clickable(page.Row, i, look.Render(ansi.Truncate(line, p.width-2, t.Words("…")))))
	}
	rows := max(3, p.height-1-len(below))
	if rows < len(lines) {
		top := max(0, min(at-rows/2, len(lines)-rows))
		lines = lines[top : top+rows]
	}
	return strings.Join(append(append(lines, ""), below...), "\n")
}
