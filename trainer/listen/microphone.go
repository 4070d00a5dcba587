package listen

import (
	"context"
	"errors"
	"fmt"
	"math"
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
	// microphoneRate is what devices are asked for, in samples a second.
	microphoneRate = 48000
	// microphoneBlock is the longest piece that is handed to the analysis at
	// once, in samples, and microphoneBlocks how many may wait: over five seconds.
	microphoneBlock  = 1024
	microphoneBlocks = 256
	// microphoneRetry is how often a device that is away is tried again.
	microphoneRetry = 500 * time.Millisecond
	// clockDrift is how much faster than the clock a sound device may run.
	clockDrift = 200e-6
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
	s, err := hearing.NewSetup(microphoneRate)
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
			m.full <- piece{b, at - time.Duration(left)*time.Second/microphoneRate}
		default:
			m.Break(n)
		}
		samples = samples[n:]
	}
}

// listen hears until Close (nil) or until the device goes away (an error).
func (m *Microphone) listen() error {
	slow := time.AfterFunc(guard.AnswerTime, func() { m.Slow(m.Name() + ": it does not answer; waiting for it") })
	device, err := sound.OpenMicrophone(m.ctx, m.device, microphoneRate, m.capture, func() {
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
	a, err := hearing.New(microphoneRate)
	if err != nil {
		return err
	}
	m.Found(m.Now(), m.Name()+": listening")
	s := hearer{feed: m.Feed, strums: m.strums, began: -1, told: map[int]int{}}
	events := make([]hearing.Event, 0, 64)
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
				a.Learn(*r)
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
			m.expectClicks(a, s.began)
			events = a.Push(p.samples, events[:0])
			s.heard(events, len(p.samples), p.at)
			if m.meter.read(a, p.samples, microphoneRate) {
				m.show()
			}
			m.empty <- p.samples[:microphoneBlock]
		}
	}
}

// expectClicks hands the clicks that are known on to the analysis, on the clock
// of the captured sound.
func (m *Microphone) expectClicks(a *hearing.Analyser, began time.Duration) {
	for began >= 0 {
		select {
		case at := <-m.clicks:
			a.Click((at - began).Seconds())
		default:
			return
		}
	}
}

// hearer turns what an analyser hears into notes with times on the clock.
type hearer struct {
	feed   *Feed
	strums chan<- Strum
	pushed int
	// began is when the first sample was played, on the clock: the earliest that
	// any piece allows, since pieces come late but never early.
	began time.Duration
	told  map[int]int // note number by the ID of each note handed on
}

func (s *hearer) heard(events []hearing.Event, samples int, at time.Duration) {
	s.pushed += samples
	length := time.Duration(float64(s.pushed) / microphoneRate * float64(time.Second))
	piece := time.Duration(float64(samples) / microphoneRate * float64(time.Second))
	if first := at - length; s.began < 0 || first < s.began {
		s.began = first
	} else {
		s.began += time.Duration(clockDrift * float64(piece))
	}
	for _, e := range events {
		if e.Kind == hearing.Strummed {
			s.strum(e.Strum)
		}
		if e.Note.Part == hearing.Chord {
			continue // told by the strum: a single note of a chord proves nothing
		}
		switch e.Kind {
		case hearing.Surer:
			s.begin(e)
		case hearing.Began, hearing.Revised:
			if e.Note.Confidence >= hearing.SureToTell {
				s.begin(e)
			}
		case hearing.Settled:
			s.begin(e)
		case hearing.Doubted:
			s.begin(e)
			delete(s.told, e.ID) // it has no end
		case hearing.Rang:
			if midi, ok := s.told[e.ID]; ok && midi == e.Note.MIDI {
				n := noteHeard(e.Note, false)
				n.At, n.Rang, n.Rival = s.began+seconds(e.Note.Onset), true, e.Note.Tied()
				s.feed.Hand(n)
			}
		case hearing.Withdrawn, hearing.Ended:
			s.end(e, e.Note.Onset+e.Note.Duration)
		}
	}
}

func (s *hearer) strum(h hearing.Strum) {
	at := s.feed.calibration.Apply(Note{At: s.began + seconds(h.Onset)}).At
	select {
	case s.strums <- Strum{At: at, Heard: h}:
	default: // nobody reads them
	}
}

func (s *hearer) begin(e hearing.Event) {
	midi, ok := s.told[e.ID]
	if ok && midi == e.Note.MIDI {
		return
	}
	if ok {
		s.end(e, e.Note.Onset)
	}
	s.told[e.ID] = e.Note.MIDI
	n := noteHeard(e.Note, true)
	n.At += s.began
	s.feed.Hand(n)
}

func (s *hearer) end(e hearing.Event, ended float64) {
	midi, ok := s.told[e.ID]
	if !ok {
		return
	}
	delete(s.told, e.ID)
	s.feed.Hand(Note{At: s.began + seconds(ended), MIDI: midi, Confidence: e.Note.Confidence})
}

// loudest is the level in dB of full scale that counts as velocity 1, and
// softest as next to 0.
const (
	loudest = -6.0
	softest = -60.0
)

// noteHeard is a note's beginning, or its end, as heard.
func noteHeard(n hearing.Note, on bool) Note {
	out := Note{On: on, MIDI: n.MIDI, Confidence: n.Confidence}
	at := n.Onset
	if on {
		out.Cents, out.Rival = n.Cents, n.Tied()
		out.Velocity = math.Max(1.0/127, math.Min(1, (n.Level-softest)/(loudest-softest)))
	} else {
		at += n.Duration
	}
	out.At = seconds(at)
	return out
}

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }
