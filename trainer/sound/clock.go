package sound

import (
	"math"
	"sync/atomic"
	"time"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// Played is a bar as the transport played it, or a moment from which it was at
// rest.
type Played struct {
	State State
	Pass  int
	// Number is the bar in the score, from 1; the last bar of a count-in is 0, the
	// one before −1.
	Number int
	// Start is its time since the sound was opened.
	Start harmony.Instant
	Bar   harmony.Bar
}

// Now is what sounds at a moment.
type Now struct {
	State State
	Pass  int
	// Point is the bar, beat and part of the beat. In a count-in, bars are 0 and
	// below; at rest it is where the music stopped.
	harmony.Point
	Bar harmony.Bar
	// Start is when the bar began and At the moment asked for, both since the
	// sound was opened.
	Start, At harmony.Instant
}

// logSize is how many bars are remembered: at 300 quarter notes a minute in 2/4,
// the shortest there are, over three minutes.
const logSize = 512

// barLog carries what was played, and how sample numbers lie in time, to its
// readers. The one writer never waits; a reader who was overtaken reads again.
type barLog struct {
	version atomic.Uint64 // odd while the writer writes
	count   atomic.Uint64 // bars ever added
	bars    [logSize]loggedBar
	// anchor is a sample number and the time, in ns since the sound was opened,
	// at which it is heard.
	anchorFrame, anchorTime atomic.Int64
	anchored                atomic.Bool
	// made is how many samples have been generated.
	made atomic.Int64
}

type loggedBar struct{ start, tempo, meter, swing, place atomic.Int64 }

func (l *barLog) add(p Played) {
	l.version.Add(1)
	n := l.count.Load()
	b := &l.bars[n%logSize]
	b.start.Store(int64(p.Start))
	b.tempo.Store(int64(math.Float64bits(p.Bar.Tempo)))
	b.meter.Store(int64(p.Bar.Meter.Upper)<<32 | int64(p.Bar.Meter.Lower))
	swing := int64(p.Bar.Swing.Ratio.Long)<<32 | int64(uint32(p.Bar.Swing.Ratio.Short))
	if p.Bar.Swing.Falling {
		swing = -1
	}
	b.swing.Store(swing)
	b.place.Store(int64(p.Pass)<<32 | int64(p.State)<<24 | int64(p.Number+2))
	l.count.Store(n + 1)
	l.version.Add(1)
}

func (b *loggedBar) load() Played {
	meter, swing, place := b.meter.Load(), b.swing.Load(), b.place.Load()
	p := Played{
		State: State(place >> 24 & 0xff), Pass: int(place >> 32), Number: int(place&0xffffff) - 2,
		Start: harmony.Instant(b.start.Load()),
		Bar: harmony.Bar{
			Meter: tune.Meter{Upper: int(meter >> 32), Lower: int(meter & 0xffffffff)},
			Tempo: math.Float64frombits(uint64(b.tempo.Load())),
			Swing: harmony.Swing{Falling: true},
		},
	}
	if swing >= 0 {
		p.Bar.Swing = harmony.Swing{Ratio: tune.Ratio{Long: int(swing >> 32), Short: int(swing & 0xffffffff)}}
	}
	return p
}

// steady calls read until nothing was written meanwhile.
func (l *barLog) steady(read func()) {
	for {
		before := l.version.Load()
		read()
		if before%2 == 0 && l.version.Load() == before {
			return
		}
	}
}

// at returns the bar that was playing at a time.
func (l *barLog) at(t harmony.Instant) (p Played, ok bool) {
	l.steady(func() {
		ok = false
		n := l.count.Load()
		for i := n; i > 0 && i+logSize > n; i-- {
			p = l.bars[(i-1)%logSize].load()
			if ok = true; p.Start <= t {
				return
			}
		}
		// Before everything remembered, nothing was playing.
		p.State = Stopped
	})
	return p, ok
}

// Since returns the bars played after the first n ever, as far as they are still
// remembered, and the number to ask with next time.
func (e *Engine) Since(n uint64) (bars []Played, next uint64) {
	e.log.steady(func() {
		bars = bars[:0]
		next = e.log.count.Load()
		for i := max(n, next-min(next, logSize)); i < next; i++ {
			bars = append(bars, e.log.bars[i%logSize].load())
		}
	})
	return bars, next
}

// At says what sounds at a time since the sound was opened.
func (e *Engine) At(t harmony.Instant) Now {
	p, ok := e.log.at(t)
	if !ok {
		return Now{At: t}
	}
	now := Now{State: p.State, Pass: p.Pass, Bar: p.Bar, Start: p.Start, At: t, Point: harmony.Point{Bar: p.Number, Beat: 1}}
	if p.State >= Counting {
		placed := harmony.Place(p.Bar, p.Start)
		now.Beat, now.Part = placed.Find(min(t, placed.End()-1))
		if now.Beat > p.Bar.Meter.Beats() { // the last instant may round up to the bar line
			now.Beat, now.Part = p.Bar.Meter.Beats(), harmony.Parts-1
		}
	}
	return now
}

// setAnchor says that a sample is heard at a time in ns since the sound was
// opened.
func (l *barLog) setAnchor(frame, ns int64) {
	l.version.Add(1)
	l.anchorFrame.Store(frame)
	l.anchorTime.Store(ns)
	l.anchored.Store(true)
	l.version.Add(1)
}

// heardAhead is how far musical time may run ahead of what was generated: over it
// the machine must have slept, for what is not generated is not heard.
const heardAhead = asleep + time.Second

// heard returns the musical time that is heard at a time in ns since the sound
// was opened; while no anchor is set, that of the last sample made.
func (l *barLog) heard(ns int64, rate int) (t harmony.Instant) {
	l.steady(func() {
		t = harmony.InstantOfSample(l.made.Load(), rate)
		if l.anchored.Load() {
			ahead := t + harmony.InstantOf(heardAhead)
			t = harmony.InstantOfSample(l.anchorFrame.Load(), rate) + harmony.InstantOf(time.Duration(ns-l.anchorTime.Load()))
			t = min(t, ahead)
		}
	})
	return t
}

// pace turns the times at which a device asks for samples into a steady line.
// Devices ask in bursts and a little late; a first-order filter takes the
// middle.
type pace struct {
	time  float64 // ns at which all samples so far had been asked for
	asked float64 // seconds asked for since the line was begun
}

const (
	paceSeconds  = 1.0  // how fast the line follows
	paceSettling = 0.25 // seconds of a device's start that say nothing yet
	paceReset    = 50e6 // ns: farther off, it starts anew
)

// ask is called with the time in ns at which n more samples were asked for, and
// returns that time smoothed.
func (p *pace) ask(ns int64, n, rate int) int64 {
	seconds := float64(n) / float64(rate)
	p.time += seconds * 1e9
	p.asked += seconds
	off := float64(ns) - p.time
	switch {
	case math.Abs(off) > paceReset:
		*p = pace{time: float64(ns)}
	case p.asked < paceSettling:
		p.time = float64(ns)
	default:
		p.time += off * min(1, seconds/paceSeconds)
	}
	return int64(p.time)
}
