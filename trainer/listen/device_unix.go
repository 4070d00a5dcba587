//go:build unix

package listen

import (
	"errors"
	"fmt"
	"sync/atomic"
	"time"

	"golang.org/x/sys/unix"

	"footfall/trainer/clock"
	"footfall/trainer/guard"
)

// absentPoll is how often a port that is away is looked for, and how late its
// coming back can be noticed where no note says so at once.
const absentPoll = 200 * time.Millisecond

const (
	// cableRate is how many bytes a second a MIDI cable carries: 31,250 bits, ten to a
	// byte (MIDI 1.0).
	cableRate = 3125
	// crowdRest is how long what comes faster than that, all through crowdTime, is left to
	// gather before it is read, and how late its times may thereby be.
	crowdTime = 100 * time.Millisecond
	crowdRest = 2 * time.Millisecond
)

// device is a raw MIDI device file or a named pipe.
type device struct {
	*Feed
	// resolve finds the path of the port, which may change with each plugging in.
	resolve func() (string, error)
	closing atomic.Bool
	// wake is a pipe whose closing ends a wait; -1 where the system gives none.
	wake, waker int
	done        chan struct{}
}

// openDevice starts listening to the file that resolve finds.
func openDevice(name string, resolve func() (string, error), o Options) Input {
	d := &device{
		Feed:    NewFeed(name, o, name+": looking for it"),
		resolve: resolve,
		wake:    -1,
		done:    make(chan struct{}),
	}
	var pipe [2]int
	if unix.Pipe(pipe[:]) == nil {
		d.wake, d.waker = pipe[0], pipe[1]
		unix.CloseOnExec(d.wake)
		unix.CloseOnExec(d.waker)
	}
	guard.Go(d.run)
	return d
}

// Close is Input's.
func (d *device) Close() error {
	if d.closing.CompareAndSwap(false, true) && d.wake >= 0 {
		unix.Close(d.waker)
	}
	return d.letGo(d.done)
}

// wait waits until a file can be read, the device is closed or, where the port
// is away, the time to look again has come. A negative file never can be.
func (d *device) wait(fd int, present bool) error {
	timeout := int(absentPoll / time.Millisecond)
	if present && d.wake >= 0 {
		timeout = -1
	}
	_, err := unix.Poll([]unix.PollFd{{Fd: int32(fd), Events: unix.POLLIN}, {Fd: int32(d.wake), Events: unix.POLLIN}}, timeout)
	if err == unix.EINTR {
		return nil
	}
	return err
}

func (d *device) run() {
	defer close(d.done)
	defer d.Shut()
	defer func() {
		if d.wake >= 0 {
			unix.Close(d.wake)
		}
	}()
	for !d.closing.Load() {
		if err := d.hear(); err != nil {
			d.Lost(d.Now(), fmt.Sprintf("%s: %v; waiting for it", d.Name(), err))
			_ = d.wait(-1, false)
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
		came      crowd
	)
	for !d.closing.Load() {
		asked := clock.Now()
		if err := d.wait(fd, present); err != nil {
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
			} else if clock.Since(asked) < absentPoll/4 {
				// Some systems report a pipe without writers as ready all the time.
				_ = d.wait(-1, false)
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
			if came.add(n, at) {
				time.Sleep(crowdRest)
			}
		}
	}
	return nil
}

// crowd tells whether bytes come faster than a MIDI cable carries.
type crowd struct {
	began time.Duration
	bytes int
	thick bool
}

// add counts bytes that came at a time, and returns whether those before came in crowds.
func (c *crowd) add(n int, at time.Duration) bool {
	c.bytes += n
	if passed := at - c.began; passed >= crowdTime {
		c.thick = float64(c.bytes) > cableRate*passed.Seconds()
		c.began, c.bytes = at, 0
	}
	return c.thick
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
