// Package shapes is the screen that leafs through the shapes of a chord above a
// bass degree, best first, each on the neck with what it is and does, and through one
// shape's octave and inversions up the neck. It asks the fretboard for all of them
// and works out no music.
package shapes

import (
	"fmt"
	"slices"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"

	"footfall/fretboard"
	"footfall/harmony"
	"footfall/trainer/screen/neck"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
)

// First is the chord that the page opens with where none is named.
const First = "Dm7"

// longestSymbol is how many characters may be typed.
const longestSymbol = 20

// Page is the screen.
type Page struct {
	theme  *theme.Theme
	neck   fretboard.Neck
	hand   fretboard.Hand
	width  int
	height int

	chord  harmony.Chord
	basses []harmony.Degree // the first is the zero degree: any
	bass   int
	shapes []fretboard.Shape
	shape  int
	// best and from are the shapes and the one shown before those of a family up the
	// neck; best is nil where no family is shown.
	best []fretboard.Shape
	from int

	// fingered is set while fingers stand on the neck, in the place of degrees.
	fingered bool
	typing   bool
	text     string
	fault    string
}

// New makes the page for a chord symbol, First where it is empty. The error
// says why it cannot be read.
func New(t *theme.Theme, n fretboard.Neck, h fretboard.Hand, symbol string) (*Page, error) {
	p := &Page{theme: t, neck: n, hand: h, width: 80, height: 20}
	if symbol == "" {
		symbol = First
	}
	if err := p.take(symbol); err != nil {
		return nil, err
	}
	return p, nil
}

// take turns to a chord, on any of its tones.
func (p *Page) take(symbol string) error {
	c, err := harmony.ParseChord(symbol)
	if err != nil {
		return fmt.Errorf("%q: %w", symbol, err)
	}
	if c.None {
		return fmt.Errorf("%s is no chord, so it has no shapes: type a symbol such as %s", c.Symbol, First)
	}
	p.chord = c
	p.basses = append([]harmony.Degree{{}}, fretboard.BassDegrees(c)...)
	for midi := range 12 {
		d := c.DegreeOf(c.Root.Semitone() + midi)
		same := func(e harmony.Degree) bool { return e.Number > 0 && (e.Semitones()-d.Semitones())%12 == 0 }
		if !slices.ContainsFunc(p.basses, same) {
			p.basses = append(p.basses, d)
		}
	}
	p.turn(0)
	return nil
}

// turn looks for the shapes on a bass degree.
func (p *Page) turn(bass int) {
	p.bass, p.shape, p.best = bass, 0, nil
	p.shapes = p.neck.Shapes(p.hand, fretboard.Query{Chord: p.chord, Bass: p.basses[bass]})
}

// along turns to the family of the shape that is shown, or back from it.
func (p *Page) along() {
	if p.best != nil {
		p.shapes, p.shape, p.best = p.best, p.from, nil
		return
	}
	if len(p.shapes) == 0 {
		return
	}
	shown := p.shapes[p.shape]
	family, err := p.neck.Along(p.hand, p.chord, shown.Frets)
	if err != nil {
		p.fault = "No family up the neck: " + err.Error() + "."
		return
	}
	p.best, p.from, p.shapes = p.shapes, p.shape, family
	p.shape = max(0, slices.IndexFunc(family, func(s fretboard.Shape) bool { return slices.Equal(s.Frets, shown.Frets) }))
}

// Init does nothing.
func (p *Page) Init() tea.Cmd { return nil }

// SetSize takes the room there is.
func (p *Page) SetSize(width, height int) { p.width, p.height = width, height }

// Title names the chord.
func (p *Page) Title() string { return page.Titled(p.theme, "shapes", p.chord.Symbol) }

// Status counts the shapes.
func (p *Page) Status() string {
	if len(p.shapes) == 0 {
		return "no shape"
	}
	if p.best != nil {
		return fmt.Sprintf("place %d of %d up the neck", p.shape+1, len(p.shapes))
	}
	return fmt.Sprintf("shape %d of %d", p.shape+1, len(p.shapes))
}

// Keys lists the keys.
func (p *Page) Keys() []key.Binding {
	if p.typing {
		return []key.Binding{page.Act.Key(p.theme, "look for its shapes")}
	}
	if p.best != nil {
		return []key.Binding{
			page.Across.Key(p.theme, "along the neck"), page.View.Key(p.theme, "all shapes"), page.UpDown.Key(p.theme, "down, up the list"),
			page.Act.Key(p.theme, "another chord"), page.FirstLast.Key(p.theme, "lowest, highest"), page.PageUpDown.Key(p.theme, "a page up, down"), page.Fingers.Key(p.theme, "fingers or degrees"),
		}
	}
	return []key.Binding{
		page.UpDown.Key(p.theme, "shape"), page.Across.Key(p.theme, "bass"), page.View.Key(p.theme, "up neck"),
		page.Act.Key(p.theme, "chord"), page.FirstLast.Key(p.theme, "best, last"), page.PageUpDown.Key(p.theme, "a page up, down"), page.Fingers.Key(p.theme, "fingers or degrees"),
	}
}

// Typing reports whether a chord symbol is being typed.
func (p *Page) Typing() bool { return p.typing }

// Step ends typing without a change.
func (p *Page) Step() (bool, tea.Cmd) {
	was := p.typing
	p.typing, p.fault = false, ""
	return was, nil
}

// Update takes keys.
func (p *Page) Update(msg tea.Msg) tea.Cmd {
	if c, ok := msg.(page.Clicked); ok && !p.typing {
		p.fault = ""
		p.shape, _ = page.Picked(c, p.shape, len(p.shapes))
		if c.On == page.Tab && c.N < len(p.basses) {
			p.turn(c.N)
		}
	}
	k, ok := msg.(tea.KeyMsg)
	switch {
	case !ok:
	case p.typing:
		p.typed(k)
	case page.View.Is(k):
		p.fault = ""
		p.along()
	case page.Fingers.Is(k):
		p.fault = ""
		p.fingered = !p.fingered
	default:
		p.fault = ""
		p.pressed(k)
	}
	return nil
}

// leafed is how many shapes a page of them is.
const leafed = 10

func (p *Page) pressed(k tea.KeyMsg) {
	switch k.String() {
	case "right", "left":
		by := map[string]int{"left": -1, "right": 1}[k.String()]
		if p.best == nil {
			p.turn((p.bass + by + len(p.basses)) % len(p.basses))
			return
		}
		if p.neck.LeftHanded { // whose higher frets are drawn at the left
			by = -by
		}
		p.shape = max(0, min(len(p.shapes)-1, p.shape+by))
	case "enter":
		p.typing, p.text, p.fault = true, "", ""
	default:
		p.shape = max(0, page.Moved(k, p.shape, len(p.shapes), leafed))
	}
}

func (p *Page) typed(k tea.KeyMsg) {
	p.fault = ""
	switch k.Type {
	case tea.KeyEnter:
		if strings.TrimSpace(p.text) != "" {
			if err := p.take(p.text); err != nil {
				p.fault = err.Error()
				return
			}
		}
		p.typing = false
	case tea.KeyBackspace:
		if r := []rune(p.text); len(r) > 0 {
			p.text = string(r[:len(r)-1])
		}
	case tea.KeyRunes, tea.KeySpace:
		if len([]rune(p.text))+len(k.Runes) <= longestSymbol {
			p.text += string(k.Runes)
		}
	}
}

// View draws the page: as much below the neck as there is room for, and a list
// of the shapes where there is more.
func (p *Page) View() string {
	drawing := neck.Drawing{Neck: p.neck, Width: p.width - 4, Height: p.height / 3, Degrees: !p.fingered}
	if len(p.shapes) == 0 {
		return strings.Join([]string{
			p.asked(), "", indent(neck.Draw(p.theme, drawing)), "", p.lines("No shape on this degree fits the hand. Another bass degree may."),
		}, "\n")
	}
	s := p.shapes[p.shape]
	drawing.Marks = p.marks(s)
	wide := ""
	if s.SpanMM > p.hand.ReachMM {
		wide = ", past yours"
	}
	facts := fmt.Sprintf("  %s   %s %s   %s %s   %s %s%s", p.theme.Strong.Render(s.String()),
		p.theme.Dim.Render("degrees"), words(s), p.theme.Dim.Render("fingers"), fingers(s), p.theme.Dim.Render("reach"), reach(s), wide)
	view := strings.Join([]string{
		p.asked(), "", indent(neck.Draw(p.theme, drawing)), "", facts, "", p.lines(sentence(p.neck.ReadOver(s.Frets, p.chord).Says)),
	}, "\n")
	if names := p.otherNames(s); names != "" {
		if more := view + "\n\n" + p.lines(names); lipgloss.Height(more) <= p.height {
			view = more
		}
	}
	if room := p.height - lipgloss.Height(view) - 2; room >= leastList {
		view += "\n\n" + strings.Join(p.list(room), "\n")
	}
	return view
}

// leastList is the rows, its heading included, that a list of shapes is worth.
const leastList = 6

// list draws the shapes around the one shown.
func (p *Page) list(room int) []string {
	line := func(pointer, no, frets, degrees, fingers, reach string) string {
		return fmt.Sprintf("  %s %5s  %-*s  %-20s  %-16s  %s", pointer, no, 3*len(p.neck.Tuning)-1, frets, degrees, fingers, reach)
	}
	lines := []string{p.theme.Dim.Render(line(" ", "shape", "frets", "degrees", "fingers", "reach"))}
	count := min(len(p.shapes), room-1)
	first := max(0, min(p.shape-count/2, len(p.shapes)-count))
	for i := first; i < first+count; i++ {
		s := p.shapes[i]
		pointer, look := " ", p.theme.Text
		if i == p.shape {
			pointer, look = p.theme.Glyphs.Pointer, p.theme.Selected
		}
		lines = append(lines, page.Clickable(page.Row, i, look.Render(line(pointer, fmt.Sprint(i+1), s.String(), words(s), fingers(s), reach(s)))))
	}
	return lines
}

// asked is the line of what is looked at: the chord and its bass degrees.
func (p *Page) asked() string {
	if p.typing {
		line := "  " + p.theme.Dim.Render("chord") + " " + p.theme.Strong.Render(p.text+p.theme.Glyphs.Caret)
		if p.fault != "" {
			return line + "\n\n" + p.theme.Warn.Render(p.lines(p.fault))
		}
		return line + "   " + p.theme.Dim.Render("a symbol such as G7 or Bbmaj7, then enter")
	}
	if p.fault != "" {
		return p.theme.Warn.Render(p.lines(p.fault))
	}
	line := "  " + p.theme.Dim.Render("bass")
	for i, d := range p.basses {
		text := d.String()
		switch {
		case i > 0:
		case p.chord.Bass != p.chord.Root:
			text = p.chord.Bass.String()
		default:
			text = "any"
		}
		tab := p.theme.Dim.Render(" " + text + " ")
		if i == p.bass {
			tab = p.theme.Selected.Render("[" + text + "]")
		}
		line += " " + page.Clickable(page.Tab, i, tab)
	}
	return line
}

// otherNames lists the other chords that the shape may be.
func (p *Page) otherNames(s fretboard.Shape) string {
	var names []string
	for _, r := range p.neck.Read(s.Frets) {
		if len(names) < 5 {
			names = append(names, r.Chord.Symbol)
		}
	}
	if len(names) == 0 {
		return ""
	}
	return "By itself: " + strings.Join(names, ", ") + "."
}

// lines wraps a text into the page.
func (p *Page) lines(text string) string {
	return indent(page.Wrapped(p.theme.Words(text), max(20, p.width-4)))
}

func indent(text string) string { return "  " + strings.ReplaceAll(text, "\n", "\n  ") }

func sentence(s string) string { return strings.ToUpper(s[:1]) + s[1:] + "." }

// marks puts a shape's degrees on the neck, or its fingers, its bass as the anchor, and an x at
// the nut of a string that is not played.
func (p *Page) marks(s fretboard.Shape) []fretboard.Mark {
	var ms []fretboard.Mark
	sounding := 0
	for i, f := range s.Frets {
		str := len(s.Frets) - i
		if f < 0 {
			ms = append(ms, fretboard.Mark{Place: fretboard.Place{String: str}, Text: "x"})
			continue
		}
		m := fretboard.Mark{Place: fretboard.Place{String: str, Fret: f}, Text: s.Degrees[sounding].String()}
		if p.fingered {
			m.Text = fmt.Sprint(s.Fingers[i])
		}
		if sounding == 0 {
			m.Role = fretboard.Anchor
		}
		ms = append(ms, m)
		sounding++
	}
	return ms
}

func words(s fretboard.Shape) string {
	return strings.Join(harmony.Spelled(s.Degrees), " ")
}

// reach is how far apart the fingers stand.
func reach(s fretboard.Shape) string {
	if s.SpanMM == 0 {
		return "one fret"
	}
	return fmt.Sprintf("%.0f mm", s.SpanMM)
}

// fingers writes the fingers of the sounding strings, 0 for an open one.
func fingers(s fretboard.Shape) string {
	var texts []string
	for i, f := range s.Frets {
		if f >= 0 {
			texts = append(texts, fmt.Sprint(s.Fingers[i]))
		}
	}
	return strings.Join(texts, " ")
}
