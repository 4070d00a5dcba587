// Package tuneroom is the page on which a tune is edited: its rows in place, a
// line composed and judged, undo without end, and the file replaced whole. It
// shows what the pure rooms work out and keeps a draft of what is not saved.
package tuneroom

import (
	"errors"
	"fmt"
	"time"

	"github.com/charmbracelet/bubbles/cursor"
	"github.com/charmbracelet/bubbles/key"
	"github.com/charmbracelet/bubbles/textinput"
	tea "github.com/charmbracelet/bubbletea"

	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/harmony/tune/edit"
	"footfall/harmony/walk"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
	"footfall/trainer/tunebook"
)

// Room is what a tune room is made of.
type Room struct {
	Theme *theme.Theme
	Neck  fretboard.Neck
	Hand  fretboard.Hand
	// School is what shapes are drawn from.
	School fretboard.School
	// WalkingHand is the hand as composing and criticism know it.
	WalkingHand walk.Hand
	// Text is the tune, File where it is saved, Draft where it is kept until then.
	Text  string
	File  *tunebook.File
	Draft *tunebook.Draft
	// BuiltIn is set where the tune comes with the program and the file is one of
	// the player's own.
	BuiltIn bool
	// Hear plays the tune as it stands, Saved is told what was saved.
	Hear  func(*tune.Tune)
	Saved func(*tune.Tune)
	Move  func(tea.Msg)
}

// Page edits one tune.
type Page struct {
	Room
	doc   *edit.Document
	saved string // the text in the file
	keys  keys
	width int
	// height is the rows there are.
	height int

	typing bool
	input  textinput.Model
	// would is the tune that what is typed leads to, refused why there is none.
	would   *tune.Tune
	refused error

	// anchor is the written bar where the selection starts, −1 without one.
	anchor int
	style  walk.Style
	// composed is what was composed last, so that the next time brings another line.
	composed composed
	ended    ended
	judging  bool
	found    *found
	// choosing is set while a shape is chosen for the hit at the place.
	choosing *choosing
	// said is what the last key led to.
	said    string
	version int
	// trouble says why no draft is kept.
	trouble string
	now     *sounding
}

// composed is a composed line: the bars asked for and the notes' reasons while
// the text is as it was composed.
type composed struct {
	bars    edit.Range
	style   walk.Style
	seed    uint64
	text    string
	reasons map[spot]string
	// seen are the lines that these bars have had.
	seen map[string]bool
}

// found is unsaved work of an earlier time.
type found struct {
	text string
	at   time.Time
}

// New makes the page. The error is that of a text that is no tune, or of a draft
// that cannot be read.
func New(r Room) (*Page, error) {
	doc, faults := edit.Open(r.Text)
	if len(faults) > 0 {
		return nil, fmt.Errorf("%s is no tune yet: %w", r.File.Path(), faults[0])
	}
	p := &Page{Room: r, doc: doc, saved: doc.Text(), keys: newKeys(r.Theme), anchor: -1, input: textinput.New(), width: 80, height: 20}
	p.input.Prompt = ""
	p.input.Cursor.SetMode(cursor.CursorStatic) // the caret is drawn here, and does not blink
	text, at, ok, err := r.Draft.Found()
	if err != nil {
		return nil, err
	}
	if work, faults := edit.Open(text); ok && len(faults) == 0 && work.Text() != p.saved {
		p.found = &found{text: text, at: at}
	}
	doc.GoTo(edit.Place{Row: tune.BassRow})
	return p, nil
}

// Init does nothing.
func (p *Page) Init() tea.Cmd { return nil }

// SetSize gives the page its room.
func (p *Page) SetSize(width, height int) { p.width, p.height = width, height }

// Title names the tune.
func (p *Page) Title() string { return page.Titled(p.Theme, "edit", p.doc.Tune().Title) }

// Status says the key, the style of composing, and whether all is saved.
func (p *Page) Status() string {
	saved := "saved"
	switch {
	case p.unsaved():
		saved = "not saved"
	case p.BuiltIn && p.File.Text() == "":
		saved = "built in"
	}
	return fmt.Sprintf("%s %s %s line %s %s", p.doc.Tune().Key, p.Theme.Glyphs.Dot, p.style, p.Theme.Glyphs.Dot, saved)
}

func (p *Page) unsaved() bool { return p.doc.Text() != p.saved }

// Steps returns how many steps undo and redo can go.
func (p *Page) Steps() (undo, redo int) { return p.doc.Steps() }

// Typing reports whether keys are text.
func (p *Page) Typing() bool { return p.typing }

// Step leaves what is typed, the remarks or the selection.
func (p *Page) Step() (bool, tea.Cmd) {
	switch {
	case p.typing:
		p.stopTyping()
	case p.chosen() != nil:
		p.choosing = nil
	case p.judging:
		p.judging = false
	case p.anchor >= 0:
		p.anchor = -1
	default:
		return false, nil
	}
	return true, nil
}

// Leave keeps what is not saved, and says so.
func (p *Page) Leave() tea.Cmd {
	if p.unsaved() && p.trouble == "" {
		p.Move(page.Say{Line: p.doc.Tune().Title + " is not saved yet: its changes are kept, and there when you edit it again."})
	}
	return p.keep()
}

// Update takes keys and what came of keeping a draft.
func (p *Page) Update(msg tea.Msg) tea.Cmd {
	switch msg := msg.(type) {
	case page.Clicked:
		before := p.doc.Text()
		p.clicked(msg)
		if p.doc.Text() != before {
			return p.keep()
		}
	case drafted:
		if msg.draft == p.Draft {
			p.trouble = msg.trouble
		}
		return nil
	case tea.KeyMsg:
		p.said = ""
		before := p.doc.Text()
		var cmd tea.Cmd
		switch {
		case p.found != nil:
			cmd = p.offered(msg)
		case p.typing:
			cmd = p.typeKey(msg)
		default:
			cmd = p.key(msg)
		}
		if p.doc.Text() != before {
			return tea.Batch(cmd, p.keep())
		}
		return cmd
	}
	return nil
}

// key takes a key that is no text.
func (p *Page) key(msg tea.KeyMsg) tea.Cmd {
	k := p.keys
	switch {
	case key.Matches(msg, k.next):
		p.choose(1)
		return nil
	case key.Matches(msg, k.before):
		p.choose(-1)
		return nil
	case p.chosen() != nil && key.Matches(msg, k.open):
		p.pinChosen()
		return nil
	}
	switch {
	case key.Matches(msg, k.save):
		return p.save()
	case key.Matches(msg, k.undo):
		p.tell(p.doc.Undo(), "There is nothing to undo: this is the start.")
	case key.Matches(msg, k.redo):
		p.tell(p.doc.Redo(), "There is nothing to redo.")
	case key.Matches(msg, k.mark):
		if p.anchor >= 0 {
			p.anchor = -1
		} else {
			p.anchor = p.doc.Index(p.doc.At())
		}
	case key.Matches(msg, k.walk):
		p.compose()
	case key.Matches(msg, k.style):
		p.style = (p.style + 1) % walk.Style(len(walk.StyleNames()))
	case key.Matches(msg, k.judge):
		p.judging = !p.judging
	case key.Matches(msg, k.better):
		p.takeBetter()
	case key.Matches(msg, k.end):
		p.end()
	case key.Matches(msg, k.hear):
		p.Hear(p.doc.Tune())
	case key.Matches(msg, k.up):
		p.transpose(1)
	case key.Matches(msg, k.down):
		p.transpose(-1)
	case key.Matches(msg, k.insert):
		p.anchor = -1
		p.refuse(p.doc.InsertBar())
	case key.Matches(msg, k.remove):
		p.refuse(p.doc.RemoveBars(p.selection()))
		p.anchor = -1
	case key.Matches(msg, k.pin):
		p.refuse(p.doc.Pin(p.Neck.BassStrings))
	case key.Matches(msg, k.clear):
		p.refuse(p.doc.Clear())
	case key.Matches(msg, k.open):
		p.startTyping(opened(p.doc.Token()))
	case !p.move(msg.String()):
		p.typeFirst(msg)
	}
	return nil
}

// move moves the place; it reports false for keys that move nothing.
func (p *Page) move(k string) bool {
	d := p.doc
	switch k {
	case "left":
		d.MoveBeats(-1)
	case "right":
		d.MoveBeats(1)
	case "tab":
		d.MoveBars(1)
	case "shift+tab":
		d.MoveBars(-1)
	case "up", "down":
		by := map[string]int{"up": -1, "down": 1}[k]
		row := d.At().Row
		d.MoveRows(by)
		if d.At().Row == row {
			p.moveSystems(by)
		}
	case "pgup":
		p.moveSystems(-1)
	case "pgdown":
		p.moveSystems(1)
	case "home", "end":
		at := d.Place(0)
		if k == "end" {
			at = d.Place(d.Bars() - 1)
		}
		at.Row = d.At().Row
		d.GoTo(at)
	default:
		return false
	}
	return true
}

// moveSystems goes to the same place in the line of bars below, or above; from
// the last row there into the first one, and the other way round.
func (p *Page) moveSystems(by int) {
	systems := p.systems(p.grid())
	at := p.doc.At()
	i := p.doc.Index(at)
	for n, s := range systems {
		if !s.Has(i) || n+by < 0 || n+by >= len(systems) {
			continue
		}
		to := systems[n+by]
		next := p.doc.Place(min(to.First+i-s.First, to.Last))
		next.Row, next.Beat = at.Row, at.Beat
		p.doc.GoTo(next)
		return
	}
}

// selection is the bars selected, or the one at the place.
func (p *Page) selection() edit.Range {
	i := p.doc.Index(p.doc.At())
	if p.anchor < 0 {
		return edit.Range{First: i, Last: i}
	}
	anchor := min(p.anchor, p.doc.Bars()-1)
	return edit.Range{First: min(i, anchor), Last: max(i, anchor)}
}

func (p *Page) refuse(err error) {
	if err != nil {
		p.said = err.Error()
	}
}

func (p *Page) tell(done bool, otherwise string) {
	if !done {
		p.said = otherwise
	}
}

// compose writes a line into the selection, another one each time.
func (p *Page) compose() {
	r := p.selection()
	c := composed{bars: r, style: p.style, seen: map[string]bool{}}
	if p.composed.bars == r && p.composed.style == p.style && p.composed.text == p.doc.Text() {
		c.seed, c.seen = p.composed.seed+1, p.composed.seen
	}
	notes, err := p.doc.ComposeAnother(r, walk.Options{Style: p.style, Seed: c.seed, Range: p.Neck.BassRange(), Hand: p.WalkingHand}, c.seen)
	if err != nil {
		p.refuse(err)
		return
	}
	c.text = p.doc.Text()
	c.reasons = map[spot]string{}
	for _, n := range notes {
		if r.Has(n.At.Bar - 1) {
			c.reasons[spot{n.At.Bar - 1, n.At.Beat - 1, n.At.Off}] = n.Reason
		}
	}
	p.composed = c
	p.said = fmt.Sprintf("Composed %s: %s. w composes another, u takes it back.", barsWords(r), p.style)
}

func barsWords(r edit.Range) string {
	if n := r.Last - r.First + 1; n > 1 {
		return fmt.Sprintf("%d bars", n)
	}
	return "the bar"
}

func (p *Page) transpose(by int) {
	lost, err := p.doc.Transpose(by, p.Neck.HighestFret)
	switch {
	case err != nil:
		p.refuse(err)
	case len(lost) > 0:
		p.said = lost[0].Error()
	default:
		p.said = fmt.Sprintf("Now in %s.", p.doc.Tune().Key)
		if outside := (*tune.LineError)(nil); errors.As(p.sounding().fault, &outside) {
			p.said = fmt.Sprintf("Now in %s, where the line leaves the bass strings.", p.doc.Tune().Key)
		}
	}
}

var _ interface {
	page.Page
	page.Typist
	page.Stepper
	page.Leaver
	page.Furnished
} = (*Page)(nil)
