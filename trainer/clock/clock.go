// Package clock is the one place that asks the machine for the time. Whoever needs
// the time or the day is given a Clock, so that a day can be played through without
// waiting for it.
package clock

import (
	"fmt"
	"sync"
	"time"
)

// Variable names the environment variable that sets the program's clock.
const Variable = "FOOTFALL_CLOCK"

// Clock tells the time. The zero value, and nil, is the machine's own.
type Clock struct {
	mu sync.Mutex
	// start is what it said when it was set, machine what the machine said then.
	start, machine time.Time
	stopped        bool
}

// Now is the moment by the machine. It is for how long something takes: what day
// it is, and when something was done, a Clock says.
func Now() time.Time { return time.Now() }

// The years that a clock may be set to: what comes due a hundred years later has a date
// of four digits still.
const firstYear, lastYear = 1900, 9800

// Set makes a clock that starts at a moment written as RFC 3339 has it, in a zone, and
// runs on from there; "" is the machine's own. The error says what would do.
func Set(moment string, zone *time.Location) (*Clock, error) {
	if moment == "" {
		return new(Clock), nil
	}
	t, err := time.Parse(time.RFC3339, moment)
	if err != nil {
		return nil, fmt.Errorf("%s=%.60s is no moment: write one like 2026-12-01T18:00:00Z", Variable, moment)
	}
	if y := t.UTC().Year(); y < firstYear || y > lastYear {
		return nil, fmt.Errorf("%s=%s: the year must be %d to %d", Variable, moment, firstYear, lastYear)
	}
	return &Clock{start: t.In(zone), machine: Now().Round(0)}, nil
}

// Now is the moment by the clock.
func (c *Clock) Now() time.Time {
	if c == nil {
		return Now()
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	switch {
	case c.stopped:
		return c.start
	case c.start.IsZero():
		return Now()
	}
	// By the machine's wall clock, since its other one may stand still while it sleeps.
	return c.start.Add(Now().Round(0).Sub(c.machine))
}

// Stop makes the clock stand still, but for Advance: at the moment it was set to, where
// it was, else at the present.
func (c *Clock) Stop() {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.start.IsZero() {
		c.start = Now().Round(0)
	}
	c.stopped = true
}

// Stopped reports whether the clock stands still.
func (c *Clock) Stopped() bool {
	if c == nil {
		return false
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.stopped
}

// Advance moves a clock that stands still on.
func (c *Clock) Advance(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.start = c.start.Add(d)
}

// Since is how long ago a moment was by the machine.
func Since(t time.Time) time.Duration { return time.Since(t) }
