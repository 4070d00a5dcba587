//go:build unix

package screen

import (
	"os"
	"os/signal"
	"syscall"

	tea "github.com/charmbracelet/bubbletea"
	"golang.org/x/sys/unix"

	"footfall/trainer/guard"
)

// stopSelf stops the program as a shell's ctrl+z does.
func stopSelf() { _ = syscall.Kill(os.Getpid(), syscall.SIGTSTP) }

// stopOnSignals gives the terminal back before the program is stopped by SIGTSTP,
// and takes it again when a shell lets it go on; after any SIGCONT all is drawn
// anew. A program that leads its session has no shell that could let it go on: it
// does not stop. It asks for the terminal's size at each SIGWINCH too: Bubble Tea listens
// to that a moment after it first asked, and a size that changes between is lost. The
// function returned ends that.
func stopOnSignals(p *tea.Program, paint *painter, mouse bool) func() {
	signals := make(chan os.Signal, 8)
	signal.Notify(signals, syscall.SIGTSTP, syscall.SIGCONT, syscall.SIGWINCH)
	done := make(chan struct{})
	guard.Go(func() {
		for {
			select {
			case <-done:
				return
			case s := <-signals:
				if s == syscall.SIGWINCH {
					p.Send(tea.WindowSize()())
					continue
				}
				if s == syscall.SIGTSTP {
					if session, err := unix.Getsid(0); err == nil && session == os.Getpid() {
						continue
					}
					paint.hold(true)
					if p.ReleaseTerminal() == nil {
						_ = syscall.Kill(os.Getpid(), syscall.SIGSTOP)
						for s := range signals { // threads run on a little
							if s == syscall.SIGCONT {
								break
							}
						}
						_ = p.RestoreTerminal()
						if mouse { // which Bubble Tea does not take again
							p.Send(tea.EnableMouseCellMotion())
						}
					}
					paint.hold(false)
				}
				p.Send(resumed{})
			}
		}
	})
	return func() {
		signal.Stop(signals)
		close(done)
	}
}
