package take

import (
	"fmt"
	"math"
	"math/bits"
	"time"

	"footfall/harmony/tune"
)

// Tempi, in quarter notes a minute, that a bar may have.
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

// Second is one second.
const Second Instant = 1 << 40

// Seconds returns the time in seconds.
func (t Instant) Seconds() float64 { return float64(t) / float64(Second) }

// Duration returns the time rounded to the nearest nanosecond.
func (t Instant) Duration() time.Duration {
	return time.Duration(mulDiv(int64(t), int64(time.Second), int64(Second)))
}

// Sample returns the nearest sample number at a rate in samples a second, 0
// being the sample of bar 1 beat 1.
func (t Instant) Sample(rate int) int64 {
	return mulDiv(int64(t), int64(rate), int64(Second))
}

// InstantOf returns the nearest instant to a time.
func InstantOf(d time.Duration) Instant {
	return Instant(mulDiv(int64(d), int64(Second), int64(time.Second)))
}

// InstantOfSeconds returns the nearest instant to a time in seconds.
func InstantOfSeconds(s float64) Instant {
	return Instant(math.Round(s * float64(Second)))
}

// InstantOfSample returns the time of a sample number at a rate in samples a
// second.
func InstantOfSample(n int64, rate int) Instant {
	return Instant(mulDiv(n, int64(Second), int64(rate)))
}

// Bar is what the clock must know of a bar.
type Bar struct {
	Meter tune.Meter
	// Tempo is in quarter notes a minute, 30 to 300, kept to the thousandth.
	Tempo float64
	Swing Swing
}

// Check says what is wrong with a bar, nil if nothing is.
func (b Bar) Check() error {
	if math.IsNaN(b.Tempo) || b.Tempo < LowestTempo || b.Tempo > HighestTempo {
		return fmt.Errorf("tempo %g: give %d to %d quarter notes a minute", b.Tempo, LowestTempo, HighestTempo)
	}
	simple := b.Meter.Lower == 4 && b.Meter.Upper >= 2 && b.Meter.Upper <= 7
	compound := b.Meter.Lower == 8 && (b.Meter.Upper == 6 || b.Meter.Upper == 9 || b.Meter.Upper == 12)
	if !simple && !compound {
		return fmt.Errorf("meter %d/%d: give 2/4 to 7/4, 6/8, 9/8 or 12/8", b.Meter.Upper, b.Meter.Lower)
	}
	if !b.Swing.Falling && (b.Swing.Ratio.Long < 1 || b.Swing.Ratio.Short < 1) {
		return fmt.Errorf("swing %d:%d: give a ratio of numbers from 1, such as 2:1", b.Swing.Ratio.Long, b.Swing.Ratio.Short)
	}
	return nil
}

// OffPart returns where the bar's offbeats sit in their beat, in parts.
func (b Bar) OffPart() int64 {
	if b.Swing.Falling {
		r := FallingRatio(b.Tempo / b.Meter.BeatQuarters())
		return int64(math.Round(Parts * r / (r + 1)))
	}
	return mulDiv(Parts, int64(b.Swing.Ratio.Long), int64(b.Swing.Ratio.Long+b.Swing.Ratio.Short))
}

// Swing says where offbeats sit: at a fixed ratio, or at one that falls with
// the tempo.
type Swing struct {
	Ratio   tune.Ratio
	Falling bool
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

// Fraction returns how much of the beat has passed, 0 to below 1.
func (p Point) Fraction() float64 { return float64(p.Part) / Parts }

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
	units := mulDiv(int64(t-p.origin), p.milli*2*Parts, 60_000*int64(Second)) - p.before
	parts := floorDiv(units, p.perPart())
	whole := floorDiv(parts, Parts)
	return int(whole) + 1, parts - whole*Parts
}

// perPart returns the units of a part of a beat: 2, or 3 where dotted quarters
// are counted.
func (p PlacedBar) perPart() int64 { return int64(2 * p.Meter.BeatQuarters()) }

func (p PlacedBar) length() int64 { return int64(p.Meter.Beats()) * Parts * p.perPart() }

func (p PlacedBar) at(units int64) Instant {
	return p.origin + Instant(mulDiv(units, 60_000*int64(Second), p.milli*2*Parts))
}

func milliTempo(tempo float64) int64 { return int64(math.Round(tempo * 1000)) }

// Timeline is a row of bars in time, bar 1 beat 1 at time 0. Places before bar 1
// go on at the first bar's meter and tempo, so that they hold a count-in, and
// places after the last bar at the last one's.
type Timeline struct{ bars []PlacedBar }

// New lays bars out in time. There must be at least one; the error names the
// first bar that does not pass Bar.Check.
func New(bars []Bar) (*Timeline, error) {
	if len(bars) == 0 {
		return nil, fmt.Errorf("no bars: give at least one")
	}
	tl := &Timeline{bars: make([]PlacedBar, 0, len(bars))}
	for i, b := range bars {
		if err := b.Check(); err != nil {
			return nil, fmt.Errorf("bar %d: %w", i+1, err)
		}
		if i == 0 {
			tl.bars = append(tl.bars, Place(b, 0))
		} else {
			tl.bars = append(tl.bars, tl.bars[i-1].Next(b))
		}
	}
	return tl, nil
}

// OfTune lays out one pass of a tune of so many bars at its own tempo and
// swing, with the tempo replaced where tempo is not 0.
func OfTune(t *tune.Tune, bars int, tempo float64) (*Timeline, error) {
	if tempo == 0 {
		tempo = t.Tempo
	}
	b := Bar{Meter: t.Meter, Tempo: tempo, Swing: Swing{Ratio: t.Swing}}
	row := make([]Bar, bars)
	for i := range row {
		row[i] = b
	}
	return New(row)
}

// Len returns the number of bars.
func (tl *Timeline) Len() int { return len(tl.bars) }

// End returns the time of the last bar's end.
func (tl *Timeline) End() Instant { return tl.bars[len(tl.bars)-1].End() }

// Time returns the time of a point.
func (tl *Timeline) Time(p Point) Instant {
	bar, beats := tl.bar(p.Bar)
	return bar.Time(p.Beat+beats, p.Part)
}

// TimeOf returns the time of a position of a tune.
func (tl *Timeline) TimeOf(p tune.Position) Instant {
	bar, beats := tl.bar(p.Bar)
	return bar.Beat(p.Beat+beats, p.Off)
}

// At returns the point that a time falls on.
func (tl *Timeline) At(t Instant) Point {
	low, high := 0, len(tl.bars)-1
	for low < high {
		if mid := (low + high + 1) / 2; tl.bars[mid].Start() <= t {
			low = mid
		} else {
			high = mid - 1
		}
	}
	beat, part := tl.bars[low].Find(t)
	n := int64(tl.bars[low].Meter.Beats())
	over := floorDiv(int64(beat-1), n)
	return Point{Bar: low + 1 + int(over), Beat: beat - int(over*n), Part: part}
}

// bar returns the placed bar that holds a bar number, and the beats to add
// where the number lies outside the row.
func (tl *Timeline) bar(number int) (PlacedBar, int) {
	i := min(max(number-1, 0), len(tl.bars)-1)
	b := tl.bars[i]
	return b, (number - 1 - i) * b.Meter.Beats()
}

// mulDiv returns a·b/c to the nearest whole number, halves rounded up, for
// positive b and c, without overflow in between.
func mulDiv(a, b, c int64) int64 {
	negative := a < 0
	if negative {
		a = -a
	}
	hi, lo := bits.Mul64(uint64(a), uint64(b))
	half := uint64(c) / 2
	if negative {
		half = (uint64(c) - 1) / 2
	}
	lo, carry := bits.Add64(lo, half, 0)
	q, _ := bits.Div64(hi+carry, lo, uint64(c))
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
