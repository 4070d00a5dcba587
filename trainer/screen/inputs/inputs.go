// Package inputs is the page of inputs: which there are, which one is listened to,
// what arrives by it, and its calibration. What is learned and kept is for trainer/listen to say.
package inputs

import (
	"time"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"footfall/fretboard"
	"footfall/trainer/listen"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
	"footfall/trainer/sound"
)

// search is how often the inputs are looked for anew.
const search = 8 * time.Second

// kept is how many notes that arrived are remembered.
const kept = 100

// Gear is what the page works with.
type Gear struct {
	// Store remembers what was picked and learned.
	Store listen.Store
	// Present lists the inputs that are there.
	Present func() ([]listen.Port, error)
	// Open opens one.
	Open func(port string, o listen.Options) (listen.Input, error)
	// Current is the port that drills and play-alongs listen to, "" for none.
	Current func() string
	// Pick makes a port the one they listen to, and remembers it.
	Pick func(port string) error
	// Setting is the port that the settings name, "" for none: it comes before the
	// one remembered when the program starts.
	Setting string
	// Tuning has the strings that are calibrated.
	Tuning fretboard.Tuning
	// Sound, Tempo and Bars are how calibrations click.
	Sound sound.Options
	Tempo float64
	Bars  int
}

// Page is the screen.
type Page struct {
	theme  *theme.Theme
	gear   Gear
	start  func(func())
	send   func(tea.Msg)
	wake   chan struct{}
	left   chan struct{}
	width  int
	height int

	known  []listen.Known
	looked bool
	// pointed is the name of the input that the list stands on.
	pointed string
	top     int

	ear     *ear
	status  listen.Status
	meter   *listen.Meter // nil where the input has none
	notes   []listen.Note // the newest last
	fault   string
	learned *learned

	use, strings, delay, begin, arrows key.Binding
}

// listed is what looking for the inputs found.
type listed struct {
	known []listen.Known
	err   error
}

// New makes the page. start runs a goroutine, send brings a message to the page
// from one.
func New(t *theme.Theme, g Gear, start func(func()), send func(tea.Msg)) *Page {
	p := &Page{
		theme: t, gear: g, start: start, send: send, width: 80, height: 20,
		wake: make(chan struct{}, 1), left: make(chan struct{}),
		use:     page.Act.Key(t, "use it"),
		strings: page.OpenStrings.Key(t, "learn open strings"),
		delay:   page.Delay.Key(t, "learn delay"),
		begin:   page.Act.Key(t, "begin"),
		arrows:  page.UpDown.Key(t, "input"),
	}
	p.pointed = g.Current()
	p.listen(p.pointed)
	start(p.watch)
	return p
}

// watch looks for the inputs again and again until the page is left.
func (p *Page) watch() {
	for {
		known, err := p.gear.Store.Known(p.gear.Present)
		p.send(listed{known, err})
		select {
		case <-p.left:
			return
		case <-p.wake:
		case <-time.After(search):
		}
	}
}

// listen turns to a port, "" for none.
func (p *Page) listen(port string) {
	if p.ear != nil {
		if p.ear.Name() == port {
			return
		}
		p.tell(p.ear.Close())
		p.ear = nil
	}
	p.notes, p.status, p.meter = nil, listen.Status{}, nil
	if port == "" {
		return
	}
	c, err := p.gear.Store.Calibration(port)
	if err != nil {
		p.tell(err)
		return
	}
	e, err := newEar(port, c.Room, p.openStrings(), p.gear.Open)
	if err != nil {
		p.tell(err)
		return
	}
	p.ear = e
	p.start(func() { e.relay(p.send) })
}

// openStrings are the notes of the open strings, the highest string first.
func (p *Page) openStrings() []int {
	open := make([]int, len(p.gear.Tuning))
	for i := range open {
		open[i] = p.gear.Tuning.Open(i + 1)
	}
	return open
}

func (p *Page) tell(err error) {
	if err != nil {
		p.fault = err.Error()
	}
}

// Init does nothing: the page looks and listens since it was made.
func (p *Page) Init() tea.Cmd { return nil }

// SetSize takes the room there is.
func (p *Page) SetSize(width, height int) { p.width, p.height = width, height }

// Title names the page.
func (p *Page) Title() string { return "inputs" }

// Status says what is listened to.
func (p *Page) Status() string {
	if p.ear == nil {
		return "no input"
	}
	return ""
}

// Passing is true: the page is made anew each time.
func (p *Page) Passing() bool { return true }

// Leave lets the input go; a calibration under way keeps nothing.
func (p *Page) Leave() tea.Cmd {
	close(p.left)
	p.abandon()
	e := p.ear
	return func() tea.Msg {
		if e != nil {
			if err := e.Close(); err != nil {
				return page.Say{Line: err.Error()}
			}
		}
		return nil
	}
}

// Step gives up a calibration, or leaves what it found out.
func (p *Page) Step() (bool, tea.Cmd) {
	if p.learned == nil {
		return false, nil
	}
	if !p.learned.done {
		p.fault = "The calibration was not finished; nothing was kept."
	}
	p.abandon()
	return true, nil
}

// Keys lists the keys.
func (p *Page) Keys() []key.Binding {
	if l := p.learned; l != nil {
		begin := p.begin
		if l.done {
			begin = page.Act.Key(p.theme, "go on")
		}
		begin.SetEnabled(l.stop == nil)
		return []key.Binding{begin}
	}
	if len(p.known) == 0 {
		return nil
	}
	return []key.Binding{p.use, p.strings, p.delay, p.arrows, page.FirstLast.Key(p.theme, "first, last"), page.PageUpDown.Key(p.theme, "a page up, down")}
}

// Update takes keys and what goroutines tell.
func (p *Page) Update(msg tea.Msg) tea.Cmd {
	switch msg := msg.(type) {
	case listed:
		p.known, p.looked = msg.known, true
		p.tell(msg.err)
		if p.pointed == "" && len(p.known) > 0 {
			p.pointed = p.known[0].Name
		}
	case stated:
		if msg.by == p.ear {
			p.status = msg.status
		}
	case heard:
		if msg.by == p.ear && msg.note.On {
			p.notes = append(p.notes, p.calibration().Apply(msg.note))
			p.notes = p.notes[max(0, len(p.notes)-kept):]
		}
	case beaten:
		if msg.of == p.learned && p.learned != nil {
			p.learned.beat = msg.beat
		}
	case rounded:
		if msg.of == p.learned && p.learned != nil {
			p.took(msg)
		}
	case metered:
		if msg.by == p.ear {
			p.meter = &msg.meter
		}
	case roomed:
		if msg.of == p.learned && p.learned != nil {
			p.tookRoom(msg.room)
		}
	case page.Clicked:
		if to, acts := page.Picked(msg, p.at(), len(p.known)); p.learned == nil && len(p.known) > 0 && msg.On == page.Row {
			p.fault = ""
			if p.pointed = p.known[to].Name; acts {
				p.pick()
			}
		}
	case tea.KeyMsg:
		p.fault = ""
		if p.learned != nil {
			if key.Matches(msg, p.begin) {
				return p.begun()
			}
			return nil
		}
		p.key(msg)
	}
	return nil
}

func (p *Page) key(msg tea.KeyMsg) {
	switch {
	case len(p.known) == 0:
	case key.Matches(msg, p.use):
		p.pick()
	case key.Matches(msg, p.strings):
		if isMicrophone(p.pointed) {
			p.setUp()
			return
		}
		p.calibrate(true)
	case key.Matches(msg, p.delay):
		p.calibrate(false)
	default:
		p.pointed = p.known[page.Moved(msg, p.at(), len(p.known), p.listRoom())].Name
	}
}

// at is the place in the list of the input pointed at.
func (p *Page) at() int {
	for i, k := range p.known {
		if k.Name == p.pointed {
			return i
		}
	}
	return 0
}

// pick makes the input pointed at the one that is listened to.
func (p *Page) pick() {
	p.pointed = p.known[p.at()].Name
	p.tell(p.gear.Pick(p.pointed))
	p.listen(p.pointed)
	p.again()
}

// again looks for the inputs at once.
func (p *Page) again() {
	select {
	case p.wake <- struct{}{}:
	default: // it is to look already
	}
}

// calibration is what is known of the port that is listened to.
func (p *Page) calibration() listen.Calibration {
	for _, k := range p.known {
		if p.ear != nil && k.Name == p.ear.Name() {
			return k.Calibration
		}
	}
	return listen.Calibration{}
}

func isMicrophone(port string) bool {
	_, ok := listen.IsMicrophone(port)
	return ok
}
