// Package arrangement is the page that walks through a tune's arrangement: each
// bar with its beats, what is played on them, and where on the neck. It shows
// what fretboard has arranged and works out no music.
package arrangement

import (
	"fmt"
	"slices"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/trainer/screen/bars"
	"footfall/trainer/screen/neck"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
)

// Page walks through one tune.
type Page struct {
	theme *theme.Theme
	neck  fretboard.Neck
	hand  fretboard.Hand
	// school is what the shapes are drawn from.
	school fretboard.School
	tune   *tune.Tune
	// written is the tune in the key it was written in; shift moves it by
	// semitones.
	written *tune.Tune
	shift   int
	layer   fretboard.Layer
	bars    []tune.FormBar
	a       *fretboard.Arrangement
	fault   error
	folded  int
	// moments are the places in time at which something is played, each with the
	// range of its events; at is the one shown.
	moments []moment
	at      int
	// choice is which of the shapes of the hit at hand is shown, 0 for the
	// arrangement's own.
	choice int
	// fingers is set while fingers stand on the neck, in the place of degrees.
	fingers bool
	// pins are what takes back the shapes that were pinned, the last one last, and said is
	// what the last key led to.
	pins   []func() error
	said   string
	doors  Doors
	width  int
	height int
}

type moment struct {
	at    tune.Position
	first int
	last  int
}

// Doors is where the page leads.
type Doors struct {
	// Play plays the tune along.
	Play func()
	// Pin writes a shape into the tune's shapes row and saves it: at a bar of a section and
	// a beat, both counted from 1, as the tune is written. It returns what takes it back.
	Pin func(section string, bar, beat int, frets string) (undo func() error, err error)
	// Tune is the tune as it stands now.
	Tune func() *tune.Tune
}

// New makes the page of a tune on a neck.
func New(t *theme.Theme, n fretboard.Neck, h fretboard.Hand, school fretboard.School, tn *tune.Tune, doors Doors) *Page {
	p := &Page{theme: t, neck: n, hand: h, school: school, written: tn, layer: fretboard.BassHalves, doors: doors}
	p.arrange()
	return p
}

// arrange works the arrangement out anew and stays at the same place in it.
func (p *Page) arrange() {
	var here tune.Position
	if p.at < len(p.moments) {
		here = p.moments[p.at].at
	}
	p.moments, p.at, p.folded, p.choice = nil, 0, 0, 0
	if p.shift == 0 {
		p.a, p.fault = fretboard.Arrange(p.written, p.neck, p.hand, p.layer, fretboard.InSchool(p.school))
	} else {
		p.a, p.folded, p.fault = fretboard.ArrangeInKey(p.written, p.key(), p.neck, p.hand, p.layer, fretboard.InSchool(p.school))
	}
	if p.fault != nil {
		return
	}
	p.tune = p.a.Tune
	p.bars = p.tune.Unroll()
	for i := range p.a.Events {
		if n := len(p.moments); n > 0 && p.moments[n-1].at == p.a.Events[i].When() {
			p.moments[n-1].last = i
			continue
		}
		p.moments = append(p.moments, moment{p.a.Events[i].When(), i, i})
	}
	p.goTo(here)
}

// goTo stands on the last moment that is not after a place.
func (p *Page) goTo(to tune.Position) {
	p.at = 0
	for i, m := range p.moments {
		if m.at.After(to) {
			break
		}
		p.at = i
	}
}

// key is the key shown.
func (p *Page) key() harmony.Key { return p.written.Key.Up(p.shift) }

// Init does nothing: the page waits for keys.
func (p *Page) Init() tea.Cmd { return nil }

// SetSize gives the page its room.
func (p *Page) SetSize(width, height int) { p.width, p.height = width, height }

// Title names the page and the tune.
func (p *Page) Title() string { return page.Titled(p.theme, "arrangement", p.written.Title) }

// Status says the bar, the key and the layer.
func (p *Page) Status() string {
	status := fmt.Sprintf("%s %s %s", p.key(), p.theme.Glyphs.Dot, p.layer.Title())
	if p.school != fretboard.Mixed {
		status += " " + p.theme.Glyphs.Dot + " " + p.school.String()
	}
	if len(p.moments) > 0 {
		status = fmt.Sprintf("bar %d of %d %s %s", p.moments[p.at].at.Bar, len(p.bars), p.theme.Glyphs.Dot, status)
	}
	return status
}

// Keys lists the page's keys: last those for shapes where the layer has none, and the one
// that takes a pin back while there is none.
func (p *Page) Keys() []key.Binding {
	t := p.theme
	shapes := []key.Binding{page.Choose.Key(t, "next shape"), page.Act.Key(t, "pin it")}
	back := []key.Binding{page.Undo.Key(t, "take the pin back")}
	line := []key.Binding{page.UpDown.Key(t, "line")}
	rest := []key.Binding{
		page.PlayAlong.Key(t, "play along"), page.Layer.Key(t, "layer"), page.School.Key(t, "school"), page.Next.Key(t, "a bar on"), page.Before.Key(t, "a bar back"),
		page.SemitoneUp.Key(t, "a half step up"), page.SemitoneDown.Key(t, "a half step down"), page.FirstLast.Key(t, "first bar, last"), page.PageUpDown.Key(t, "four bars back, on"),
		page.ChooseBack.Key(t, "shape before"), page.Fingers.Key(t, "fingers or degrees"),
	}
	beat := []key.Binding{page.Across.Key(t, "beat")}
	switch {
	case p.layer == fretboard.Bass:
		return slices.Concat(beat, line, rest, shapes, back)
	case len(p.pins) == 0:
		return slices.Concat(beat, shapes, line, rest, back)
	}
	return slices.Concat(beat, shapes, line, back, rest)
}

// Update takes a key.
func (p *Page) Update(msg tea.Msg) tea.Cmd {
	if c, ok := msg.(page.Clicked); ok && p.hit() >= 0 {
		to, acts := page.Picked(c, p.choice, len(p.a.Choices(p.hit())))
		if p.choice = to; acts {
			p.pin()
		}
	}
	if _, ok := msg.(page.Changed); ok {
		p.changed()
	}
	k, ok := msg.(tea.KeyMsg)
	if !ok {
		return nil
	}
	p.said = ""
	switch {
	case page.Undo.Is(k):
		p.undo()
		return nil
	case page.Choose.Is(k):
		p.choose(1)
		return nil
	case page.ChooseBack.Is(k):
		p.choose(-1)
		return nil
	case page.Act.Is(k):
		p.pin()
		return nil
	case page.PlayAlong.Is(k):
		p.doors.Play()
		return nil
	case page.Fingers.Is(k):
		p.fingers = !p.fingers
		return nil
	}
	at := p.at
	defer func() {
		if p.at != at {
			p.choice = 0
		}
	}()
	switch {
	case page.Layer.Is(k):
		p.layer = (p.layer + 1) % (fretboard.BassHalves + 1)
		p.arrange()
	case page.School.Is(k):
		p.school = (p.school + 1) % (fretboard.Drop3s + 1)
		p.arrange()
	case page.SemitoneUp.Is(k):
		p.transpose(1)
	case page.SemitoneDown.Is(k):
		p.transpose(-1)
	default:
		switch k.String() {
		case "home":
			p.at = 0
		case "end":
			p.at = max(0, len(p.moments)-1)
			p.bar(0)
		case "left":
			p.at = max(0, p.at-1)
		case "right":
			p.at = min(max(0, len(p.moments)-1), p.at+1)
		case "shift+tab":
			p.bar(-1)
		case "tab":
			p.bar(1)
		case "pgup", "pgdown":
			for range 4 {
				p.bar(map[string]int{"pgup": -1, "pgdown": 1}[k.String()])
			}
		case "up", "down":
			if len(p.moments) > 0 {
				p.goTo(bars.Below(p.theme, p.chart(0), map[string]int{"up": -1, "down": 1}[k.String()]))
			}
		}
	}
	return nil
}

// changed arranges the tune anew where it is another by now.
func (p *Page) changed() {
	if now := p.doors.Tune(); now != p.written {
		p.written = now
		p.arrange()
	}
}

func (p *Page) transpose(by int) {
	p.shift = (p.shift+by+17)%12 - 5
	p.arrange()
}

// bar goes to the first moment of the next bar that has one, or back.
func (p *Page) bar(by int) {
	if len(p.moments) == 0 {
		return
	}
	here := p.moments[p.at].at.Bar
	i := p.at
	for by != 0 && i+by >= 0 && i+by < len(p.moments) && p.moments[i].at.Bar == here {
		i += by
	}
	for i > 0 && p.moments[i-1].at.Bar == p.moments[i].at.Bar {
		i--
	}
	p.at = i
}

// roomy is the rows from which the hand and the legend stand below the neck.
const roomy = 26

// leastBars is the rows of one line of bars at most, the blank one below counted.
const leastBars = 7

// View draws the bar, the neck and a line about what is played.
func (p *Page) View() string {
	if p.fault != nil {
		return "  " + p.theme.Warn.Render("This cannot be played as it is.") + "\n\n  " +
			strings.ReplaceAll(page.Wrapped(p.theme.Words(p.fault.Error()), p.width-4), "\n", "\n  ")
	}
	if len(p.moments) == 0 {
		return "  This tune has no bass row yet, so there is nothing to arrange."
	}
	m := p.moments[p.at]
	var below []string
	for _, l := range strings.Split(p.drawNeck(m), "\n") {
		below = append(below, "  "+l)
	}
	if p.height >= roomy && !p.fingers {
		below = append(below, "  "+neck.Legend(p.theme, p.width-4, "here", fretboard.Right, fretboard.Next, fretboard.Anchor))
	}
	neckRows := len(below)
	below = append(append(below, ""), p.says(m)...)
	if p.said != "" {
		for l := range strings.SplitSeq(page.Wrapped(p.theme.Words(p.said), p.width-4), "\n") {
			below = append(below, "  "+p.theme.Strong.Render(l))
		}
	}
	if p.folded > 0 && len(below) < p.height-leastBars {
		below = append(below, p.theme.Dim.Render(fmt.Sprintf("  The line is folded at %s in this key, to stay on the bass strings.", map[bool]string{true: "one note", false: fmt.Sprint(p.folded, " notes")}[p.folded == 1])))
	}
	rest := len(below) - neckRows
	if p.layer != fretboard.Bass {
		rest = max(rest+1+leastList, steadyRest)
	}
	lines := bars.Draw(p.theme, p.chart(p.height-1-neckRows-rest))
	lines = append(append(lines, ""), below...)
	if hit, room := p.hit(), p.height-len(lines)-1; hit >= 0 && room >= leastList {
		lines = append(append(lines, ""), neck.Choices(p.theme, p.neck, p.a.Events[hit].Chord, p.a.Choices(hit), p.choice, room)...)
	}
	return strings.Join(page.Squeezed(lines, p.height), "\n")
}

// chart is the bars, in so many rows.
func (p *Page) chart(rows int) bars.Chart {
	return bars.Chart{
		Arrangement: p.a, Form: p.bars, First: 1, Last: len(p.bars), At: p.moments[p.at].at, Picked: true, Width: p.width, Height: rows,
	}
}

// leastList is the rows, its heading included, that a list of choices is worth.
const leastList = 3

// steadyRest is the rows that are kept below the neck for the words and the list of choices,
// so that the bars stand where they are from beat to beat.
const steadyRest = 10

// shown is an event of the moment as it is with the shape that is chosen.
func (p *Page) shown(i int) *fretboard.Event {
	e := p.a.Events[i]
	if hit := p.hit(); hit >= 0 && p.choice > 0 {
		c := p.a.Choices(hit)[p.choice]
		e.Place = c.Place
		if at := len(c.Fingers) - c.Place.String; at >= 0 {
			e.Finger = c.Fingers[at]
		}
		if i == hit {
			e.Frets, e.Fingers = c.Frets, c.Fingers
		}
	}
	return &e
}

func (p *Page) drawNeck(m moment) string {
	var marks []fretboard.Mark
	near := p.a.Around(m.at, 1, len(p.bars))
	mark := func(e *fretboard.Event, role fretboard.Role) {
		marks = append(marks, neck.Event(p.neck, e, p.fingers, role)...)
	}
	for i := range p.a.Events {
		if e := &p.a.Events[i]; e.At.Bar == m.at.Bar && e.Kind == fretboard.BassEvent && (i < m.first || i > m.last) {
			mark(e, fretboard.Anchor)
		}
	}
	for i := m.last + 1; i < len(p.a.Events); i++ {
		e := &p.a.Events[i]
		if e.Kind == fretboard.BassEvent {
			mark(e, fretboard.Next)
			break
		}
	}
	near.Now = nil
	for i := m.first; i <= m.last; i++ {
		e := p.shown(i)
		near.Now = append(near.Now, e)
		switch {
		case p.choice > 0 && i == p.hit():
			mark(&p.a.Events[i], fretboard.Plain)
			mark(e, fretboard.Right)
		case p.choice == 0 || e.Kind == fretboard.ShapeEvent:
			mark(e, fretboard.Right)
		}
	}
	drawing := neck.Drawing{Neck: p.neck, Marks: marks, Width: p.width - 4, Height: p.height / 3, Degrees: !p.fingers}
	if at, to := p.a.HandAt(near); at > 0 && p.height >= roomy {
		drawing.Hand = &neck.Hand{At: at, To: to}
	}
	return neck.Draw(p.theme, drawing)
}

// says puts the moment into words: the bass note, then the shape and what it
// does.
func (p *Page) says(m moment) []string {
	var lines []string
	for i := range m.last + 1 - m.first {
		e := p.shown(m.first + i)
		if e.Kind == fretboard.BassEvent {
			lines = append(lines, fmt.Sprintf("%s of %s: %s, string %d fret %d%s", e.Degree, e.Chord, e.Note.Note, e.Place.String, e.Place.Fret, fingerWords(e.Finger)))
			continue
		}
		if p.choice > 0 && m.first+i == p.hit() {
			lines = append(lines, p.chosen(m.first+i)...)
			continue
		}
		pinned := ""
		if row := p.bars[e.At.Bar-1].Bar.Shapes; e.At.Beat <= len(row) && row[e.At.Beat-1].Frets != nil {
			pinned = ", pinned"
		}
		lines = append(lines, fmt.Sprintf("%s%s: %s", fretboard.FormatFrets(e.Frets), pinned, p.a.Says(m.first+i)))
	}
	for i, l := range lines {
		lines[i] = "  " + strings.ReplaceAll(page.Wrapped(p.theme.Words(l), p.width-4), "\n", "\n  ")
	}
	return strings.Split(strings.Join(lines, "\n"), "\n")
}

func fingerWords(finger int) string {
	if finger == 0 {
		return ", open"
	}
	return fmt.Sprintf(", finger %d", finger)
}
