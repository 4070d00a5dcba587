//go:build unix

// Package listentest is a test player: it writes MIDI bytes into a named pipe in
// real time, as software or an instrument would, and knows how far the machine
// it runs on can be trusted with time. Only tests use it.
package listentest

import (
	"os"
	"path/filepath"
	"strconv"
	"sync/atomic"
	"time"

	"golang.org/x/sys/unix"
)

// Key is a note on a MIDI channel, 1 to 16.
type Key struct{ Channel, MIDI int }

// Act is one thing that the player does.
type Act struct {
	// Due and Late together say when, from the start.
	Due, Late time.Duration
	// Keys are struck one after the other, as a strum, 4 ms apart.
	Keys []Key
	// Sent is set to when the first byte was really written.
	Sent time.Duration
	// Unplug closes the pipe instead, and opens it again at Until.
	Unplug bool
	Until  time.Duration
}

const strum = 4 * time.Millisecond

// Perform does the acts, which must be in order of time, on a pipe that is opened
// at once and closed at the end.
func Perform(path string, start time.Time, end time.Duration, acts []Act) error {
	w, err := os.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	defer func() { w.Close() }()
	for i := range acts {
		a := &acts[i]
		time.Sleep(time.Until(start.Add(a.Due + a.Late)))
		if a.Unplug {
			w.Close()
			time.Sleep(time.Until(start.Add(a.Until)))
			if w, err = os.OpenFile(path, os.O_WRONLY, 0); err != nil {
				return err
			}
			continue
		}
		a.Sent = time.Since(start)
		for k, key := range a.Keys {
			if k > 0 {
				time.Sleep(strum)
			}
			// A clock byte in the middle, and the end by velocity 0 in running status.
			if _, err := w.Write([]byte{0x90 | byte(key.Channel-1), byte(key.MIDI), 0xF8, 90, byte(key.MIDI), 0}); err != nil {
				return err
			}
		}
	}
	time.Sleep(time.Until(start.Add(end)))
	return nil
}

// Stalls watches how long this machine keeps a sleeping goroutine waiting for
// its turn: no figure measured meanwhile can be better.
type Stalls struct {
	worst atomic.Int64
	stop  chan struct{}
}

// WatchStalls begins to watch.
func WatchStalls() *Stalls {
	s := &Stalls{stop: make(chan struct{})}
	go func() {
		for last := time.Now(); ; last = time.Now() {
			select {
			case <-s.stop:
				return
			default:
			}
			time.Sleep(time.Millisecond)
			if late := int64(time.Since(last) - time.Millisecond); late > s.worst.Load() {
				s.worst.Store(late)
			}
		}
	}()
	return s
}

// Stop ends the watch and returns the longest wait.
func (s *Stalls) Stop() time.Duration {
	close(s.stop)
	return time.Duration(s.worst.Load())
}

// Hurry asks the system to run this process before others, where it may: other
// packages' tests run beside this one. Linux keeps a priority for each thread.
func Hurry() {
	threads, err := filepath.Glob("/proc/self/task/*")
	if err != nil {
		return
	}
	for _, path := range threads {
		if id, err := strconv.Atoi(filepath.Base(path)); err == nil {
			_ = unix.Setpriority(unix.PRIO_PROCESS, id, -15) // only the superuser may
		}
	}
}
