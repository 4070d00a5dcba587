//go:build unix

package listen

import (
	"errors"
	"fmt"
	"sync/atomic"
	"time"

	"golang.org/x/sys/unix"

	"footfall/trainer/guard"
)

// absentPoll is how often a port that is away is looked for, and how late its
// coming back can be noticed where no note says so at once.
const absentPoll = 20 * time.Millisecond

// device is a raw MIDI device file or a named pipe.
type device struct {
	*Feed
	// resolve finds the path of the port, which may change with each plugging in.
	resolve func() (string, error)
	closing atomic.Bool
	done    chan struct{}
}

// openDevice starts listening to the file that resolve finds.
func openDevice(name string, resolve func() (string, error), o Options) Input {
	d := &device{
		Feed:    NewFeed(name, o, name+": looking for it"),
		resolve: resolve,
		done:    make(chan struct{}),
	}
	guard.Go(d.run)
	return d
}

// Close is Input's.
func (d *device) Close() error {
	d.closing.Store(true)
	<-d.done
	return nil
}

func (d *device) run() {
	defer close(d.done)
	defer d.Shut()
	for !d.closing.Load() {
		if err := d.hear(); err != nil {
			d.Lost(d.Now(), fmt.Sprintf("%s: %v; waiting for it", d.Name(), err))
			time.Sleep(5 * absentPoll)
		}
	}
}

// hear opens the port and reads it until Close (nil) or until it is not to be
// had (an error).
func (d *device) hear() error {
	path, err := d.resolve()
	if err != nil {
		return err
	}
	fd, pipe, err := openRaw(path)
	if err != nil {
		return err
	}
	defer func() { unix.Close(fd) }()
	var (
		s         = newStream(d.Hand)
		buffer    = make([]byte, 4096)
		present   = false
		listening = d.Name() + ": listening"
		silent    = d.Name() + ": nothing is sending; waiting for it"
	)
	for !d.closing.Load() {
		asked := time.Now()
		poll := []unix.PollFd{{Fd: int32(fd), Events: unix.POLLIN}}
		if _, err := unix.Poll(poll, int(absentPoll/time.Millisecond)); err != nil && err != unix.EINTR {
			return err
		}
		n, err := unix.Read(fd, buffer)
		at := d.Now()
		switch {
		case err == unix.EINTR:
			continue
		case err == unix.EAGAIN:
		case err != nil:
			return err
		case n == 0 && !pipe:
			return errors.New("unplugged")
		}
		if n <= 0 && err == nil {
			d.Lost(at, silent)
			if present || replaced(fd, path) {
				// A fresh descriptor can be polled for the next writer. It is opened
				// before the old one goes, so that a writer always finds a reader.
				fresh, _, err := openRaw(path)
				if err != nil {
					return err
				}
				unix.Close(fd)
				fd, present, s = fresh, false, newStream(d.Hand)
			} else if time.Since(asked) < absentPoll/4 {
				// Some systems report a pipe without writers as ready all the time.
				time.Sleep(absentPoll / 4)
			}
			continue
		}
		if !present {
			present = true
			d.Found(at, listening)
		}
		if n > 0 {
			if broken := s.write(buffer[:n], at); broken > 0 {
				d.Break(broken)
			}
		}
	}
	return nil
}

// openRaw opens a device file or named pipe for reading without waiting.
func openRaw(path string) (fd int, pipe bool, err error) {
	fd, err = unix.Open(path, unix.O_RDONLY|unix.O_NONBLOCK|unix.O_CLOEXEC, 0)
	if err != nil {
		return 0, false, err
	}
	var stat unix.Stat_t
	if err = unix.Fstat(fd, &stat); err == nil {
		switch stat.Mode & unix.S_IFMT {
		case unix.S_IFIFO:
			return fd, true, nil
		case unix.S_IFCHR:
			return fd, false, nil
		}
		err = fmt.Errorf("%s is neither a MIDI device nor a named pipe", path)
	}
	unix.Close(fd)
	return 0, false, err
}

// replaced says whether the path now names another file than the open one.
func replaced(fd int, path string) bool {
	var open, named unix.Stat_t
	if unix.Fstat(fd, &open) != nil || unix.Stat(path, &named) != nil {
		return true
	}
	return open.Dev != named.Dev || open.Ino != named.Ino
}
