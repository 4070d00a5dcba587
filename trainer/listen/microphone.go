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
	// microphoneStill is how long a device that is there may hand on nothing: silence is
	// handed on like sound.
	microphoneStill = 2 * time.Second
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

// MicrophoneRemedy is what would bring microphones to this system, in a few words;
// "" where nothing that is installed would.
func MicrophoneRemedy() string {
	ctx, cancel := context.WithTimeout(context.Background(), guard.AnswerTime)
	defer cancel()
	_, err := sound.Microphones(ctx)
	return sound.Remedy(err)
}

// Microphone is an Input that hears a guitar. Which string a note is played on
// it cannot tell.
type Microphone struct {
	*Feed
	device string
	open   captureOpener
	strums chan Strum
	full   chan piece
	empty  chan []float32
	ctx    context.Context // ends when the microphone is closed
	cancel context.CancelFunc
	done   chan struct{}
	room   atomic.Pointer[hearing.Room]
	meter  *meter
	shown  atomic.Pointer[Meter]
	setup  chan setup
	clicks chan time.Duration
}

// captureOpener is sound.OpenMicrophone, or what a test has in its place.
type captureOpener func(ctx context.Context, name string, rate int, take func([]float32), gone func()) (sound.Microphone, error)

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
	return openMicrophone(device, o, sound.OpenMicrophone)
}

func openMicrophone(device string, o Options, open captureOpener) *Microphone {
	name := MicrophonePort
	if device != "" {
		name += ": " + device
	}
	m := &Microphone{
		Feed: NewFeed(name, o, name+": looking for it"), device: device, open: open, meter: newMeter(o.Strings),
		strums: make(chan Strum, StrumBacklog),
		full:   make(chan piece, microphoneBlocks), empty: make(chan []float32, microphoneBlocks),
		setup:  make(chan setup, 1),
		clicks: make(chan time.Duration, 64),
		done:   make(chan struct{}),
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

// forget lets go what a device handed on before it went away.
func (m *Microphone) forget() {
	for {
		select {
		case p := <-m.full:
			m.empty <- p.samples[:microphoneBlock]
		default:
			return
		}
	}
}

// listen hears until Close (nil) or until the device goes away (an error).
func (m *Microphone) listen() error {
	slow := time.AfterFunc(guard.AnswerTime, func() { m.Slow(m.Name() + ": it does not answer; waiting for it") })
	m.forget()
	away := make(chan struct{}, 1)
	var left atomic.Bool // a device that hung may hand on more when it is given up
	defer left.Store(true)
	device, err := m.open(m.ctx, m.device, EarRate, func(samples []float32) {
		if !left.Load() {
			m.capture(samples)
		}
	}, func() {
		select {
		case away <- struct{}{}:
		default:
		}
	})
	slow.Stop()
	if m.ctx.Err() != nil {
		return nil
	}
	if remedy := sound.Remedy(err); remedy != "" {
		return fmt.Errorf("%w (for sound: %s)", err, remedy)
	}
	if err != nil {
		return err
	}
	hangs := false
	defer func() {
		if hangs {
			guard.Go(device.Close) // may hang too
		} else {
			device.Close()
		}
	}()
	ear, err := NewEar(m.Feed, m.strums)
	if err != nil {
		return err
	}
	m.Found(m.Now(), m.Name()+": listening")
	still := time.NewTimer(microphoneStill)
	defer still.Stop()
	var learned *hearing.Room
	var now setup
	for {
		select {
		case <-m.ctx.Done():
			return nil
		case <-away:
			hangs = true
			return errors.New("it went away")
		case <-still.C:
			hangs = true
			return errors.New("it hands on nothing")
		case p := <-m.full:
			still.Reset(microphoneStill)
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
