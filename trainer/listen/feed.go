package listen

import (
	"fmt"
	"sync"
	"sync/atomic"
	"time"

	"footfall/trainer/clock"
)

// closeTime is how long a device may take to close.
const closeTime = 500 * time.Millisecond

// Feed is the part that every Input shares: it keeps the backlog, the status
// and the absences, and applies the calibration. A source embeds one, hands it
// what the device says, and adds its own Close. All methods may be called from
// any goroutine and none blocks.
type Feed struct {
	name        string
	now         func() time.Duration
	calibration Calibration
	notes       chan Note
	pedals      chan struct{}

	later atomic.Int64 // than the calibration has it, ns

	mu       sync.Mutex
	status   Status
	absences []Span
	down     bool // the pedal
	// since is when the absence that still lasts began.
	since time.Duration
}

// NewFeed returns the feed of a source that is not there yet: it waits, with
// the line given, until Found.
func NewFeed(name string, o Options, waiting string) *Feed {
	now := o.Now
	if now == nil {
		start := clock.Now()
		now = func() time.Duration { return clock.Since(start) }
	}
	return &Feed{
		name:        name,
		now:         now,
		calibration: o.Calibration,
		notes:       make(chan Note, Backlog),
		pedals:      make(chan struct{}, pedalBacklog),
		status:      Status{State: Waiting, Line: waiting},
		since:       now(),
	}
}

// Now is the clock of Options.
func (f *Feed) Now() time.Duration { return f.now() }

// Name is the port's name.
func (f *Feed) Name() string { return f.name }

// Notes is Input's.
func (f *Feed) Notes() <-chan Note { return f.notes }

// pedalBacklog is how many steps on a pedal wait for a reader that is busy.
const pedalBacklog = 8

// Pedals returns the channel on which each step on a switch pedal of a MIDI input comes,
// the same at each call. It is not closed.
func (f *Feed) Pedals() <-chan struct{} { return f.pedals }

// Strums is Input's, for a source that is told of each note.
func (f *Feed) Strums() <-chan Strum { return nil }

// Status is Input's.
func (f *Feed) Status() Status {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.status
}

// Hand hands on a note as the device stamped it; the calibration is applied
// here. A note that comes after Shut is let go.
func (f *Feed) Hand(n Note) {
	if n.pedal {
		f.Tread(n.On)
		return
	}
	n = f.calibrated(n)
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.status.State == Closed {
		return
	}
	select {
	case f.notes <- n:
		f.status.Messages++
	default:
		f.status.Dropped++
	}
}

// Tread hands on that a pedal has gone down, which some tell in many steps.
func (f *Feed) Tread(down bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if down && !f.down {
		select {
		case f.pedals <- struct{}{}:
		default:
		}
	}
	f.down = down
}

// calibrated is a note as it was played.
func (f *Feed) calibrated(n Note) Note {
	n = f.calibration.Apply(n)
	n.At -= time.Duration(f.later.Load())
	return n
}

// Later is Input's.
func (f *Feed) Later(by time.Duration) { f.later.Add(int64(by)) }

// Break counts n broken bytes or messages.
func (f *Feed) Break(n int) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.status.Broken += uint64(n)
}

// Found says that the device has been there since at.
func (f *Feed) Found(at time.Duration, line string) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.status.State != Waiting {
		return
	}
	f.status.State, f.status.Line = Hearing, line
	if at > f.since {
		if len(f.absences) == AbsencesKept {
			f.absences = append(f.absences[:0], f.absences[1:]...)
		}
		f.absences = append(f.absences, Span{f.since, at})
	}
}

// Lost says that the device has been away since at, and why. Called while it is
// away it renews the line.
func (f *Feed) Lost(at time.Duration, line string) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.status.State == Closed {
		return
	}
	if f.status.State == Hearing {
		f.since = at
	}
	f.status.State, f.status.Line = Waiting, line
}

// Slow renews the line of a device that is away; it says nothing of one that is
// there.
func (f *Feed) Slow(line string) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.status.State == Waiting {
		f.status.Line = line
	}
}

// Shut ends Notes. It may be called again.
func (f *Feed) Shut() {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.status.State == Closed {
		return
	}
	if f.status.State == Hearing {
		f.since = f.now()
	}
	f.status.State, f.status.Line = Closed, "closed"
	close(f.notes)
}

// letGo waits for a source to be done with its device, but not for one that hangs.
func (f *Feed) letGo(done <-chan struct{}) error {
	select {
	case <-done:
		return nil
	case <-time.After(closeTime):
		return fmt.Errorf("%s does not let go", f.name)
	}
}

// Absent is Input's.
func (f *Feed) Absent(from, to time.Duration) []Span {
	f.mu.Lock()
	defer f.mu.Unlock()
	var spans []Span
	clip := func(s Span) {
		s.From, s.To = max(s.From, from), min(s.To, to)
		if s.From < s.To {
			spans = append(spans, s)
		}
	}
	for _, s := range f.absences {
		clip(s)
	}
	if f.status.State != Hearing {
		clip(Span{f.since, to})
	}
	return spans
}
