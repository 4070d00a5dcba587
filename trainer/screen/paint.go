package screen

import (
	"io"
	"strings"
	"sync"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/ansi"
	"github.com/charmbracelet/x/term"

	"footfall/trainer/clock"
	"footfall/trainer/guard"
)

// Bubble Tea writes frames by a clock of its own, which wakes 60 times a second
// whether or not there is something to write: about one per cent of a core on a
// screen at rest. Here its clock ticks once a second over a view that never
// changes, and the painter writes each frame when it is there. Raw mode, the
// alternate screen, the cursor and the terminal's size stay with Bubble Tea.

// betweenFrames is the least time from one frame to the next: 60 a second.
const betweenFrames = time.Second / 60

// nothing is what Bubble Tea is given to write: a movement of the cursor, that
// changes no cell, as long as its renderer does not know the terminal's width
// (it erases the rest of a line it knows to be longer).
const nothing = ansi.CursorHomePosition

// resized is the terminal's size on its way past Bubble Tea's renderer.
type resized tea.WindowSizeMsg

// resumed tells that the program was stopped and goes on: what the terminal shows
// is not known.
type resumed struct{}

// owed asks for the view that a message was not drawn with.
type owed struct{}

// painted is the frame as Bubble Tea runs it: views go to the painter. However many
// messages come, as notes do by the thousand from some inputs, a view is drawn as often
// as one can be written.
type painted struct {
	*frame
	painter *painter
	// drawn is when the latest view was drawn; owes is set while one is asked for, and
	// busy while one after the other is.
	drawn      time.Time
	owes, busy bool
}

// filter keeps the terminal's size from Bubble Tea's renderer, and stills the
// painter before Bubble Tea gives the terminal back. Of sizes that change fast Bubble Tea
// may tell an older one last: the terminal itself knows.
func (p *painted) filter(_ tea.Model, msg tea.Msg) tea.Msg {
	switch msg := msg.(type) {
	case tea.WindowSizeMsg:
		if t, ok := p.painter.out.(term.File); ok {
			if width, height, err := term.GetSize(t.Fd()); err == nil {
				msg.Width, msg.Height = width, height
			}
		}
		return resized(msg)
	case tea.QuitMsg, tea.InterruptMsg:
		p.painter.still()
	}
	return msg
}

// Init starts the pages.
func (p *painted) Init() tea.Cmd {
	defer guard.Catch()
	return caught(p.frame.Init())
}

// Update hands a message to the frame. A fault there ends the program.
func (p *painted) Update(msg tea.Msg) (m tea.Model, cmd tea.Cmd) {
	m = p
	defer guard.Catch()
	if size, ok := msg.(resized); ok {
		msg = tea.WindowSizeMsg(size)
		p.painter.wipe()
	}
	if _, ok := msg.(resumed); ok {
		p.painter.wipe()
		return p, nil
	}
	if _, ok := msg.(owed); ok {
		p.owes = false
		return p, nil
	}
	_, cmd = p.frame.Update(msg)
	_, key := msg.(tea.KeyMsg)
	if _, mouse := msg.(tea.MouseMsg); mouse {
		key = true
	}
	between := betweenFrames
	if p.busy && !key {
		between = 2 * betweenFrames
	}
	wait := between - clock.Since(p.drawn)
	p.busy = p.owes || wait > 0
	if key && wait <= 0 {
		p.owes = false
	}
	if wait > 0 && !p.owes {
		p.owes = true
		cmd = tea.Batch(cmd, tea.Tick(wait, func(time.Time) tea.Msg { return owed{} }))
	}
	return p, caught(cmd)
}

// View hands the frame's view to the painter.
func (p *painted) View() (view string) {
	view = nothing
	defer guard.Catch()
	if p.owes {
		return view
	}
	p.drawn = clock.Now()
	if f := p.frame.View(); f != "" {
		p.painter.show(f, p.frame.width, p.frame.height)
	}
	return view
}

// painter writes frames to a terminal: the lines that changed, as soon as they
// are there and at most 60 times a second, so that the newest frame wins. At rest
// it waits and uses no time. Make one with startPainter and end it with still.
type painter struct {
	out  io.Writer
	ask  string        // is written once, before the first frame
	wake chan struct{} // a frame is there; closed by still
	done chan struct{} // closed when nothing more is written

	mu            sync.Mutex
	view          string
	width, height int
	shown         []string // what the terminal shows, a line each; nil where it is not known
	held, ended   bool
}

func startPainter(out io.Writer, ask string) *painter {
	p := &painter{out: out, ask: ask, wake: make(chan struct{}, 1), done: make(chan struct{})}
	guard.Go(p.run)
	return p
}

func (p *painter) run() {
	defer close(p.done)
	for range p.wake {
		if frame := p.next(); frame != "" {
			_, _ = io.WriteString(p.out, p.ask+frame) // a terminal that is gone ends the program by its signal
			p.ask = ""
			time.Sleep(betweenFrames)
		}
	}
}

// show hands over the next frame, for a terminal of so many columns and rows. It
// never waits for the terminal.
func (p *painter) show(view string, width, height int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.ended || view == p.view && p.shown != nil {
		return
	}
	p.view, p.width, p.height = view, width, height
	select {
	case p.wake <- struct{}{}:
	default:
	}
}

// wipe forgets what the terminal shows: the next frame is written whole.
func (p *painter) wipe() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.shown = nil
}

// hold keeps the painter from writing while something else has the terminal, and
// lets it go on.
func (p *painter) hold(held bool) {
	p.mu.Lock()
	p.held = held
	p.mu.Unlock()
	if held {
		time.Sleep(betweenFrames) // for a frame on its way
	}
}

// next is what turns what the terminal shows into the frame handed over last:
// empty where nothing changed. Each line is placed by itself, so that nothing
// that Bubble Tea writes between two frames can move it.
func (p *painter) next() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.ended || p.held {
		return ""
	}
	lines := strings.Split(p.view, "\n")
	lines = lines[:min(len(lines), p.height)]
	var b strings.Builder
	for i, line := range lines {
		if i < len(p.shown) && p.shown[i] == line {
			continue
		}
		b.WriteString(ansi.CursorPosition(1, i+1))
		line = ansi.Truncate(line, p.width, "")
		b.WriteString(line)
		if ansi.StringWidth(line) < p.width {
			b.WriteString(ansi.EraseLineRight)
		}
	}
	if len(lines) < p.height && (p.shown == nil || len(lines) < len(p.shown)) {
		b.WriteString(ansi.CursorPosition(1, len(lines)+1) + ansi.EraseScreenBelow)
	}
	p.shown = lines
	return b.String()
}

// still ends the painter: once it returns nothing more is written, unless the
// terminal takes nothing, which is not waited for.
func (p *painter) still() {
	p.mu.Lock()
	if !p.ended {
		p.ended = true
		close(p.wake)
	}
	p.mu.Unlock()
	select {
	case <-p.done:
	case <-time.After(10 * betweenFrames):
	}
}
