package harmony

import (
	"fmt"
	"math"
	mathbits "math/bits"
	"time"
)

// Tempi in quarter notes a minute that music may have.
const (
	LowestTempo  = 30
	HighestTempo = 300
)

// Parts is the number of parts a beat is divided into. It holds 2, 3 and every
// other number to 10, so that the usual divisions of a beat are whole.
const Parts = 5_040_000

// Instant is a time from bar 1 beat 1 in units of 2⁻⁴⁰ s, negative before it.
// It reaches 97 days either way.
type Instant int64

// second is one second.
const second Instant = 1 << 40

// Duration returns the time rounded to the nearest nanosecond.
func (t Instant) Duration() time.Duration {
	return time.Duration(mulDiv(int64(t), int64(time.Second), int64(second)))
}

// Sample returns the nearest sample number at a rate in samples a second, 0
// being the sample of bar 1 beat 1.
func (t Instant) Sample(rate int) int64 {
	return mulDiv(int64(t), int64(rate), int64(second))
}

// InstantOf returns the nearest instant to a time. What is further away than an Instant
// reaches, as after a clock was set, comes as the furthest.
func InstantOf(d time.Duration) Instant {
	const furthest = time.Duration(math.MaxInt64 / int64(second) * int64(time.Second))
	d = max(-furthest, min(furthest, d))
	return Instant(mulDiv(int64(d), int64(second), int64(time.Second)))
}

// InstantOfSample returns the time of a sample number at a rate in samples a
// second.
func InstantOfSample(n int64, rate int) Instant {
	return Instant(mulDiv(n, int64(second), int64(rate)))
}

// Bar is what the clock must know of a bar.
type Bar struct {
	Meter Meter
	// Tempo is in quarter notes a minute, 30 to 300, kept to the thousandth.
	Tempo float64
	Swing Swing
}

// Check says what is wrong with a bar, nil if nothing is.
func (b Bar) Check() error {
	if math.IsNaN(b.Tempo) || b.Tempo < LowestTempo || b.Tempo > HighestTempo {
		return fmt.Errorf("tempo %g: give %d to %d BPM", b.Tempo, LowestTempo, HighestTempo)
	}
	if _, ok := ParseMeter(b.Meter.String()); !ok {
		return fmt.Errorf("meter %s: give 2/4 to 7/4, 6/8, 9/8 or 12/8", b.Meter)
	}
	if !b.Swing.Falling && (b.Swing.Ratio.Long < 1 || b.Swing.Ratio.Short < 1) {
		return fmt.Errorf("swing %d:%d: give a ratio of numbers from 1, such as 2:1", b.Swing.Ratio.Long, b.Swing.Ratio.Short)
	}
	return nil
}

// OffPart returns where the bar's offbeats sit in their beat, in parts.
func (b Bar) OffPart() int64 {
	r := b.Swing.RatioAt(b.Tempo / b.Meter.BeatQuarters())
	return mulDiv(Parts, int64(r.Long), int64(r.Long+r.Short))
}

// Swing says where offbeats sit: at a fixed ratio, or at one that falls with
// the tempo.
type Swing struct {
	Ratio   Ratio // nothing where it falls
	Falling bool
}

// String writes the ratio, "2:1", or "falling".
func (s Swing) String() string {
	if s.Falling {
		return "falling"
	}
	return s.Ratio.String()
}

// Straight reports whether beats are halved evenly at every tempo.
func (s Swing) Straight() bool { return !s.Falling && s.Ratio.Long == s.Ratio.Short }

// RatioAt returns the ratio at a number of beats a minute; one that falls to the
// twentieth, which moves no offbeat by more than a hundredth of its beat.
func (s Swing) RatioAt(beats float64) Ratio {
	if s.Falling {
		return Ratio{Long: int(math.Round(20 * FallingRatio(beats))), Short: 20}
	}
	return s.Ratio
}

// FallingRatio returns the swing ratio, long to short, that players use at a
// number of beats a minute: 3.5 at 100 and slower, 1 at 300 and faster, on a
// straight line between. The ends of the ratio, its linear fall and the short
// note's stay near 100 ms at faster tempi are from Friberg and Sundström (Music
// Perception 19/3, 2002); the tempi 100 and 300 are chosen so that the short
// note keeps to 90–105 ms from 150 beats a minute up.
func FallingRatio(beats float64) float64 {
	const slow, fast, most = 100, 300, 3.5
	return min(most, max(1, most-(most-1)*(beats-slow)/(fast-slow)))
}

// Point is a place in a take. Bar and Beat count from 1; bars before 1 are the
// count-in. Part is how much of the beat has passed, 0 to Parts−1.
type Point struct {
	Bar, Beat int
	Part      int64
}

// PlacedBar is a bar that has been given its time. The zero value is no bar:
// start with Place and go on with Next. Bars of one tempo that follow each
// other count their beats from one common origin, so that rounding never adds
// up; at a change of tempo the bar line is rounded once, to 2⁻⁴⁰ s.
type PlacedBar struct {
	Bar
	origin Instant
	// before is the music between the origin and the bar line, in units of
	// 1/(2·Parts) of a quarter note; milli is the tempo in thousandths.
	before int64
	milli  int64
	off    int64
}

// Place starts a row of bars at a time. The bar must pass Check.
func Place(b Bar, at Instant) PlacedBar {
	return PlacedBar{Bar: b, origin: at, milli: milliTempo(b.Tempo), off: b.OffPart()}
}

// Next places the bar that follows. The bar must pass Check.
func (p PlacedBar) Next(b Bar) PlacedBar {
	milli := milliTempo(b.Tempo)
	if milli != p.milli {
		return Place(b, p.End())
	}
	return PlacedBar{Bar: b, origin: p.origin, before: p.before + p.length(), milli: milli, off: b.OffPart()}
}

// Start returns the time of the bar line the bar begins with.
func (p PlacedBar) Start() Instant { return p.at(p.before) }

// End returns the time of the bar line that the next bar begins with.
func (p PlacedBar) End() Instant { return p.at(p.before + p.length()) }

// Time returns the time of a part of a beat, beats counted from 1. Beats and
// parts outside the bar go on at its tempo.
func (p PlacedBar) Time(beat int, part int64) Instant {
	return p.at(p.before + (int64(beat-1)*Parts+part)*p.perPart())
}

// Beat returns the time of a beat, or of the offbeat after it.
func (p PlacedBar) Beat(beat int, off bool) Instant {
	if off {
		return p.Time(beat, p.off)
	}
	return p.Time(beat, 0)
}

// Find returns the beat, counted from 1, and the part of it that a time falls
// on. Before the bar the beat is below 1, after it above the bar's beats.
func (p PlacedBar) Find(t Instant) (beat int, part int64) {
	units := mulDiv(int64(t-p.origin), p.milli*2*Parts, 60_000*int64(second)) - p.before
	parts := floorDiv(units, p.perPart())
	whole := floorDiv(parts, Parts)
	return int(whole) + 1, parts - whole*Parts
}

// perPart returns the units of a part of a beat: 2, or 3 where dotted quarters
// are counted.
func (p PlacedBar) perPart() int64 { return int64(2 * p.Meter.BeatQuarters()) }

func (p PlacedBar) length() int64 { return int64(p.Meter.Beats()) * Parts * p.perPart() }

func (p PlacedBar) at(units int64) Instant {
	return p.origin + Instant(mulDiv(units, 60_000*int64(second), p.milli*2*Parts))
}

func milliTempo(tempo float64) int64 { return int64(math.Round(tempo * 1000)) }

// mulDiv returns a·b/c to the nearest whole number, halves rounded up, for
// positive b and c, without overflow in between.
func mulDiv(a, b, c int64) int64 {
	negative := a < 0
	if negative {
		a = -a
	}
	hi, lo := mathbits.Mul64(uint64(a), uint64(b))
	half := uint64(c) / 2
	if negative {
		half = (uint64(c) - 1) / 2
	}
	lo, carry := mathbits.Add64(lo, half, 0)
	q, _ := mathbits.Div64(hi+carry, lo, uint64(c))
	if negative {
		return -int64(q)
	}
	return int64(q)
}

func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}
