package screen

import (
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"sync"
	"syscall"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	_ "footfall/trainer/screen/background" // tells Lip Gloss before Bubble Tea asks
	"footfall/trainer/screen/page"
)

const kept = "every answer whose verdict you saw is kept"

// Run shows the program on a terminal until the player quits: the first screen,
// and over it the pages named. Whatever goes wrong, in the pages, their commands
// or goroutines started with Guard.Go, the terminal is put back before Run
// returns.
func Run(in io.Reader, out io.Writer, s *Services, over ...page.ID) error {
	f, err := newFrame(s, append([]page.ID{Home}, over...)...)
	if err != nil {
		return err
	}
	p := tea.NewProgram(f, tea.WithInput(in), tea.WithOutput(out), tea.WithAltScreen(), tea.WithoutSignalHandler())
	s.Guard.attach(p)
	defer s.Guard.endOnSignals(p)()
	_, err = p.Run()
	if broken := s.Guard.broken(); broken != nil {
		return broken
	}
	switch {
	case errors.Is(err, tea.ErrInterrupted):
		return nil
	case errors.Is(err, tea.ErrProgramPanic):
		return errors.New("something in the program broke, as printed above; " + kept)
	}
	return err
}

// Guard catches panics of the program's own goroutines, so that a fault there
// does not leave the terminal raw. Make one with new(Guard); its methods may be
// called from any goroutine.
type Guard struct {
	mu      sync.Mutex
	program *tea.Program
	err     error
}

// Go runs do in a goroutine; a panic in it ends the program with an error.
func (g *Guard) Go(do func()) {
	go func() {
		defer g.Catch()
		do()
	}()
}

// Catch is to be deferred: it turns a panic into the program's end with an error.
func (g *Guard) Catch() {
	r := recover()
	if r == nil {
		return
	}
	g.mu.Lock()
	if g.err == nil {
		g.err = fmt.Errorf("something in the program broke: %v; %s\n\n%s", r, kept, debug.Stack())
	}
	p := g.program
	g.mu.Unlock()
	if p != nil {
		p.Quit()
	}
}

// patience is how long pages may take to finish when the system ends the program.
const patience = 2 * time.Second

// endOnSignals ends the program in good order when the system asks for it or
// the terminal is closed. The function returned stops that.
func (g *Guard) endOnSignals(p *tea.Program) func() {
	signals := make(chan os.Signal, 1)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	done := make(chan struct{})
	g.Go(func() {
		select {
		case <-done:
			return
		case <-signals:
		}
		go p.Send(leaveAll{})
		select {
		case <-done:
		case <-time.After(patience):
			p.Kill()
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

func (g *Guard) attach(p *tea.Program) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.program = p
}

func (g *Guard) broken() error {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.err
}
