package session

import (
	"sync"
	"time"
)

// Session is a sitting, passes without sound, or a day, from its first event to
// its last: Begin tells what comes first, Do what comes of a command. It decides
// what is asked, when something ends and what is kept; a face shows what it tells.
// Its methods may be called from any goroutine; those that keep an answer wait for
// the disk.
type Session struct {
	mu    sync.Mutex
	desk  *Desk
	at    time.Time // the moment by the clock of what is done
	run   run
	told  []Told
	over  bool
	asked int
	// notice is the history's latest.
	notice string
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
	return &Session{desk: d, run: r}
}

// Begin tells what comes first.
func (s *Session) Begin() []Told {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.look()
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
	s.look()
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

// FirstKey notes when the player began to answer.
func (s *Session) FirstKey() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if q, ok := s.run.(*questions); ok {
		q.sitting.FirstKey(s.desk.Now())
	}
}

// Over reports whether the session has ended.
func (s *Session) Over() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.over
}

// flush returns what was told since the last time, the end too where it has come.
func (s *Session) flush() []Told {
	if over, done := s.run.over(); over && !s.over {
		s.over = true
		if q, ok := s.run.(*questions); ok && q.agenda != nil { // a step that stands alone
			q.agenda.endedSoon(q.n, done)
		}
		s.tell(End{s.run.summary(s), done})
	}
	told := s.told
	s.told = nil
	return told
}

// look looks at the clock, which everything that comes of a command goes by.
func (s *Session) look() { s.at = s.desk.Now() }

func (s *Session) now() time.Time { return s.at }

func (s *Session) tell(e Event) { s.told = append(s.told, Told{s.at, e}) }

func (s *Session) fault(says string) { s.tell(Fault{says}) }

// advance moves a clock that stands still.
func (s *Session) advance(d time.Duration) {
	if s.desk.Clock.Stopped() {
		s.desk.Clock.Advance(d)
		s.look()
	}
}

// notify tells the history's notice where it is another one, or what else went wrong.
func (s *Session) notify(err error) {
	says := ""
	if s.desk.History != nil {
		says = s.desk.History.Notice()
	}
	if says == "" && err != nil {
		says = err.Error()
	}
	if says != s.notice {
		s.tell(Notice{says})
	}
	s.notice = says
}
