package listen

import (
	"context"
	"errors"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"gitlab.com/gomidi/midi/v2/drivers"

	"footfall/trainer/guard"
	"footfall/trainer/sound"
)

// stand is where microphones of a test are plugged in: each hands on silence, until it is
// told to hang.
type stand struct {
	mu     sync.Mutex
	hangs  bool // those that are there hand on nothing, and do not close
	none   bool // there is no other
	opened int
	gone   func()
}

func (s *stand) set(do func()) {
	s.mu.Lock()
	defer s.mu.Unlock()
	do()
}

type standing struct {
	stand  *stand
	closed chan struct{}
	hung   bool
}

func (d *standing) Close() {
	close(d.closed)
	d.stand.mu.Lock()
	hung := d.hung
	d.stand.mu.Unlock()
	if hung {
		time.Sleep(time.Hour)
	}
}

func (s *stand) open(ctx context.Context, _ string, rate int, take func([]float32), gone func()) (sound.Microphone, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.none {
		return nil, errors.New("there is none")
	}
	s.opened++
	s.gone = gone
	d := &standing{stand: s, closed: make(chan struct{})}
	guard.Go(func() {
		for {
			select {
			case <-d.closed:
				return
			case <-time.After(10 * time.Millisecond):
			}
			s.mu.Lock()
			d.hung = d.hung || s.hangs
			hung := d.hung
			s.mu.Unlock()
			if !hung {
				take(make([]float32, rate/100))
			}
		}
	})
	return d, nil
}

// A microphone that hands on nothing any more, though nobody said that it went away, is
// given up within seconds, told, and looked for: another, or the same that answers again,
// is heard by itself.
func TestAMicrophoneThatFallsSilentForGood(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := &stand{}
		in := openMicrophone("", Options{}, s.open)
		time.Sleep(time.Minute)
		assert.Equal(t, Status{State: Hearing, Line: "microphone: listening"}, in.Status(), "silence is no absence")
		lost := in.Now()
		s.set(func() { s.hangs, s.none = true, true })
		time.Sleep(microphoneStill + 100*time.Millisecond)
		assert.Equal(t, Waiting, in.Status().State)
		assert.Equal(t, "microphone: it hands on nothing; waiting for it", in.Status().Line)
		time.Sleep(time.Minute)
		assert.Equal(t, "microphone: there is none; waiting for it", in.Status().Line)
		s.set(func() { s.hangs, s.none = false, false })
		time.Sleep(2 * microphoneRetry)
		assert.Equal(t, Hearing, in.Status().State)
		assert.Equal(t, 2, s.opened)
		absent := in.Absent(0, in.Now())
		assert.Len(t, absent, 1)
		assert.Less(t, absent[0].From-lost, microphoneStill+200*time.Millisecond)
		s.gone() // as when it is unplugged, and there is another
		time.Sleep(2 * microphoneRetry)
		assert.Equal(t, Hearing, in.Status().State)
		assert.Equal(t, 3, s.opened)
		assert.NoError(t, in.Close())
		time.Sleep(2 * time.Hour) // the one that hung comes back
	})
}

// slowBoard is a driver that does not answer while it is stuck.
type slowBoard struct {
	plugboard
	stuck chan struct{}
}

func (b *slowBoard) Ins() ([]drivers.In, error) {
	b.mu.Lock()
	stuck := b.stuck
	b.mu.Unlock()
	if stuck != nil {
		<-stuck
	}
	return b.plugboard.Ins()
}

// A MIDI driver that does not answer is told of within seconds, and heard again when it
// does.
func TestADriverThatHangs(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		board := &slowBoard{}
		board.plug(nil, &socket{name: "Pickup"})
		in := openDriver("Pickup", board, Options{})
		time.Sleep(time.Minute)
		assert.Equal(t, Hearing, in.Status().State)
		stuck := make(chan struct{})
		board.mu.Lock()
		board.stuck = stuck
		board.mu.Unlock()
		time.Sleep(guard.AnswerTime + driverLook + time.Millisecond)
		assert.Equal(t, Status{State: Waiting, Line: "Pickup: it does not answer; waiting for it"}, in.Status())
		board.mu.Lock()
		board.stuck = nil
		board.mu.Unlock()
		close(stuck)
		time.Sleep(driverLook)
		assert.Equal(t, Hearing, in.Status().State)
		assert.NoError(t, in.Close())
	})
}
