package session

import (
	"context"
	"sync"

	"footfall/drills"
	"footfall/trainer/guard"
	"footfall/trainer/sound"
)

// Hearing lets the chords of questions be heard, one question's at a time. Nobody
// waits for the device.
type Hearing struct {
	mu     sync.Mutex
	play   func(context.Context, [][]int) error
	cancel context.CancelFunc
	deaf   bool // nothing could be heard the last time
}

// NewHearing hears by a sound device.
func NewHearing(o sound.Options) *Hearing {
	return &Hearing{play: func(ctx context.Context, chords [][]int) error { return sound.Chords(ctx, chords, o) }}
}

// sound plays chords in the place of those that still sound; none end them.
func (h *Hearing) sound(chords [][]int) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.cancel != nil {
		h.cancel()
		h.cancel = nil
	}
	if len(chords) == 0 {
		return
	}
	ctx, cancel := context.WithCancel(context.Background())
	h.cancel = cancel
	guard.Go(func() {
		err := h.play(ctx, chords)
		h.mu.Lock()
		defer h.mu.Unlock()
		if ctx.Err() == nil { // what the next question cut short tells nothing
			h.deaf = err != nil
		}
	})
}

// heard reports whether there is something to hear with.
func (d *Desk) heard() bool {
	if d.Hearing == nil || d.Clock.Stopped() {
		return false
	}
	d.Hearing.mu.Lock()
	defer d.Hearing.mu.Unlock()
	return !d.Hearing.deaf
}

// letHear lets a question be heard, or says in its prompt what would be.
func (d *Desk) letHear(ask drills.Ask, held bool) drills.Ask {
	if !d.heard() {
		if ask.Unheard != "" {
			ask.Prompt += " " + ask.Unheard
		}
		return ask
	}
	if len(ask.Sounds) > 0 || held {
		d.Hearing.sound(ask.Sounds) // what sounded before is cut short where the player went on
	}
	return ask
}

// hearAnswer lets the answer of a question be heard.
func (d *Desk) hearAnswer(q drills.Question) {
	if d.heard() {
		d.Hearing.sound(drills.Heard(q, d.Neck))
	}
}

// silence ends what is heard.
func (d *Desk) silence() {
	if d.Hearing != nil {
		d.Hearing.sound(nil)
	}
}

// Again lets the question that waits be heard once more.
func (s *Session) Again() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if q := s.questions(); q != nil && s.desk.heard() {
		s.desk.Hearing.sound(q.waiting.Ask().Sounds)
	}
}
