package sound

import (
	"errors"
	"fmt"
	"math"
	"sync"
	"sync/atomic"

	"footfall/fretboard/playing"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// Mix is how loud each part is, in decibels from −60 to 0, and which parts are
// mute.
type Mix struct {
	ClickDB, BassDB, ShapesDB       float64
	MuteClick, MuteBass, MuteShapes bool
}

// DefaultMix lets the line stand out. Common practice, no source.
var DefaultMix = Mix{ClickDB: -9, BassDB: -6, ShapesDB: -9}

// scale holds each part's amplitude at 0 dB. It leaves room for all strings and
// the click at once, so that the limiter has little to do. In the default mix the
// line and the shapes sound within half a decibel as their velocities say.
var scale = [playing.Parts]float64{playing.PartClick: 1, playing.PartBass: 1.3, playing.PartShapes: 1.9}

func (m Mix) gains() [playing.Parts]float32 {
	gain := func(p playing.Part, db float64, mute bool) float32 {
		if mute {
			return 0
		}
		return float32(scale[p] * math.Pow(10, min(0, db)/20))
	}
	return [playing.Parts]float32{
		playing.PartClick:  gain(playing.PartClick, m.ClickDB, m.MuteClick),
		playing.PartBass:   gain(playing.PartBass, m.BassDB, m.MuteBass),
		playing.PartShapes: gain(playing.PartShapes, m.ShapesDB, m.MuteShapes),
	}
}

// Course says how the bars of the score follow each other.
type Course struct {
	// CountIn is the number of bars counted before the first pass, 0 to 2; with
	// CountEach before every pass.
	CountIn   int
	CountEach bool
	// First and Last are the bars of a pass, from 1; 0 and 0 is the whole score.
	First, Last int
	// Passes is how often it is played, 0 without end.
	Passes int
}

// Check says what is wrong with a course through so many bars.
func (c Course) Check(bars int) error {
	switch {
	case c.CountIn < 0 || c.CountIn > 2:
		return fmt.Errorf("count-in of %d bars: give 0, 1 or 2", c.CountIn)
	case c.Passes < 0:
		return fmt.Errorf("%d passes: give 0 (without end) or more", c.Passes)
	case c.First == 0 && c.Last == 0:
		return nil
	case c.First < 1 || c.Last < c.First || c.Last > bars:
		return fmt.Errorf("bars %d to %d: give bars from 1 to %d", c.First, c.Last, bars)
	}
	return nil
}

// span returns the course's bars in a score of so many.
func (c Course) span(bars int) (first, last int) {
	if c.First == 0 || c.First > bars {
		return 1, bars
	}
	return c.First, min(c.Last, bars)
}

type verb uint8

const (
	doPlay verb = iota
	doPause
	doStop
	doSkip
	setScore
	setCourse
	setTempo
	setPassTempo
	setTime
	setMix
)

// command is one wish of a screen, small enough to be copied.
type command struct {
	verb   verb
	score  *playing.Score
	course Course
	tempo  float64
	time   playing.Timekeeping
	mix    Mix
}

// queue carries commands to the audio callback. Senders take turns by a mutex
// that the callback never touches.
type queue struct {
	mu         sync.Mutex
	slots      [64]command
	head, tail atomic.Uint64
	// sent holds something once a command was sent, for who has none to wait for.
	sent chan struct{}
}

// ErrBusy says that the sound has stopped taking commands.
var ErrBusy = errors.New("the sound does not answer: too many changes wait for it")

func (q *queue) send(c command) error {
	q.mu.Lock()
	defer q.mu.Unlock()
	tail := q.tail.Load()
	if tail-q.head.Load() == uint64(len(q.slots)) {
		return ErrBusy
	}
	q.slots[tail%uint64(len(q.slots))] = c
	q.tail.Store(tail + 1)
	select {
	case q.sent <- struct{}{}:
	default:
	}
	return nil
}

// waits reports whether a command was sent and not received.
func (q *queue) waits() bool { return q.head.Load() != q.tail.Load() }

// receive is for the one who generates the sound only.
func (q *queue) receive() (command, bool) {
	head := q.head.Load()
	if head == q.tail.Load() {
		return command{}, false
	}
	c := q.slots[head%uint64(len(q.slots))]
	q.head.Store(head + 1)
	return c, true
}

// Play starts with the count-in, or goes on from the bar that Pause left.
func (e *Engine) Play() error { return e.queue.send(command{verb: doPlay}) }

// Pause silences the music at once and keeps its bar.
func (e *Engine) Pause() error { return e.queue.send(command{verb: doPause}) }

// Stop silences the music at once; Play begins again with pass 1.
func (e *Engine) Stop() error { return e.queue.send(command{verb: doStop}) }

// NextPass begins the next pass at the next bar line.
func (e *Engine) NextPass() error { return e.queue.send(command{verb: doSkip}) }

// SetScore replaces the music at the next bar line, by the same bars in another
// layer or key as a rule.
func (e *Engine) SetScore(s *playing.Score) error {
	if err := s.Check(); err != nil {
		return err
	}
	return e.queue.send(command{verb: setScore, score: s})
}

// SetCourse changes loop, count-in and passes at the next bar line. Bars beyond
// the score's end are taken as its last.
func (e *Engine) SetCourse(c Course) error {
	if err := c.Check(max(c.First, c.Last)); err != nil {
		return err
	}
	return e.queue.send(command{verb: setCourse, course: c})
}

// SetTempo changes the tempo, in quarter notes a minute, at the next bar line.
func (e *Engine) SetTempo(tempo float64) error { return e.sendTempo(setTempo, tempo) }

// SetPassTempo changes the tempo when the next pass (or its count-in) begins.
func (e *Engine) SetPassTempo(tempo float64) error { return e.sendTempo(setPassTempo, tempo) }

func (e *Engine) sendTempo(v verb, tempo float64) error {
	b := harmony.Bar{Meter: fourFour, Tempo: tempo, Swing: harmony.Swing{Falling: true}}
	if err := b.Check(); err != nil {
		return err
	}
	return e.queue.send(command{verb: v, tempo: tempo})
}

// SetTime changes what keeps time at the next bar line.
func (e *Engine) SetTime(t playing.Timekeeping) error {
	return e.queue.send(command{verb: setTime, time: t})
}

// SetMix changes the levels at once and the mutes at the next bar line, or at
// once while nothing plays.
func (e *Engine) SetMix(m Mix) error { return e.queue.send(command{verb: setMix, mix: m}) }

var fourFour = tune.Meter{Upper: 4, Lower: 4}
