package play

import (
	"fmt"
	"slices"
	"strconv"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"footfall/drills/ramp"
	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/fretboard/playing"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
	"footfall/trainer/session"
)

// setUp is the choice of what is played and how: a list of facts, each of which the
// arrow keys change at once.
type setUp struct {
	at, top int
	// typed is the number of a bar as far as it is typed, 0 for none, and before the bars
	// that were played then.
	typed  int
	before take.Bars
}

// choice is a row of it: what is chosen, and what a step to one side changes.
type choice struct {
	name  string
	value func(*Page) string
	step  func(p *Page, by int) error
}

// barRows are the choices of a bar, whose number can be typed: what is played with it.
var barRows = map[string]func(b take.Bars, bar int) take.Bars{
	"First bar": func(b take.Bars, bar int) take.Bars { return take.Bars{First: bar, Last: max(bar, b.Last)} },
	"Last bar":  func(b take.Bars, bar int) take.Bars { return take.Bars{First: min(b.First, bar), Last: bar} },
}

var choices = []choice{
	{"Section", func(p *Page) string { return p.barsWords(p.along.Bars()) }, stepSection},
	{"First bar", func(p *Page) string { return fmt.Sprint(p.along.Bars().First) }, func(p *Page, by int) error {
		b := p.along.Bars()
		p.along.SetLoop(barRows["First bar"](b, max(1, min(len(p.form), b.First+by))))
		return nil
	}},
	{"Last bar", func(p *Page) string { return fmt.Sprint(p.along.Bars().Last) }, func(p *Page, by int) error {
		b := p.along.Bars()
		p.along.SetLoop(barRows["Last bar"](b, max(1, min(len(p.form), b.Last+by))))
		return nil
	}},
	{"Layer", func(p *Page) string {
		if p.along.Free() {
			return session.FreeLayer + ": the line is yours"
		}
		return p.along.Arrangement().Layer.Title()
	}, stepLayer},
	{"Shapes", func(p *Page) string { return p.along.Arrangement().School.String() }, func(p *Page, by int) error {
		return p.along.SetSchool(fretboard.School(turned(int(p.along.Arrangement().School), by, int(fretboard.Drop3s)+1)))
	}},
	{"Tempo from", func(p *Page) string { return fmt.Sprintf("%g BPM", p.ramp().Floor) }, func(p *Page, by int) error {
		return p.along.SetRamp(p.ramp().From(p.ramp().Floor + 2*float64(by)))
	}},
	{"Tempo to", func(p *Page) string { return fmt.Sprintf("%g BPM", p.ramp().Target) }, func(p *Page, by int) error {
		return p.along.SetRamp(p.ramp().To(p.ramp().Target + 2*float64(by)))
	}},
	{"Tempo step", func(p *Page) string { return fmt.Sprintf("%g BPM", p.ramp().Step) }, func(p *Page, by int) error {
		return p.along.SetRamp(p.ramp().By(p.ramp().Step + float64(by)))
	}},
	{"Faster", func(p *Page) string { return paces[paceOf(p.ramp())] }, func(p *Page, by int) error {
		return p.along.SetRamp(inPace(p.ramp(), turned(paceOf(p.ramp()), by, len(paces))))
	}},
	{"Between", func(p *Page) string {
		if p.along.Rests() {
			return "a bar of rest after each pass"
		}
		return "no rest"
	}, func(p *Page, _ int) error {
		p.along.SetRest(!p.along.Rests())
		return nil
	}},
	{"You hear", func(p *Page) string { return heardNames[heardOf(p.along.Mix())] }, func(p *Page, by int) error {
		m := p.along.Mix()
		for range turned(0, by, len(heardNames)) {
			m = nextHeard(m)
		}
		p.along.SetMix(m)
		return nil
	}},
	{"Time by", func(p *Page) string { return timeWords[p.along.Time().Background] }, func(p *Page, by int) error {
		t := p.along.Time()
		t.Background = playing.Background(turned(int(t.Background), by, len(timeWords)))
		p.along.SetTime(t)
		return nil
	}},
	{"Click", func(p *Page) string { return "on " + p.along.Click().String() }, func(p *Page, by int) error {
		p.along.SetClick(playing.Click(turned(int(p.along.Click()), by, len(playing.ClickNames))))
		return nil
	}},
	{"Dead notes", func(p *Page) string {
		if p.along.Ghosts() {
			return "between the notes of the line"
		}
		return "none"
	}, func(p *Page, _ int) error { return p.along.SetGhosts(!p.along.Ghosts()) }},
}

// timeWords are what keeps time, in the order of playing.BackgroundNames.
var timeWords = []string{"a click, above 100 BPM a hi-hat", "a click", "a hi-hat on two and four", "brushes"}

func (p *Page) ramp() ramp.Ramp { return p.along.Progress().Ramp }

// turned goes on by a step among n things, round and round.
func turned(at, by, n int) int { return ((at+by)%n + n) % n }

// paces are when the next pass is faster: the modes of a ramp, with the rungs of a
// ladder from 1 to 9 among them.
var paces = []string{
	"never", "after each pass", "after a clean pass, slower after another", "after 2 clean passes", "after 3 clean passes", "after 4 clean passes",
	"after 5 clean passes", "after 6 clean passes", "after 7 clean passes", "after 8 clean passes", "after 9 clean passes", "slow and fast in turn",
}

// firstRung is the place in paces of a ladder with one rung.
const firstRung = 2

func paceOf(r ramp.Ramp) int {
	switch r.Mode {
	case ramp.Up:
		return 1
	case ramp.Ladder:
		return firstRung + r.Rungs - 1
	case ramp.Alternate:
		return len(paces) - 1
	}
	return 0
}

func inPace(r ramp.Ramp, pace int) ramp.Ramp {
	switch pace {
	case 0:
		return r.In(ramp.Target, r.Rungs)
	case 1:
		return r.In(ramp.Up, r.Rungs)
	case len(paces) - 1:
		return r.In(ramp.Alternate, r.Rungs)
	}
	return r.In(ramp.Ladder, pace-firstRung+1)
}

// stepSection goes on to the next section, or the whole form.
func stepSection(p *Page, by int) error {
	all := []take.Bars{{First: 1, Last: len(p.form)}}
	for _, part := range p.along.Parts() {
		if !slices.Contains(all, part.Bars) {
			all = append(all, part.Bars)
		}
	}
	at := slices.Index(all, p.along.Bars())
	if at < 0 && by > 0 {
		at = len(all) - 1
	}
	p.along.SetLoop(all[turned(at, by, len(all))])
	return nil
}

// stepLayer goes on to the next layer, the free one last.
func stepLayer(p *Page, by int) error {
	free := int(fretboard.BassHalves) + 1
	at := int(p.along.Arrangement().Layer)
	if p.along.Free() {
		at = free
	}
	if at = turned(at, by, free+1); at == free {
		return p.along.SetFree(true)
	}
	return p.along.SetLayer(fretboard.Layer(at))
}

func (u *setUp) keys(t *theme.Theme) []key.Binding {
	number := page.Number.Key(t, "type the bar")
	number.SetEnabled(barRows[choices[u.at].name] != nil)
	return []key.Binding{page.UpDown.Key(t, "choose"), page.Across.Key(t, "change it"), number, page.Switch.Key(t, "play/pause"), page.Act.Key(t, "back to the music"),
		page.FirstLast.Key(t, "first, last"), page.PageUpDown.Key(t, "a page up, down")}
}

func (u *setUp) key(p *Page, msg tea.KeyMsg) {
	p.fault = ""
	if u.types(p, msg) {
		return
	}
	u.typed = 0
	switch {
	case page.Act.Is(msg):
		p.setUp = nil
	case page.Switch.Is(msg):
		p.toggle()
	default:
		switch msg.String() {
		case "up":
			u.at = turned(u.at, -1, len(choices))
		case "down":
			u.at = turned(u.at, 1, len(choices))
		case "left":
			p.tell(choices[u.at].step(p, -1))
		case "right":
			p.tell(choices[u.at].step(p, 1))
		default:
			u.at = page.Moved(msg, u.at, len(choices), len(choices)/2)
		}
	}
}

// types takes a digit of the number of a bar; one that the form has no bar for begins
// another number.
func (u *setUp) types(p *Page, msg tea.KeyMsg) bool {
	digit, err := strconv.Atoi(msg.String())
	played := barRows[choices[u.at].name]
	if err != nil || played == nil {
		return false
	}
	if u.typed == 0 {
		u.before = p.along.Bars()
	}
	if u.typed = 10*u.typed + digit; u.typed > len(p.form) {
		u.typed = min(digit, len(p.form))
	}
	if u.typed > 0 {
		p.along.SetLoop(played(u.before, u.typed))
	}
	return true
}

// view lists the choices in so many rows, the one that the arrow keys change marked.
func (u *setUp) view(p *Page, rows int) []string {
	t := p.theme
	var lines []string
	if p.fault != "" {
		lines = append(lines, "  "+t.Warn.Render(t.Words(p.fault)))
	}
	rows = max(1, rows-len(lines))
	u.top = min(max(u.top, u.at-rows+1), u.at, max(0, len(choices)-rows))
	for i := u.top; i < min(len(choices), u.top+rows); i++ {
		value := t.Words(choices[i].value(p))
		line := "    " + t.Dim.Render(fmt.Sprintf("%-10s", choices[i].name)) + " " + value
		if i == u.at {
			line = "  " + t.Selected.Render(fmt.Sprintf("%s %-10s", t.Glyphs.Pointer, choices[i].name)) + " " + t.Strong.Render(value)
		}
		lines = append(lines, page.Clickable(page.Row, i, line))
	}
	return lines
}
