package listen

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"footfall/trainer/gate"
	"footfall/trainer/guard"
)

// Store remembers, in one file of a folder, which port was used last and what
// was learned of each. Two programs may use it at once: a change is read and
// written whole, and the last one to change a port wins.
type Store struct{ path string }

// StoreIn returns the store of a folder, which need not exist yet.
func StoreIn(folder string) Store { return Store{path: filepath.Join(folder, "inputs.json")} }

// stored is what the file holds.
type stored struct {
	Last  string                 `json:"last"`
	Ports map[string]Calibration `json:"ports"`
}

// Last returns the name of the port used last, "" if none was.
func (s Store) Last() (string, error) {
	all, err := s.load()
	return all.Last, err
}

// Calibration returns what was learned of a port, the zero value for nothing.
func (s Store) Calibration(port string) (Calibration, error) {
	all, err := s.load()
	return all.Ports[port], err
}

// Use remembers a port as the one used last.
func (s Store) Use(port string) error {
	return s.change(func(all *stored) { all.Last = port })
}

// Learn keeps what was learned of a port.
func (s Store) Learn(port string, c Calibration) error {
	return s.change(func(all *stored) { all.Ports[port] = c })
}

// Later keeps that a port is so much later than was known, early below 0, as so many notes
// told. delay is that of a port whose own was never learned.
func (s Store) Later(port string, by time.Duration, notes int, delay time.Duration) error {
	return s.change(func(all *stored) {
		c := all.Ports[port]
		if c.Delay.Taps == 0 {
			c.Delay.Median = delay
		}
		c.Delay.Median += by
		c.Delay.Taps = max(c.Delay.Taps, notes)
		c.Strings = slices.Clone(c.Strings)
		for i, str := range c.Strings {
			if str.Delay != nil {
				later := *str.Delay
				later.Median += by
				c.Strings[i].Delay = &later
			}
		}
		all.Ports[port] = c
	})
}

// Open opens a port, or a path, as the function Open does, with what was learned
// of it, and remembers it as the one used last if it is there: a name mistyped
// once is not to be waited for ever after. delay is that of a port whose own was
// never learned. A folder or a port that does not answer in two seconds is an
// error.
func (s Store) Open(name string, now func() time.Duration, delay time.Duration) (Input, error) {
	return guard.InTime(name, func() (Input, error) { return s.open(name, now, delay) }, func(in Input) { _ = in.Close() })
}

func (s Store) open(name string, now func() time.Duration, delay time.Duration) (Input, error) {
	c, err := s.Calibration(name)
	if err != nil {
		return nil, err
	}
	if c.Delay.Taps == 0 {
		c.Delay.Median = delay
	}
	in, err := Open(name, Options{Now: now, Calibration: c})
	if err != nil {
		return nil, err
	}
	if !isThere(name) {
		return in, nil
	}
	if err := s.Use(name); err != nil {
		return nil, errors.Join(err, in.Close())
	}
	return in, nil
}

// isThere reports whether a port or a path can be listened to now.
func isThere(name string) bool {
	if _, microphone := IsMicrophone(name); microphone {
		return true
	}
	if strings.ContainsRune(name, filepath.Separator) {
		_, err := os.Stat(name)
		return err == nil
	}
	there, err := Ports()
	return err == nil && slices.ContainsFunc(there, func(p Port) bool { return p.Name == name })
}

// maxStored bounds what is read of the file; a port takes some hundred bytes.
const maxStored = 1 << 20

// load reads the file; one that does not exist is empty, one that cannot be
// read is an error that names it.
func (s Store) load() (stored, error) {
	all := stored{Ports: map[string]Calibration{}}
	data, err := gate.Read(s.path, maxStored)
	if errors.Is(err, fs.ErrNotExist) {
		return all, nil
	}
	if err != nil {
		return all, err
	}
	if err := json.Unmarshal(data, &all); err != nil {
		return stored{}, fmt.Errorf("%s is damaged (%w): repair it, or move it away and calibrate again", s.path, err)
	}
	if all.Ports == nil {
		all.Ports = map[string]Calibration{}
	}
	return all, nil
}

// change reads the file, changes it and puts the new one in its place at once. A
// file that cannot be read is left as it is.
func (s Store) change(edit func(*stored)) (err error) {
	all, err := s.load()
	if err != nil {
		return err
	}
	edit(&all)
	data, err := json.MarshalIndent(all, "", "  ")
	if err != nil {
		return err
	}
	return gate.Replace(s.path, append(data, '\n'), 0o600)
}
