package listen

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync/atomic"
	"time"

	"footfall/trainer/guard"
	"footfall/trainer/hearing"
	"footfall/trainer/sound"
)

// MicrophonePort is the name under which Open listens by the system's own
// microphone; with ": " and a device's name after it, by that one.
const MicrophonePort = "microphone"

const (
	// microphoneBlock is the longest piece that is handed to the analysis at
	// once, in samples, and microphoneBlocks how many may wait: over five seconds.
	microphoneBlock  = 1024
	microphoneBlocks = 256
	// microphoneRetry is how often a device that is away is tried again.
	microphoneRetry = 500 * time.Millisecond
)

// IsMicrophone says whether a port's name means a microphone, and which.
func IsMicrophone(name string) (device string, ok bool) {
	if name == MicrophonePort {
		return "", true
	}
	return strings.CutPrefix(name, MicrophonePort+": ")
}

// MicrophonePorts lists the microphones that are there now as Open takes them,
// none where sound cannot be captured, or where nothing answers in two seconds.
func MicrophonePorts() []string {
	ctx, cancel := context.WithTimeout(context.Background(), guard.AnswerTime)
	defer cancel()
	names, err := sound.Microphones(ctx)
	if err != nil {
		return nil
	}
	ports := make([]string, len(names))
	for i, name := range names {
		ports[i] = MicrophonePort + ": " + name
	}
	return ports
}

// Microphone is an Input that hears a guitar. Which string a note is played on
// it cannot tell.
type Microphone struct {
	*Feed
	device string
	strums chan Strum
	full   chan piece
	empty  chan []float32
	ctx    context.Context // ends when the microphone is closed
	cancel context.CancelFunc
	done   chan struct{}
	away   chan struct{}
	room   atomic.Pointer[hearing.Room]
	meter  *meter
	shown  atomic.Pointer[Meter]
	setup  chan setup
	clicks chan time.Duration
}

// setup is a set-up that is under way and where its answer goes.
type setup struct {
	*hearing.Setup
	room chan<- hearing.Room
}

// piece is captured sound and when its last sample came.
type piece struct {
	samples []float32
	at      time.Duration
}

// OpenMicrophone starts listening by a capture device, "" for the system's
// choice.
func OpenMicrophone(device string, o Options) *Microphone {
	name := MicrophonePort
	if device != "" {
		name += ": " + device
	}
	m := &Microphone{
		Feed: NewFeed(name, o, name+": looking for it"), device: device, meter: newMeter(o.Strings),
		strums: make(chan Strum, StrumBacklog),
		full:   make(chan piece, microphoneBlocks), empty: make(chan []float32, microphoneBlocks),
		setup:  make(chan setup, 1),
		clicks: make(chan time.Duration, 64),
		done:   make(chan struct{}), away: make(chan struct{}, 1),
	}
	m.ctx, m.cancel = context.WithCancel(context.Background())
	m.show()
	if r := o.Calibration.Room; r != nil {
		m.Learn(*r)
	}
	for range microphoneBlocks {
		m.empty <- make([]float32, microphoneBlock)
	}
	guard.Go(m.run)
	return m
}

// Learn makes the microphone expect a room that a set-up learned.
func (m *Microphone) Learn(r hearing.Room) { m.room.Store(&r) }

// Click tells that the program's own click sounds at a time on the clock, as soon
// as that is known, so that the click in the room is not taken for a note. It
// never blocks.
func (m *Microphone) Click(at time.Duration) {
	select {
	case m.clicks <- at:
	default: // so many wait only where nothing is heard
	}
}

// SetUp listens for hearing.SetupSeconds and then sends what it learned of the
// room. It learns nothing while the device is away. One set-up runs at a time.
func (m *Microphone) SetUp() (<-chan hearing.Room, error) {
	s, err := hearing.NewSetup(EarRate)
	if err != nil {
		return nil, err
	}
	room := make(chan hearing.Room, 1)
	select {
	case m.setup <- setup{s, room}:
		return room, nil
	default:
		return nil, errors.New("a set-up is under way already")
	}
}

// Strums is Input's.
func (m *Microphone) Strums() <-chan Strum { return m.strums }

// Meter returns what the meter shows now.
func (m *Microphone) Meter() Meter { return *m.shown.Load() }

// show publishes what the meter shows.
func (m *Microphone) show() {
	now := m.meter.Meter
	m.shown.Store(&now)
}

// Close is Input's.
func (m *Microphone) Close() error {
	m.Shut()
	m.cancel()
	return m.letGo(m.done)
}

func (m *Microphone) run() {
	defer close(m.done)
	for {
		err := m.listen()
		if err == nil {
			return
		}
		m.Lost(m.Now(), fmt.Sprintf("%s: %v; waiting for it", m.Name(), err))
		select {
		case <-m.ctx.Done():
			return
		case <-time.After(microphoneRetry):
		}
	}
}

// capture takes sound on the device's thread. Where the analysis is behind by
// seconds, sound is let go and counted.
func (m *Microphone) capture(samples []float32) {
	defer guard.Catch()
	at := m.Now()
	for len(samples) > 0 {
		n := min(len(samples), microphoneBlock)
		select {
		case b := <-m.empty:
			b = b[:n]
			copy(b, samples)
			left := len(samples) - n
			m.full <- piece{b, at - time.Duration(left)*time.Second/EarRate}
		default:
			m.Break(n)
		}
		samples = samples[n:]
	}
}

// listen hears until Close (nil) or until the device goes away (an error).
func (m *Microphone) listen() error {
	slow := time.AfterFunc(guard.AnswerTime, func() { m.Slow(m.Name() + ": it does not answer; waiting for it") })
	device, err := sound.OpenMicrophone(m.ctx, m.device, EarRate, m.capture, func() {
		select {
		case m.away <- struct{}{}:
		default:
		}
	})
	slow.Stop()
	if m.ctx.Err() != nil {
		return nil
	}
	if err != nil {
		return err
	}
	defer device.Close()
	ear, err := NewEar(m.Feed, m.strums)
	if err != nil {
		return err
	}
	m.Found(m.Now(), m.Name()+": listening")
	var learned *hearing.Room
	var now setup
	for {
		select {
		case <-m.ctx.Done():
			return nil
		case <-m.away:
			return errors.New("it went away")
		case p := <-m.full:
			if r := m.room.Load(); r != nil && r != learned {
				ear.Learn(*r)
				learned = r
			}
			if now.Setup == nil {
				select {
				case now = <-m.setup:
				default:
				}
			}
			if now.Setup != nil && now.Push(p.samples) {
				now.room <- now.Room()
				now = setup{}
			}
			m.expectClicks(ear)
			ear.Hear(p.samples, p.at)
			if m.meter.read(ear.Analyser, p.samples, EarRate) {
				m.show()
			}
			m.empty <- p.samples[:microphoneBlock]
		}
	}
}

// expectClicks hands the clicks that are known on to the analysis, on the clock
// of the captured sound.
func (m *Microphone) expectClicks(e *Ear) {
	for e.began >= 0 {
		select {
		case at := <-m.clicks:
			e.Click((at - e.began).Seconds())
		default:
			return
		}
	}
}
