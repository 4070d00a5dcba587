// Package home is the first screen: what to do now and why, how the week went, the
// tunes, and the doors to the other screens. What the day holds is the agenda's.
package home

import (
	"slices"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"footfall/drills/today"
	"footfall/fretboard"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
	"footfall/trainer/session"
)

// Door is a way from here to another page, by a key.
type Door struct {
	Key  page.Use
	Says string
	// NeedsTune is set where the page is about the tune that is picked.
	NeedsTune bool
	// To gives the page, for the tune picked, "" for none.
	To func(tune string) page.ID
}

// Room is what the page works with.
type Room struct {
	Theme *theme.Theme
	Neck  func() fretboard.Neck
	// Tunes are the tunes there are now.
	Tunes func() []session.Tune
	// Front looks at the day and the week. It may take its time: it is called away from
	// the keys.
	Front func() (session.Front, error)
	// Step is the page of a step of the day, false where it has none.
	Step func(today.Step) (page.ID, bool)
	// Day is the page of the whole day's plan, Tune that of a tune.
	Day  page.ID
	Tune func(name string) page.ID
	Move func(tea.Msg)
	// Doors are the ways to other pages, in the order they are shown.
	Doors []Door
	// Fresh is set where nothing has been practised yet.
	Fresh bool
}

// Page is the first screen.
type Page struct {
	Room
	front *session.Front // nil until it was looked up
	fault string
	tunes []session.Tune
	// filter is what a tune's name must hold; filtering while it is typed.
	filter    string
	filtering bool
	// at is the line pointed at: the steps of the day first, then the tunes.
	at     int
	moved  bool // by the player, who is not moved again
	width  int
	height int
}

// looked is what was looked up for a page.
type looked struct {
	page  *Page
	front session.Front
	err   error
}

// New makes the page.
func New(r Room) *Page {
	p := &Page{Room: r, width: 80, height: 20}
	p.offer()
	return p
}

// Init looks up what the page shows.
func (p *Page) Init() tea.Cmd { return p.look }

// Return looks again, once another page was left.
func (p *Page) Return() tea.Cmd { return p.look }

func (p *Page) look() tea.Msg {
	f, err := p.Front()
	return looked{p, f, err}
}

// offer lists the tunes as far as the filter lets them: those in work, the player's own,
// the others. While one is looked for the player's own come first, and of them and of the
// others those that begin with what was typed.
func (p *Page) offer() {
	name := ""
	if i := p.at - len(p.steps()); i >= 0 && i < len(p.tunes) {
		name = p.tunes[i].Name
	}
	typed := strings.ToLower(p.filter)
	rank := func(t session.Tune) (r int) {
		if t.Path == "" {
			r += 2
		}
		if typed != "" {
			if !strings.HasPrefix(strings.ToLower(t.Tune.Title), typed) {
				r++
			}
			return r
		}
		if p.front != nil {
			if i := slices.Index(p.front.Work, t.Name); i >= 0 {
				return i - len(p.front.Work)
			}
		}
		return r
	}
	p.tunes = nil
	for _, t := range p.Tunes() {
		if strings.Contains(strings.ToLower(t.Tune.Title), typed) {
			p.tunes = append(p.tunes, t)
		}
	}
	slices.SortStableFunc(p.tunes, func(a, b session.Tune) int { return rank(a) - rank(b) })
	for i, t := range p.tunes {
		if t.Name == name {
			p.at = len(p.steps()) + i
		}
	}
	p.at = max(0, min(p.at, p.lines()-1))
}

// steps are the steps of the day, none until they are known.
func (p *Page) steps() []today.Step {
	if p.front == nil {
		return nil
	}
	return p.front.Plan.Steps
}

// lines is how many lines can be pointed at.
func (p *Page) lines() int { return len(p.steps()) + len(p.tunes) }

// step is the step pointed at, nil for none.
func (p *Page) step() *today.Step {
	if s := p.steps(); p.at < len(s) {
		return &s[p.at]
	}
	return nil
}

// tune is the tune pointed at, or that of the step pointed at; "" for none.
func (p *Page) tune() string {
	if s := p.step(); s != nil {
		return s.Tune
	}
	if i := p.at - len(p.steps()); i < len(p.tunes) {
		return p.tunes[i].Name
	}
	return ""
}

// SetSize takes the room there is.
func (p *Page) SetSize(width, height int) { p.width, p.height = width, height }

// Small is true: the page fits terminals that others do not.
func (p *Page) Small() bool { return true }

// Title names the page.
func (p *Page) Title() string { return "today" }

// Typing reports whether a filter is typed.
func (p *Page) Typing() bool { return p.filtering }

// Step leaves the filter.
func (p *Page) Step() (bool, tea.Cmd) {
	if p.filter == "" && !p.filtering {
		return false, nil
	}
	p.filter, p.filtering = "", false
	p.offer()
	return true, nil
}

// Keys lists the keys.
func (p *Page) Keys() []key.Binding {
	does := "start"
	switch {
	case p.filtering && len(p.tunes) == 0:
		return []key.Binding{page.Text("letters", "find it"), page.Esc.Key(p.Theme, "all tunes")}
	case p.filtering:
		return []key.Binding{page.Text("letters", "find it"), page.Act.Key(p.Theme, "take it"), page.UpDown.Key(p.Theme, "choose"), page.Esc.Key(p.Theme, "all tunes")}
	case p.front == nil && p.at == 0:
		does = "today"
	case p.step() == nil:
		does = "look at it"
	}
	return []key.Binding{page.Act.Key(p.Theme, does), page.UpDown.Key(p.Theme, "choose"), page.Filter.Key(p.Theme, "find a tune")}
}

// MoreKeys lists the keys of the doors, which the page shows.
func (p *Page) MoreKeys() []key.Binding {
	if p.filtering {
		return nil
	}
	bs := []key.Binding{page.FirstLast.Key(p.Theme, "first, last"), page.PageUpDown.Key(p.Theme, "a page up, down")}
	for _, d := range p.Doors {
		bs = append(bs, d.Key.Key(p.Theme, d.Says))
	}
	return bs
}

// Update takes keys, and what was looked up.
func (p *Page) Update(msg tea.Msg) tea.Cmd {
	switch msg := msg.(type) {
	case looked:
		if msg.page == p {
			p.take(msg)
		}
	case page.Changed:
		p.offer()
	case page.Clicked:
		to, acts := page.Picked(msg, p.at, p.lines())
		if p.at, p.moved = to, true; acts {
			p.filtering = false
			p.start()
		}
	case tea.KeyMsg:
		p.key(msg)
	}
	return nil
}

// take shows what was looked up, and points at the step that comes next unless the
// player has gone elsewhere.
func (p *Page) take(l looked) {
	p.fault = ""
	if l.err != nil {
		p.fault = l.err.Error()
	}
	before := len(p.steps())
	p.front = &l.front
	p.Fresh = p.Fresh && !slices.ContainsFunc(p.steps(), func(s today.Step) bool { return s.Done || s.Asked > 0 })
	if p.at >= before && p.moved {
		p.at += len(p.steps()) - before // at the same tune
		p.offer()
		return
	}
	p.offer()
	p.at = p.next()
}

// next is the first step that is not done, or, where the day is, the first tune.
func (p *Page) next() int {
	if i := slices.IndexFunc(p.steps(), func(s today.Step) bool { return !s.Done }); i >= 0 {
		return i
	}
	return min(len(p.steps()), max(0, p.lines()-1))
}

func (p *Page) key(k tea.KeyMsg) {
	switch k.String() {
	case "up", "down", "pgup", "pgdown", "home", "end":
		p.at, p.moved = page.Moved(k, p.at, p.lines(), p.visible()), true
	default:
		p.act(k)
	}
}

func (p *Page) act(k tea.KeyMsg) {
	switch {
	case p.filtering && page.Act.Is(k):
		p.filtering = false
		if len(p.tunes) == 0 {
			p.filter = ""
			p.offer()
		}
	case p.filtering:
		p.letter(k)
	case page.Filter.Is(k):
		p.filtering, p.moved = true, true
		p.at = len(p.steps())
	case page.Act.Is(k):
		p.start()
	default:
		for _, d := range p.Doors {
			switch tune := p.tune(); {
			case !d.Key.Is(k):
			case d.NeedsTune && tune == "":
				p.Move(page.Say{Line: "Pick a tune first: " + d.Says + " needs one."})
			case !d.NeedsTune && p.step() != nil:
				p.Move(page.Open{ID: d.To("")})
			default:
				p.Move(page.Open{ID: d.To(tune)})
			}
		}
	}
}

// longest is how many letters a filter may have.
const longest = 30

func (p *Page) letter(k tea.KeyMsg) {
	switch {
	case k.Type == tea.KeyBackspace:
		if r := []rune(p.filter); len(r) > 0 {
			p.filter = string(r[:len(r)-1])
		}
	case (k.Type == tea.KeyRunes || k.Type == tea.KeySpace) && len([]rune(p.filter)) < longest:
		p.filter += string(k.Runes)
	}
	p.at = len(p.steps())
	p.offer()
}

// start opens what is pointed at. A step without a page, a break, is had on the page of
// the day.
func (p *Page) start() {
	switch s := p.step(); {
	case s != nil && s.Over():
		p.Move(page.Say{Line: page.OverSays})
	case s != nil:
		p.moved = false
		if id, ok := p.Room.Step(*s); ok {
			p.Move(page.Open{ID: id})
			return
		}
		p.Move(page.Open{ID: p.Day})
	case p.front == nil && !p.moved:
		p.Move(page.Open{ID: p.Day})
	case p.tune() != "":
		p.Move(page.Open{ID: p.Room.Tune(p.tune())})
	}
}
