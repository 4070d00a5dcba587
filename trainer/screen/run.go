package screen

import (
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"reflect"
	"runtime"
	"sync"
	"syscall"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"footfall/trainer/clock"
	"footfall/trainer/guard"
	"footfall/trainer/screen/background" // tells Lip Gloss before Bubble Tea asks
	"footfall/trainer/screen/page"
)

const kept = "every answer whose verdict you saw is kept"

// Run shows the program on a terminal until the player quits: the first screen,
// and over it the pages named. Whatever goes wrong, in the pages, their commands
// or goroutines that are guarded, the terminal is put back before Run returns.
func Run(in io.Reader, out io.Writer, s *Services, over ...page.ID) error {
	ids := append([]page.ID{Home}, over...)
	if s.FirstStart {
		ids = []page.ID{Welcome}
	}
	f, err := newFrame(s, ids...)
	if err != nil {
		return err
	}
	p, rest := program(in, out, f)
	defer rest()
	defer s.Guard.endOnSignals()()
	_, err = p.Run()
	if broken := s.Guard.broken(); broken != nil {
		return broken
	}
	switch {
	case errors.Is(err, tea.ErrInterrupted), errors.Is(err, syscall.EIO): // EIO: the terminal was closed
		return nil
	case errors.Is(err, tea.ErrProgramPanic):
		return errors.New("something in the program broke, as printed above; " + kept)
	}
	return err
}

// program is the frame ready to run on a terminal, watched by its services'
// guard. The function returned ends what writes its frames, and the watch.
func program(in io.Reader, out io.Writer, f *frame) (*tea.Program, func()) {
	ask, told := "", f.services.Guard
	if terminal, ok := in.(*os.File); ok && runtime.GOOS != "windows" { // whose consoles hand on keys, no bytes
		if f.services.AskBackground {
			ask = background.Question
		}
		in = background.Listen(terminal, clock.Now, func(dark bool) {
			if f.services.AskBackground {
				told.Send(ground{dark})
			}
		})
	}
	m := &painted{frame: f, painter: startPainter(out, ask)}
	options := []tea.ProgramOption{tea.WithInput(in), tea.WithOutput(out), tea.WithAltScreen(), tea.WithoutSignalHandler(),
		tea.WithFPS(1), tea.WithFilter(m.filter)}
	if f.services.Mouse {
		options = append(options, tea.WithMouseCellMotion())
	}
	p := tea.NewProgram(m, options...)
	told.attach(p, m.painter.still)
	unwatch, unstop := guard.Watch(told.broke), stopOnSignals(p, m.painter, f.services.Mouse)
	return p, func() {
		unstop()
		m.painter.still()
		unwatch()
	}
}

// Guard ends the program after a panic, wherever it was, or at a signal, so that
// the terminal is not left raw and every page can still keep what it holds. Make
// one with new(Guard); its methods may be called from any goroutine.
type Guard struct {
	mu      sync.Mutex
	program *tea.Program
	still   func() // ends the painter
	err     error
}

// broke ends the program after a panic, with the error that says so. Only the
// first is told.
func (g *Guard) broke(fault any, stack []byte) {
	g.mu.Lock()
	first := g.err == nil
	if first {
		g.err = fmt.Errorf("something in the program broke: %v; %s\n\n%s", fault, kept, stack)
	}
	g.mu.Unlock()
	if first {
		g.end()
	}
}

// caught is a command whose panics are caught, and those of the commands that
// it gives back: batches and sequences are slices of commands.
func caught(cmd tea.Cmd) tea.Cmd {
	if cmd == nil {
		return nil
	}
	return func() tea.Msg {
		defer guard.Catch()
		msg := cmd()
		if v := reflect.ValueOf(msg); v.Kind() == reflect.Slice && v.Type().Elem() == reflect.TypeFor[tea.Cmd]() {
			for i := range v.Len() {
				c, _ := v.Index(i).Interface().(tea.Cmd)
				v.Index(i).Set(reflect.ValueOf(caught(c)))
			}
		}
		return msg
	}
}

// patience is how long pages may take to finish when the program must end.
const patience = 2 * time.Second

// end leaves every page and ends the program, at the latest when patience is
// over. It does not wait.
func (g *Guard) end() {
	g.mu.Lock()
	p, still := g.program, g.still
	g.mu.Unlock()
	if p == nil {
		return
	}
	go p.Send(leaveAll{})
	time.AfterFunc(patience, func() {
		still()
		p.Kill()
	})
}

// endOnSignals ends the program in good order when the system asks for it or
// the terminal is closed. The function returned stops that.
func (g *Guard) endOnSignals() func() {
	signals := make(chan os.Signal, 1)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM, syscall.SIGHUP, syscall.SIGQUIT, syscall.SIGABRT)
	done := make(chan struct{})
	guard.Go(func() {
		select {
		case <-done:
		case <-signals:
			g.end()
		}
	})
	return func() {
		signal.Stop(signals)
		close(done)
	}
}

// Send hands a message to the running program, from a goroutine that may wait.
func (g *Guard) Send(m tea.Msg) {
	g.mu.Lock()
	p := g.program
	g.mu.Unlock()
	if p != nil {
		p.Send(m)
	}
}

func (g *Guard) attach(p *tea.Program, still func()) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.program, g.still = p, still
}

func (g *Guard) broken() error {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.err
}
