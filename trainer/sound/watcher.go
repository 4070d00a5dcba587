package sound

import (
	"context"
	"time"

	"footfall/trainer/clock"
	"footfall/trainer/guard"
)

// watcher keeps a player's transport going where no device does, and finds out
// when one answers, goes away or comes back. When nothing plays it lets the device
// and itself rest until something is wished for.
type watcher struct {
	*Player
	// open looks for a device; nil where none is wanted.
	open   opener
	device output // nil where there is none
	// found tells how a search ended that is under way; nil where none is.
	found chan search
	began time.Time // when the device was started
	retry time.Time // when to look for one again
}

// search is how a search for a device ended.
type search struct {
	device output
	err    error
}

func (w *watcher) run() {
	defer close(w.done)
	defer w.release()
	if w.open != nil {
		w.look()
		select {
		case s := <-w.found:
			w.attach(s)
		case <-time.After(guard.AnswerTime):
			w.say("The sound device does not answer yet: the click is seen, not heard.")
		case <-w.ctx.Done():
		}
	}
	ticker := time.NewTicker(wallStep)
	defer ticker.Stop()
	last := clock.Now()
	wished := last.Add(-restAfter) // nothing sounds yet
	for {
		select {
		case <-w.ctx.Done():
			return
		case <-w.queue.sent:
			wished = clock.Now()
			continue
		case s := <-w.found:
			w.advance(clock.Now())
			w.attach(s)
			continue
		case <-ticker.C:
		}
		now := clock.Now()
		if now.Sub(last) > asleep {
			w.began = now // what the device did meanwhile says nothing of it
			w.asked.Store(0)
		}
		if w.device != nil && !w.alive(now) {
			w.lose()
		}
		if w.device == nil && now.After(w.retry) {
			w.look()
		}
		if w.device == nil || w.asked.Load() == 0 && w.log.anchored.Load() {
			w.advance(now) // also until a device that came back begins to play
			ticker.Reset(wallStep)
		} else {
			ticker.Reset(watchStep)
		}
		last = clock.Now()
		if !w.atRest(last) || w.queue.waits() || w.device != nil && w.asked.Load() == 0 {
			wished = last
		}
		if last.Sub(wished) > restAfter {
			if w.device != nil && !w.within(w.device.pause) {
				w.lose()
			}
			ticker.Stop()
			w.rest()
			last = clock.Now()
			wished = last
			ticker.Reset(wallStep)
		}
	}
}

// look begins a search for a device, unless one is under way or none is wanted.
// What it finds after the player was closed is closed too.
func (w *watcher) look() {
	if w.open == nil || w.found != nil {
		return
	}
	found := make(chan search)
	w.found = found
	guard.Go(func() {
		device, err := w.open(w.ctx, w.rate, w.render, func() { w.gone.Store(true) })
		select {
		case found <- search{device, err}:
		case <-w.ctx.Done():
			if err == nil {
				device.close()
			}
		}
	})
}

// attach starts the device that a search found, if it found one.
func (w *watcher) attach(s search) {
	w.found, w.retry = nil, clock.Now().Add(retryTime)
	if s.err != nil {
		if w.began.IsZero() { // else it is said that the device has gone
			w.say(noDevice(s.err))
		}
		return
	}
	w.device = s.device
	w.begin()
}

// begin starts the device.
func (w *watcher) begin() {
	w.gone.Store(false)
	w.asked.Store(0)
	w.fill, w.pace = w.device.buffered(), pace{}
	w.delay = time.Duration(w.fill+w.Delay())*time.Second/time.Duration(w.rate) + w.latency
	if !w.within(w.device.start) {
		w.lose()
		return
	}
	w.began = clock.Now()
	w.say("")
}

// within reports whether a call of the device came back in time without an error.
func (w *watcher) within(call func() error) bool {
	ctx, cancel := context.WithTimeout(w.ctx, stillTime)
	defer cancel()
	return guard.Within(ctx, call) == nil
}

// lose gives the device up. One that hangs may hang in its closing, too.
func (w *watcher) lose() {
	guard.Go(w.device.close)
	w.device = nil
	w.say("The sound device has gone: the click is seen, not heard.")
	w.retry = clock.Now().Add(retryTime)
}

// release lets the device go as the player is closed.
func (w *watcher) release() {
	if w.device == nil {
		return
	}
	ctx, cancel := context.WithTimeout(context.Background(), closeTime)
	defer cancel()
	_ = guard.Within(ctx, func() error { w.device.close(); return nil }) // one that hangs is left to itself
}

func (w *watcher) atRest(now time.Time) bool { return w.When(now.Add(wallAhead)).State <= Finished }

// rest waits, the device paused, until something is wished for, a device turned up
// or the player is closed. Meanwhile musical time stands still. Where a device is
// wanted and there is none it is looked for now and then.
func (w *watcher) rest() {
	w.log.anchored.Store(false)
	look := time.NewTicker(restRetry)
	defer look.Stop()
	for {
		select {
		case <-w.ctx.Done():
			return
		case <-look.C:
			if w.device == nil {
				w.look()
			}
		case s := <-w.found:
			if w.attach(s); w.device != nil {
				return
			}
		case <-w.queue.sent:
			if w.device != nil {
				w.begin()
			}
			return
		}
	}
}

// alive reports whether the device still plays.
func (w *watcher) alive(now time.Time) bool {
	if w.gone.Load() {
		return false
	}
	if asked := w.asked.Load(); asked != 0 {
		return w.since(now)-asked < int64(stillTime)
	}
	return now.Sub(w.began) < startTime
}
