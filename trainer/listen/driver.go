package listen

import (
	"errors"
	"fmt"
	"regexp"
	"sync"
	"time"

	"gitlab.com/gomidi/midi/v2/drivers"

	"footfall/trainer/guard"
)

// driverLook is how often a driver is asked for its ports, to notice one that
// comes or goes.
const driverLook = 500 * time.Millisecond

// driverInput is a port of one of gomidi's drivers.
type driverInput struct {
	*Feed
	driver drivers.Driver
	stop   chan struct{}
	once   sync.Once
	done   chan struct{}
	err    error // of closing the port, once done
}

// openDriver starts listening to the driver's port of that name.
func openDriver(name string, driver drivers.Driver, o Options) Input {
	d := &driverInput{
		Feed:   NewFeed(name, o, name+": looking for it"),
		driver: driver,
		stop:   make(chan struct{}),
		done:   make(chan struct{}),
	}
	guard.Go(d.run)
	return d
}

// Close is Input's.
func (d *driverInput) Close() (err error) {
	d.once.Do(func() {
		close(d.stop)
		if err = d.letGo(d.done); err == nil {
			err = d.err
		}
		d.Shut()
	})
	return err
}

// run opens the port when it is there and lets it go when it is not. All calls
// of the driver are made here, as gomidi's ports are not safe for more than one
// goroutine.
func (d *driverInput) run() {
	var (
		port   drivers.In
		silent func()
	)
	release := func() error {
		if port == nil {
			return nil
		}
		silent()
		p := port
		port = nil
		return p.Close()
	}
	tick := time.NewTicker(driverLook)
	defer tick.Stop()
	look := func() {
		hangs := time.AfterFunc(guard.AnswerTime, func() {
			defer guard.Catch()
			d.Lost(d.Now(), d.Name()+": it does not answer; waiting for it")
		})
		defer hangs.Stop()
		there, err := findIn(d.driver, d.Name())
		switch {
		case err != nil:
			at := d.Now()
			_ = release() // the port is gone; that it does not close cleanly says nothing new
			d.Lost(at, fmt.Sprintf("%s: %v; waiting for it", d.Name(), err))
		case port == nil:
			if silent, err = d.listen(there); err != nil {
				d.Lost(d.Now(), fmt.Sprintf("%s: %v; waiting for it", d.Name(), err))
				break
			}
			port = there
		}
	}
	for {
		if look(); port != nil {
			d.Found(d.Now(), d.Name()+": listening")
		}
		select {
		case <-d.stop:
			d.err = release()
			close(d.done)
			return
		case <-tick.C:
		}
	}
}

func (d *driverInput) listen(port drivers.In) (stop func(), err error) {
	if err := port.Open(); err != nil {
		return nil, err
	}
	stop, err = port.Listen(func(message []byte, _ int32) {
		defer guard.Catch() // on a thread of the driver's
		at := d.Now()
		if n, ok := noteOf(message); ok {
			n.At = at
			d.Hand(n)
		}
	}, drivers.ListenConfig{})
	if err != nil {
		_ = port.Close() // the failure to listen is the one to report
		return nil, err
	}
	return stop, nil
}

// findIn returns the driver's port of exactly that name.
func findIn(driver drivers.Driver, name string) (drivers.In, error) {
	ins, err := driver.Ins()
	if err != nil {
		return nil, err
	}
	for i, n := range driverNames(ins) {
		if n == name {
			return ins[i], nil
		}
	}
	return nil, errors.New("not plugged in")
}

// alsaAddress is the client and port number that RtMidi hangs on ALSA's names;
// it changes with each plugging in.
var alsaAddress = regexp.MustCompile(` \d+:\d+$`)

// driverNames returns names by which a driver's ports are found again.
func driverNames(ins []drivers.In) []string {
	names := make([]string, len(ins))
	for i, in := range ins {
		names[i] = portName(alsaAddress.ReplaceAllString(in.String(), ""))
	}
	return distinct(names)
}
