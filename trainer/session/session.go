package session

import (
	"sync"
	"time"

	"footfall/trainer/clock"
)

// Session is a sitting, passes without sound, or a day, from its first event to
// its last: Begin tells what comes first, Do what comes of a command. It decides
// what is asked, when something ends and what is kept; a face shows what it tells.
// Its methods may be called from any goroutine; those that keep an answer wait for
// the disk.
type Session struct {
	mu    sync.Mutex
	clock *clock.Clock
	now   func() time.Time
	run   run
	told  []Told
	over  bool
	asked int
	// notice is the history's latest.
	notice  string
	history History
}

// run is what a session does: it tells its events on the session.
type run interface {
	// begin tells what comes first.
	begin(*Session)
	// do takes a command.
	do(*Session, Command)
	// stop ends it where it is. What is done is kept.
	stop(*Session)
	// over reports whether it has ended, and whether by being done.
	over() (over, done bool)
	// summary is what it came to.
	summary(*Session) any
}

func (d *Desk) session(r run) *Session {
	return &Session{clock: d.Clock, now: d.Now, run: r, history: d.History}
}

// Begin tells what comes first.
func (s *Session) Begin() []Told {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.run.begin(s)
	return s.flush()
}

// Do does what a command asks, and tells what came of it. After the end it does
// nothing.
func (s *Session) Do(c Command) []Told {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.over {
		return nil
	}
	switch c := c.(type) {
	case Unread:
		s.fault(c.Says)
	case Quit:
		s.run.stop(s)
	default:
		s.run.do(s, c)
	}
	return s.flush()
}

// Over reports whether the session has ended.
func (s *Session) Over() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.over
}

// flush returns what was told since the last time, the end too where it has come.
func (s *Session) flush() []Told {
	if over, _ := s.run.over(); over && !s.over {
		s.over = true
		s.tell(End{s.run.summary(s)})
	}
	told := s.told
	s.told = nil
	return told
}

func (s *Session) tell(e Event) { s.told = append(s.told, Told{s.now(), e}) }

func (s *Session) fault(says string) { s.tell(Fault{says}) }

// advance moves a clock that stands still.
func (s *Session) advance(d time.Duration) {
	if s.clock.Stopped() {
		s.clock.Advance(d)
	}
}

// notify tells the history's notice where it is another one, or what else went wrong.
func (s *Session) notify(err error) {
	says := ""
	if s.history != nil {
		says = s.history.Notice()
	}
	if says == "" && err != nil {
		says = err.Error()
	}
	if says != "" && says != s.notice {
		s.tell(Notice{says})
	}
	s.notice = says
}
