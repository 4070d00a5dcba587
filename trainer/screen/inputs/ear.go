package inputs

import (
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"footfall/trainer/clock"
	"footfall/trainer/hearing"
	"footfall/trainer/listen"
)

// look is how often the state of an input is looked at.
const look = 100 * time.Millisecond

// ear listens to one port and tells the page what comes. It hands on notes as
// the port sends them, with no delay taken off and no string told.
type ear struct {
	listen.Input
	epoch time.Time
	// round takes the notes too, for a round of a calibration, where anybody
	// reads it.
	round chan listen.Note
}

// heard is a note that an ear heard; stated is how its input is doing.
type heard struct {
	by   *ear
	note listen.Note
}

type stated struct {
	by     *ear
	status listen.Status
}

// metered is what the meter of an ear shows that has one, as a microphone.
type metered struct {
	by    *ear
	meter listen.Meter
}

type meterer interface{ Meter() listen.Meter }

// newEar listens to a port; room is what is known of a microphone's, nil for none,
// and strings are the notes of the open strings.
func newEar(port string, room *hearing.Room, strings []int, open func(string, listen.Options) (listen.Input, error)) (*ear, error) {
	epoch := clock.Now()
	in, err := open(port, listen.Options{Now: func() time.Duration { return clock.Since(epoch) }, Calibration: listen.Calibration{Room: room}, Strings: strings})
	if err != nil {
		return nil, err
	}
	return &ear{Input: in, epoch: epoch, round: make(chan listen.Note, listen.Backlog)}, nil
}

// Notes is listen.Input's, for a round: what came since, beside the page.
func (e *ear) Notes() <-chan listen.Note { return e.round }

// relay tells what comes until the input is closed.
func (e *ear) relay(send func(tea.Msg)) {
	ticker := time.NewTicker(look)
	defer ticker.Stop()
	var told listen.Status
	for {
		if now := e.Status(); now.Line != told.Line || now.Dropped != told.Dropped || now.Broken != told.Broken {
			told = now
			send(stated{e, now})
		}
		select {
		case n, open := <-e.Input.Notes():
			if !open {
				return
			}
			select {
			case e.round <- n:
			default: // full: nobody calibrates, and a round begins by emptying it
			}
			send(heard{e, n})
		case <-ticker.C:
			if m, ok := e.Input.(meterer); ok && e.Status().State == listen.Hearing {
				send(metered{e, m.Meter()})
			}
		}
	}
}
