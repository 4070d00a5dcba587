package sound

import (
	"fmt"
	"sync"
	"sync/atomic"
	"time"

	"footfall/drills/take"
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
// device answers again.
type Player struct {
	*Engine
	opened  time.Time
	latency time.Duration
	open    opener
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

	stop    chan struct{}
	closing sync.Once
	done    sync.WaitGroup
}

// output is a sound device that asks for samples until it is closed.
type output interface {
	start() error
	// pause stops the asking until start is called again.
	pause() error
	close()
	rate() int
	// buffered returns how many samples wait to be heard once those asked for have
	// been handed over.
	buffered() int
}

// opener opens the default device for one channel at a rate, 0 for the device's
// own. The device calls render from its own thread, and gone once if it goes
// away by itself.
type opener func(rate int, render func([]float32), gone func()) (output, error)

const (
	defaultRate = 48000
	wallStep    = 10 * time.Millisecond
	wallAhead   = 30 * time.Millisecond // so that a bar is known before it is heard
	startTime   = 3 * time.Second       // a device that has not begun to play by then never will
	stillTime   = time.Second           // one that asks for nothing so long is gone
	watchStep   = 100 * time.Millisecond
	retryTime   = 5 * time.Second
	restRetry   = 30 * time.Second // looking for a device costs, and at rest it can wait
	restAfter   = 2 * time.Second  // strings and clicks have died away long before
	asleep      = 5 * time.Second  // with no samples for so long, the machine or the program stood still
)

// Open starts the sound with a score, at rest. It always succeeds with a score
// that passes Check; Status says where there is no sound.
func Open(s *Score, o Options) (*Player, error) { return openWith(s, o, openDevice) }

func openWith(s *Score, o Options, open opener) (*Player, error) {
	p := &Player{opened: time.Now(), latency: o.Latency, open: open, stop: make(chan struct{})}
	rate := o.Rate
	if rate == 0 {
		rate = defaultRate
	}
	var device output
	status := "The sound is off: the click is seen, not heard."
	if !o.Mute {
		device, status = p.findDevice(rate)
	}
	if device != nil {
		rate = device.rate()
	}
	var err error
	if p.Engine, err = NewEngine(rate, s); err != nil {
		if device != nil {
			device.close()
		}
		return nil, err
	}
	p.say(status)
	if device != nil {
		if err := p.begin(device); err != nil {
			device = nil
			p.say(noDevice(err))
		}
	}
	p.done.Add(1)
	guard.Go(func() { p.watch(device, !o.Mute) })
	return p, nil
}

// findDevice opens a device at the rate, at another where it refuses, or none.
func (p *Player) findDevice(rate int) (device output, status string) {
	var first error
	for _, r := range []int{rate, 44100, 0} {
		device, err := p.open(r, p.render, func() { p.gone.Store(true) })
		if err == nil {
			if got := device.rate(); got != rate {
				status = fmt.Sprintf("The sound device refuses %d samples a second and plays %d.", rate, got)
			}
			return device, status
		}
		if first == nil {
			first = err
		}
	}
	return nil, noDevice(first)
}

func noDevice(err error) string {
	return fmt.Sprintf("No sound (%v): the click is seen, not heard.", err)
}

func (p *Player) begin(device output) error {
	p.gone.Store(false)
	p.asked.Store(0)
	p.fill, p.pace = device.buffered(), pace{}
	p.delay = time.Duration(device.buffered()+p.Delay())*time.Second/time.Duration(p.rate) + p.latency
	if err := device.start(); err != nil {
		device.close()
		return err
	}
	return nil
}

// render is the device's callback.
func (p *Player) render(buf []float32) {
	defer guard.Catch()
	if !p.turn.CompareAndSwap(false, true) {
		clear(buf)
		return
	}
	ns := p.since(time.Now())
	p.wake(ns)
	p.Render(buf)
	if p.fill -= len(buf); p.fill < 0 {
		p.asked.Store(ns)
		p.log.setAnchor(p.frames, p.pace.ask(ns, len(buf), p.rate)+int64(p.delay))
	}
	p.turn.Store(false)
}

// watch keeps the transport going where no device does, and finds out when one
// goes away or comes back. When nothing plays it lets the device and itself rest
// until something is wished for.
func (p *Player) watch(device output, wanted bool) {
	defer p.done.Done()
	ticker := time.NewTicker(wallStep)
	defer ticker.Stop()
	began := time.Now()
	retry, last := began.Add(retryTime), began
	wished := began.Add(-restAfter) // nothing sounds yet
	lose := func(now time.Time) {
		// A device that hangs may hang in its closing, too.
		guard.Go(device.close)
		device = nil
		p.say("The sound device has gone: the click is seen, not heard.")
		retry = now.Add(retryTime)
	}
	for {
		select {
		case <-p.stop:
			if device != nil {
				device.close()
			}
			return
		case <-p.queue.sent:
			wished = time.Now()
			continue
		case <-ticker.C:
		}
		now := time.Now()
		if now.Sub(last) > asleep {
			began = now // what the device did meanwhile says nothing of it
			p.asked.Store(0)
		}
		if device != nil && !p.alive(now, began) {
			lose(now)
			ticker.Reset(wallStep)
		}
		switch {
		case device == nil && wanted && now.After(retry):
			p.advance(now)
			began = time.Now()
			device = p.reopen()
			retry = time.Now().Add(retryTime)
		case device == nil || p.asked.Load() == 0 && p.log.anchored.Load():
			p.advance(now) // also until a device that came back begins to play
			ticker.Reset(wallStep)
		default:
			ticker.Reset(watchStep)
		}
		last = time.Now()
		if !p.atRest(last) || p.queue.waits() || device != nil && p.asked.Load() == 0 {
			wished = last
		}
		if last.Sub(wished) > restAfter {
			if device != nil && !p.pause(device) {
				lose(last)
			}
			ticker.Stop()
			device = p.rest(device, wanted)
			began = time.Now()
			retry, last, wished = began.Add(retryTime), began, began
			ticker.Reset(wallStep)
		}
	}
}

func (p *Player) atRest(now time.Time) bool { return p.When(now.Add(wallAhead)).State <= Finished }

// pause lets a device rest, and reports whether it took that.
func (p *Player) pause(device output) bool {
	paused := make(chan error, 1)
	guard.Go(func() { paused <- device.pause() })
	select {
	case err := <-paused:
		return err == nil
	case <-time.After(startTime):
		return false
	}
}

// rest waits, its device paused, until something is wished for or the player is
// closed, and returns the device that then plays, if any. Meanwhile musical time
// stands still. Where a device is wanted and there is none it is looked for now
// and then.
func (p *Player) rest(device output, wanted bool) output {
	p.log.anchored.Store(false)
	var look <-chan time.Time
	if device == nil && wanted {
		ticker := time.NewTicker(restRetry)
		defer ticker.Stop()
		look = ticker.C
	}
	for {
		select {
		case <-p.stop:
			return device
		case <-look:
			if device = p.reopen(); device != nil {
				return device
			}
		case <-p.queue.sent:
			if device == nil {
				return nil
			}
			if err := p.begin(device); err != nil {
				p.say(noDevice(err))
				return nil
			}
			return device
		}
	}
}

// alive reports whether the device that was started at a time still plays.
func (p *Player) alive(now, began time.Time) bool {
	if p.gone.Load() {
		return false
	}
	if asked := p.asked.Load(); asked != 0 {
		return p.since(now)-asked < int64(stillTime)
	}
	return now.Sub(began) < startTime
}

// reopen tries for a device at the engine's rate.
func (p *Player) reopen() output {
	device, err := p.open(p.rate, p.render, func() { p.gone.Store(true) })
	if err != nil {
		return nil
	}
	if device.rate() != p.rate {
		device.close()
		return nil
	}
	if p.begin(device) != nil {
		return nil
	}
	p.say("")
	return device
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
	p.latest.Store(int64(take.InstantOfSample(p.frames, p.rate)))
	if p.moves.running() {
		p.sleeps.Add(1)
	}
}

// Sleeps returns how often the machine slept, or the program was stopped, for
// more than some seconds while the music ran. The music then goes on from where
// it was.
func (p *Player) Sleeps() int64 { return p.sleeps.Load() }

// Close stops the sound and lets the device go. Closing again does nothing.
func (p *Player) Close() {
	p.closing.Do(func() { close(p.stop) })
	p.done.Wait()
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
		t := p.instant(time.Now())
		if int64(t) <= latest {
			return p.At(take.Instant(latest))
		}
		if p.latest.CompareAndSwap(latest, int64(t)) {
			return p.At(t)
		}
	}
}

// When says what was heard at a moment, such as the time stamp of a note that
// was listened to.
func (p *Player) When(t time.Time) Now { return p.At(p.instant(t)) }

func (p *Player) instant(t time.Time) take.Instant {
	return p.log.heard(p.since(t), p.rate)
}
