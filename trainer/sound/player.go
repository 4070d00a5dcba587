package sound

import (
	"cmp"
	"context"
	"sync/atomic"
	"time"

	"footfall/fretboard/playing"
	"footfall/harmony"
	"footfall/trainer/clock"
	"footfall/trainer/guard"
)

// Options say how the sound is opened.
type Options struct {
	// Rate is the samples a second asked for, 0 for 48,000.
	Rate int
	// Mute opens no device: the transport runs on the wall clock.
	Mute bool
	// Latency is added to what the device says of its own, as a calibration found
	// it.
	Latency time.Duration
}

// Player runs an Engine on a sound device, or on the wall clock where there is
// none, and knows which sample is heard at which moment. Losing the device
// changes neither the transport nor the clock; only the sound is gone, until a
// device answers again. Nothing that a caller does waits for the device.
type Player struct {
	*Engine
	opened  time.Time
	latency time.Duration
	// ctx ends when the player is closed, done closes when it has let all go.
	ctx    context.Context
	cancel context.CancelFunc
	done   chan struct{}
	// turn is held by whoever generates at the moment. Nobody waits for it: a
	// device that finds it taken plays silence.
	turn   atomic.Bool
	asked  atomic.Int64 // when the device last asked for samples, ns since opened; 0 not yet
	gone   atomic.Bool
	status atomic.Pointer[string]
	latest atomic.Int64 // the latest musical time told, so that time never falls back
	sleeps atomic.Int64 // how often the machine slept while the music ran

	// The rest belongs to whoever has the turn.

	pace  pace
	delay time.Duration
	// fill is how many samples the device asks for before it begins to play.
	fill int
	// awake is when samples were last generated, ns since opened.
	awake int64
}

// output is a sound device that asks for samples until it is closed. Its start,
// pause and close may hang, and wait for each other.
type output interface {
	start() error
	// pause stops the asking until start is called again.
	pause() error
	close()
	// buffered returns how many samples wait to be heard once those asked for have
	// been handed over.
	buffered() int
}

// opener opens the default device for one channel at a rate. The device calls
// render from its own thread, and gone once if it goes away by itself. It may
// hang, beyond the end of its context too.
type opener func(ctx context.Context, rate int, render func([]float32), gone func()) (output, error)

const (
	defaultRate = 48000
	wallStep    = 10 * time.Millisecond
	wallAhead   = 30 * time.Millisecond  // so that a bar is known before it is heard
	answerTime  = 2 * time.Second        // a device that is not there by then is not waited for
	closeTime   = 300 * time.Millisecond // a device that takes longer to close hangs
	startTime   = 3 * time.Second        // a device that has not begun to play by then never will
	stillTime   = time.Second            // one that asks for nothing so long is gone
	watchStep   = 100 * time.Millisecond
	retryTime   = 5 * time.Second
	restRetry   = 30 * time.Second // looking for a device costs, and at rest it can wait
	restAfter   = 2 * time.Second  // strings and clicks have died away long before
	asleep      = 5 * time.Second  // with no samples for so long, the machine or the program stood still
)

// Open starts the sound with a score, at rest. It always succeeds with a score
// that passes Check, and returns at once: a device attaches when it answers, and
// music that is wished for before waits for it, guard.AnswerTime at most. Status says
// where there is no sound.
func Open(s *playing.Score, o Options) (*Player, error) { return openWith(s, o, openDevice) }

func openWith(s *playing.Score, o Options, open opener) (*Player, error) {
	engine, err := NewEngine(cmp.Or(o.Rate, defaultRate), s)
	if err != nil {
		return nil, err
	}
	p := &Player{Engine: engine, opened: clock.Now(), latency: o.Latency, done: make(chan struct{})}
	p.ctx, p.cancel = context.WithCancel(context.Background())
	w := &watcher{Player: p}
	p.say("")
	if o.Mute {
		p.say("The sound is off: the click is seen, not heard.")
	} else {
		w.open = open
	}
	guard.Go(w.run)
	return p, nil
}

// render is the device's callback.
func (p *Player) render(buf []float32) {
	defer guard.Catch()
	if !p.turn.CompareAndSwap(false, true) {
		clear(buf)
		return
	}
	ns := p.since(clock.Now())
	p.wake(ns)
	p.Render(buf)
	if p.fill -= len(buf); p.fill < 0 {
		p.asked.Store(ns)
		p.log.setAnchor(p.frames, p.pace.ask(ns, len(buf), p.rate)+int64(p.delay))
	}
	p.turn.Store(false)
}

// advance moves the transport to where the clock stands.
func (p *Player) advance(now time.Time) {
	if !p.turn.CompareAndSwap(false, true) {
		return
	}
	defer p.turn.Store(false)
	ns := p.since(now)
	if !p.log.anchored.Load() {
		p.log.setAnchor(p.frames, ns)
		p.awake = ns
	}
	p.wake(ns)
	t := p.log.heard(p.since(now.Add(wallAhead)), p.rate)
	if n := t.Sample(p.rate) - p.frames; n > 0 {
		p.Advance(n)
	}
}

// wake lets the music go on from where it was, instead of making up for hours,
// where the machine was suspended or the program stopped. It is for whoever has
// the turn.
func (p *Player) wake(ns int64) {
	slept := p.log.anchored.Load() && ns-p.awake > int64(asleep)
	p.awake = ns
	if !slept {
		return
	}
	p.log.setAnchor(p.frames, ns)
	p.latest.Store(int64(harmony.InstantOfSample(p.frames, p.rate)))
	if p.moves.running() {
		p.sleeps.Add(1)
	}
}

// Sleeps returns how often the machine slept, or the program was stopped, for
// more than some seconds while the music ran. The music then goes on from where
// it was.
func (p *Player) Sleeps() int64 { return p.sleeps.Load() }

// Close stops the sound and lets the device go: one that hangs is left to itself
// after closeTime. Closing again does nothing.
func (p *Player) Close() {
	p.cancel()
	<-p.done
}

// Status returns one line on what is wrong with the sound, empty if nothing is.
func (p *Player) Status() string { return *p.status.Load() }

func (p *Player) say(status string) { p.status.Store(&status) }

func (p *Player) since(t time.Time) int64 { return int64(t.Sub(p.opened)) }

// Now says what is heard now. Its times never fall back, but where the machine
// slept.
func (p *Player) Now() Now {
	for {
		latest := p.latest.Load()
		t := p.instant(clock.Now())
		if int64(t) <= latest {
			return p.At(harmony.Instant(latest))
		}
		if p.latest.CompareAndSwap(latest, int64(t)) {
			return p.At(t)
		}
	}
}

// When says what was heard at a moment, such as the time stamp of a note that
// was listened to.
func (p *Player) When(t time.Time) Now { return p.At(p.instant(t)) }

func (p *Player) instant(t time.Time) harmony.Instant {
	return p.log.heard(p.since(t), p.rate)
}
