package listen

import (
	"errors"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"gitlab.com/gomidi/midi/v2/drivers"
)

// plugboard is a driver whose ports a test plugs in and out.
type plugboard struct {
	mu    sync.Mutex
	ports []*socket
	err   error
}

func (p *plugboard) String() string               { return "plugboard" }
func (p *plugboard) Close() error                 { return nil }
func (p *plugboard) Outs() ([]drivers.Out, error) { return nil, nil }
func (p *plugboard) Ins() (ins []drivers.In, _ error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, s := range p.ports {
		ins = append(ins, s)
	}
	return ins, p.err
}

func (p *plugboard) plug(err error, ports ...*socket) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.ports, p.err = ports, err
}

type socket struct {
	name    string
	refuses error
	mu      sync.Mutex
	open    bool
	onMsg   func([]byte, int32)
}

func (s *socket) set(open bool, onMsg func([]byte, int32)) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.open, s.onMsg = open, onMsg
}
func (s *socket) send(bytes ...byte) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.onMsg != nil {
		s.onMsg(bytes, 0)
	}
	return s.onMsg != nil
}
func (s *socket) Open() error {
	s.set(s.refuses == nil, nil)
	return s.refuses
}
func (s *socket) Close() error            { s.set(false, nil); return nil }
func (s *socket) IsOpen() bool            { s.mu.Lock(); defer s.mu.Unlock(); return s.open }
func (s *socket) Number() int             { return 0 }
func (s *socket) String() string          { return s.name }
func (s *socket) Underlying() interface{} { return nil }
func (s *socket) Listen(onMsg func([]byte, int32), _ drivers.ListenConfig) (func(), error) {
	s.set(true, onMsg)
	return func() { s.set(true, nil) }, nil
}

func TestDriverPortComesAndGoes(t *testing.T) {
	board := &plugboard{}
	in := openDriver("Keys:Keys MIDI 1", board, Options{})
	line := func(want string) func() bool { return func() bool { return in.Status().Line == want } }
	until(t, "not there", line("Keys:Keys MIDI 1: not plugged in; waiting for it"))

	first := &socket{name: "Keys:Keys MIDI 1 20:0", refuses: errors.New("busy")}
	board.plug(nil, &socket{name: "Through 14:0"}, first)
	until(t, "busy", line("Keys:Keys MIDI 1: busy; waiting for it"))

	second := &socket{name: "Keys:Keys MIDI 1 24:0"} // another address after replugging
	board.plug(nil, second)
	until(t, "hearing", line("Keys:Keys MIDI 1: listening"))
	assert.True(t, second.send(0x92, 45, 127))
	assert.True(t, second.send(0xF8))
	n := next(t, in)
	n.At = 0
	assert.Equal(t, Note{On: true, MIDI: 45, Channel: 3, Velocity: 1, Confidence: 1}, n)

	board.plug(errors.New("the system's MIDI is away"))
	until(t, "lost", line("Keys:Keys MIDI 1: the system's MIDI is away; waiting for it"))
	assert.False(t, second.IsOpen())

	third := &socket{name: "Keys:Keys MIDI 1 28:0"}
	board.plug(nil, third)
	until(t, "back", line("Keys:Keys MIDI 1: listening"))
	assert.NoError(t, in.Close())
	assert.NoError(t, in.Close())
	assert.False(t, third.IsOpen())
	_, ok := <-in.Notes()
	assert.False(t, ok)
	assert.Len(t, in.Absent(0, time.Hour), 3)
}
