//go:build !unix

package listen

import (
	"errors"
	"fmt"
	"io"
	"os"
	"sync"
	"time"

	"footfall/trainer/guard"
)

// device is a named pipe.
type device struct {
	*Feed
	resolve func() (string, error)

	mu      sync.Mutex
	file    *os.File
	closing bool
}

// openDevice starts listening to the file that resolve finds.
func openDevice(name string, resolve func() (string, error), o Options) Input {
	d := &device{Feed: NewFeed(name, o, name+": looking for it"), resolve: resolve}
	guard.Go(d.run)
	return d
}

// Close is Input's.
func (d *device) Close() error {
	d.mu.Lock()
	d.closing = true
	file := d.file
	d.mu.Unlock()
	d.Shut()
	if file != nil {
		return file.Close()
	}
	return nil
}

func (d *device) run() {
	for {
		err := d.hear()
		if d.Status().State == Closed {
			return
		}
		d.Lost(d.Now(), fmt.Sprintf("%s: %v; waiting for it", d.Name(), err))
		time.Sleep(100 * time.Millisecond)
	}
}

// hear opens the port and reads it until it goes away, which the error tells.
func (d *device) hear() error {
	path, err := d.resolve()
	if err != nil {
		return err
	}
	file, err := os.Open(path)
	if err != nil {
		return err
	}
	d.mu.Lock()
	d.file = file
	closing := d.closing
	d.mu.Unlock()
	if closing {
		return file.Close()
	}
	defer file.Close()
	d.Found(d.Now(), d.Name()+": listening")
	s := newStream(d.Hand)
	buffer := make([]byte, 4096)
	for {
		n, err := file.Read(buffer)
		if broken := s.write(buffer[:n], d.Now()); broken > 0 {
			d.Break(broken)
		}
		if errors.Is(err, io.EOF) {
			return errors.New("nothing is sending")
		}
		if err != nil {
			return err
		}
	}
}
