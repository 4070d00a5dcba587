package gate

import (
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"time"

	"footfall/trainer/clock"
	"footfall/trainer/guard"
)

// temporary begins the names of what lies in the temporary folder for a while.
const temporary = "footfall-copy-"

// stale is how old such a thing is when nobody can need it any more: it was left by a
// program that was killed.
const stale = 24 * time.Hour

// Temporary makes a folder in the system's temporary folder. remove takes it away with
// all that is in it; so does a signal that ends the program.
func Temporary() (path string, remove func(), err error) {
	sweep(os.TempDir())
	path, err = os.MkdirTemp("", temporary)
	if err != nil {
		return "", nil, err
	}
	return path, registered(path), nil
}

// sweep removes what programs left that were killed.
func sweep(folder string) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return
	}
	for _, e := range entries {
		info, err := e.Info()
		if err == nil && strings.HasPrefix(e.Name(), temporary) && clock.Since(info.ModTime()) > stale {
			_ = os.RemoveAll(filepath.Join(folder, e.Name())) // another user's stays
		}
	}
}

// What hands on signals is begun here, once, with one that nobody sends: begun by whoever
// registers first it might belong to a test whose clock stands still (testing/synctest),
// which then never ends.
func init() {
	none := make(chan os.Signal, 1)
	signal.Notify(none, syscall.SIGALRM)
	signal.Stop(none)
}

var passing struct {
	sync.Mutex
	paths map[string]bool
	stop  func()
}

// registered has a path removed when a signal ends the program. The function returned
// removes it before.
func registered(path string) (remove func()) {
	passing.Lock()
	defer passing.Unlock()
	if passing.paths == nil {
		passing.paths = map[string]bool{}
	}
	passing.paths[path] = true
	if passing.stop == nil {
		passing.stop = watchSignals()
	}
	return func() {
		_ = os.RemoveAll(path) // what cannot be removed is swept later
		passing.Lock()
		defer passing.Unlock()
		delete(passing.paths, path)
		if len(passing.paths) == 0 && passing.stop != nil {
			passing.stop()
			passing.stop = nil
		}
	}
}

// Passing registers a file that is written beside another, to be removed when a signal
// ends the program. remove takes it away, if it still has that name.
func Passing(path string) (remove func()) { return registered(path) }

// watchSignals removes everything that is registered when a signal would end the
// program, and lets it end. Whoever else handles the signal gets it once more.
func watchSignals() (stop func()) {
	signals := make(chan os.Signal, 1)
	for _, s := range ending {
		if !signal.Ignored(s) {
			signal.Notify(signals, s)
		}
	}
	done := make(chan struct{})
	guard.Go(func() {
		select {
		case <-done:
		case s := <-signals:
			passing.Lock()
			for path := range passing.paths {
				_ = os.RemoveAll(path)
			}
			passing.Unlock()
			signal.Stop(signals)
			raise(s)
		}
	})
	return func() {
		signal.Stop(signals)
		close(done)
	}
}
