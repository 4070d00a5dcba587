package session

import (
	"context"
	"sync"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/trainer/guard"
	"footfall/trainer/sound"
)

// Hearing lets the chords of questions be heard, one question's at a time. Nobody
// waits for the device.
type Hearing struct {
	mu     sync.Mutex
	play   func(context.Context, sound.Cue, [][]int) error
	cancel context.CancelFunc
	deaf   bool // nothing could be heard the last time
	cued   bool // a soft sound says how an answer went
	// tried is closed when it is known whether anything can be heard; nil where it is not
	// asked, and questions by ear are asked whatever is heard.
	tried chan struct{}
}

// NewHearing hears by a sound device; cued says whether a soft sound tells how an answer
// went.
func NewHearing(o sound.Options, cued bool) *Hearing {
	return HearingBy(func(ctx context.Context, cue sound.Cue, chords [][]int) error {
		return sound.Chords(ctx, cue, chords, o)
	}, cued)
}

// HearingBy hears by whatever plays a cue and chords until they have ended or ctx has.
func HearingBy(play func(context.Context, sound.Cue, [][]int) error, cued bool) *Hearing {
	return &Hearing{cued: cued, play: play}
}

// Cue has a soft sound tell how an answer went from now on, or not.
func (h *Hearing) Cue(cued bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.cued = cued
}

// Cued reports whether a soft sound tells how an answer went.
func (h *Hearing) Cued() bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.cued
}

// sound plays a cue and chords in the place of those that still sound; none end them.
func (h *Hearing) sound(cue sound.Cue, chords [][]int) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.cancel != nil {
		h.cancel()
		h.cancel = nil
	}
	if len(chords) == 0 && cue == sound.NoCue {
		return
	}
	ctx, cancel := context.WithCancel(context.Background())
	h.cancel = cancel
	guard.Go(func() {
		err := h.play(ctx, cue, chords)
		h.mu.Lock()
		defer h.mu.Unlock()
		if ctx.Err() == nil { // what the next question cut short tells nothing
			h.deaf = err != nil
		}
	})
}

// Try begins to find out whether anything can be heard. Where nothing can, no question is
// asked by ear from then on.
func (h *Hearing) Try() {
	tried := make(chan struct{})
	h.mu.Lock()
	defer h.mu.Unlock()
	h.tried = tried
	guard.Go(func() {
		defer close(tried)
		ctx, cancel := context.WithTimeout(context.Background(), guard.AnswerTime)
		defer cancel()
		err := h.play(ctx, sound.NoCue, nil)
		h.mu.Lock()
		defer h.mu.Unlock()
		h.deaf = err != nil
	})
}

// noEar is said where questions by ear were to be asked, and nothing can be heard.
const noEar = "no sound comes from this machine, so nothing is asked by ear: connect or turn on a sound device and start again; find, name and spell ask for degrees without sound"

// unasked reports whether questions of a kind can only be heard, and nothing can be.
func (d *Desk) unasked(k memory.Kind) bool {
	if d.Hearing == nil || d.Clock.Stopped() || k != memory.Ear {
		return false
	}
	d.Hearing.mu.Lock()
	tried := d.Hearing.tried
	d.Hearing.mu.Unlock()
	if tried == nil {
		return false
	}
	<-tried
	return !d.heard()
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
		d.Hearing.sound(sound.NoCue, ask.Sounds) // what sounded before is cut short where the player went on
	}
	return ask
}

// hearAnswer lets the answer of a question be heard, after a cue where the player has
// those.
func (d *Desk) hearAnswer(q drills.Question, cue sound.Cue) {
	if !d.heard() {
		return
	}
	if !d.Hearing.Cued() {
		cue = sound.NoCue
	}
	d.Hearing.sound(cue, drills.Heard(q, d.Neck))
}

// silence ends what is heard.
func (d *Desk) silence() {
	if d.Hearing != nil {
		d.Hearing.sound(sound.NoCue, nil)
	}
}

// Again lets the question that waits be heard once more.
func (s *Session) Again() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if q := s.questions(); q != nil && s.desk.heard() {
		s.desk.Hearing.sound(sound.NoCue, q.waiting.Ask().Sounds)
	}
}
