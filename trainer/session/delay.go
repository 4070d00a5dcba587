package session

import (
	"time"

	"footfall/trainer/guard"
)

// Delay returns how late the input seems to be, early below 0: the whole of the last pass
// was so late. False where it was not, nobody listens, or that delay was kept already.
func (s *PlayAlong) Delay() (time.Duration, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.delay()
}

func (s *PlayAlong) delay() (time.Duration, bool) {
	n := len(s.results)
	if n == 0 || s.delayKept == n || s.input == nil || s.sounding.KeepDelay == nil {
		return 0, false
	}
	if sc := s.results[n-1].Score; sc != nil && sc.Throughout() {
		return sc.Fit.Offset, true
	}
	return 0, false
}

// KeepDelay takes the delay that Delay returns off what is heard from now on, and has it
// kept for when the input is opened again. It does nothing where there is none.
func (s *PlayAlong) KeepDelay() {
	s.mu.Lock()
	defer s.mu.Unlock()
	late, ok := s.delay()
	if !ok {
		return
	}
	s.delayKept = len(s.results)
	s.input.Later(late)
	s.follower.earlier(late)
	port, notes, keep := s.input.Name(), s.results[s.delayKept-1].Score.Matched, s.sounding.KeepDelay
	guard.Go(func() {
		if err := keep(port, late, notes); err != nil {
			s.mu.Lock()
			defer s.mu.Unlock()
			s.notice = err.Error()
		}
	})
}

// earlier takes what is heard, and what was heard of the pass now playing, to be so much
// earlier.
func (s *follower) earlier(by time.Duration) {
	s.tape.Earlier(by)
	s.live.Earlier(by)
}
