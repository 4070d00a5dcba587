package harmony

import (
	"math"
	"math/big"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var straight = Swing{Ratio: Ratio{Long: 1, Short: 1}}

func meters() []Meter {
	return []Meter{{Upper: 2, Lower: 4}, {Upper: 3, Lower: 4}, {Upper: 4, Lower: 4}, {Upper: 5, Lower: 4}, {Upper: 6, Lower: 4},
		{Upper: 7, Lower: 4}, {Upper: 6, Lower: 8}, {Upper: 9, Lower: 8}, {Upper: 12, Lower: 8}}
}

// An hour at 173: beat k lies at k·60/173 s, so its sample is the nearest whole
// number to that at the rate (arithmetic, in unbounded rationals).
func TestHourAt173(t *testing.T) {
	const rate, bars = 48000, 173 * 60 / 4
	bar := Place(Bar{Meter: Meter{Upper: 4, Lower: 4}, Tempo: 173, Swing: Swing{Ratio: Ratio{Long: 2, Short: 1}}}, 0)
	first := bar
	for k := range bars * 4 {
		if k > 0 && k%4 == 0 {
			bar = bar.Next(bar.Bar)
		}
		exact := nearest(big.NewRat(int64(k)*60*rate, 173))
		require.Equal(t, exact, bar.Beat(k%4+1, false).Sample(rate), "beat %d", k)
		require.Equal(t, exact, first.Beat(k+1, false).Sample(rate), "beat %d", k)
	}
	assert.Equal(t, 3600*second, bar.End())
}

// Known times, worked out by hand.
func TestTimes(t *testing.T) {
	two := Ratio{Long: 2, Short: 1}
	for _, c := range []struct {
		name  string
		meter Meter
		tempo float64
		at    Position
		want  float64
	}{
		{"bar 1 beat 1 is zero", Meter{Upper: 4, Lower: 4}, 120, Position{Bar: 1, Beat: 1}, 0},
		{"four quarters", Meter{Upper: 4, Lower: 4}, 120, Position{Bar: 2, Beat: 1}, 2},
		{"two thirds of a beat", Meter{Upper: 4, Lower: 4}, 120, Position{Bar: 1, Beat: 2, Off: true}, 0.5 + 1.0/3},
		{"five quarters", Meter{Upper: 5, Lower: 4}, 60, Position{Bar: 3, Beat: 5}, 14},
		{"dotted quarters", Meter{Upper: 12, Lower: 8}, 90, Position{Bar: 2, Beat: 2}, 5},
		{"the third eighth of 6/8", Meter{Upper: 6, Lower: 8}, 90, Position{Bar: 1, Beat: 1, Off: true}, 2.0 / 3},
		{"two bars of count-in", Meter{Upper: 3, Lower: 4}, 60, Position{Bar: -1, Beat: 1}, -6},
	} {
		bar := Place(Bar{Meter: c.meter, Tempo: c.tempo, Swing: Swing{Ratio: two}}, 0)
		due := bar.Beat((c.at.Bar-1)*c.meter.Beats()+c.at.Beat, c.at.Off)
		assert.InDelta(t, c.want, due.Duration().Seconds(), 1e-6, c.name)
	}
}

// The slow and plain way: every beat's length added up in unbounded rationals.
func TestAgainstRationals(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bars := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Bar {
			return Bar{
				Meter: rapid.SampledFrom(meters()).Draw(t, "meter"),
				Tempo: float64(rapid.IntRange(30_000, 300_000).Draw(t, "tempo")) / 1000,
				Swing: straight,
			}
		}), 1, 60).Draw(t, "bars")
		rate := rapid.SampledFrom([]int{8000, 44100, 48000, 96000, 192000}).Draw(t, "rate")
		exact := new(big.Rat)
		placed := Place(bars[0], 0)
		for i, b := range bars {
			if i > 0 {
				placed = placed.Next(b)
			}
			length := new(big.Rat).SetFrac64(60_000, int64(math.Round(b.Tempo*1000)))
			if b.Meter.Lower == 8 {
				length.Mul(length, big.NewRat(3, 2))
			}
			for beat := 1; beat <= b.Meter.Beats(); beat++ {
				when := placed.Beat(beat, false)
				sample := new(big.Rat).Mul(exact, new(big.Rat).SetInt64(int64(rate)))
				off, _ := new(big.Rat).Sub(sample, new(big.Rat).SetInt64(when.Sample(rate))).Float64()
				if math.Abs(off) > 0.500001 {
					t.Fatalf("bar %d beat %d: %g samples off", i+1, beat, off)
				}
				if gotBeat, part := placed.Find(when); gotBeat != beat || part != 0 {
					t.Fatalf("bar %d beat %d comes back as beat %d, part %d", i+1, beat, gotBeat, part)
				}
				exact.Add(exact, length)
			}
		}
	})
}

// Any place in a bar and its time are the same place, inside the bar and outside it.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		meter := rapid.SampledFrom(meters()).Draw(t, "meter")
		tempo := func() float64 { return float64(rapid.IntRange(30, 300).Draw(t, "tempo")) }
		bar := Place(Bar{Meter: meter, Tempo: tempo(), Swing: straight}, 0)
		for range rapid.IntRange(0, 8).Draw(t, "more") {
			bar = bar.Next(Bar{Meter: meter, Tempo: tempo(), Swing: straight})
		}
		beat := rapid.IntRange(-12, 8000).Draw(t, "beat")
		part := rapid.Int64Range(0, Parts-1).Draw(t, "part")
		if gotBeat, gotPart := bar.Find(bar.Time(beat, part)); gotBeat != beat || gotPart != part {
			t.Fatalf("beat %d part %d comes back as %d, %d", beat, part, gotBeat, gotPart)
		}
		d := time.Duration(rapid.Int64Range(-1e15, 1e15).Draw(t, "d"))
		if got := InstantOf(d).Duration(); got != d {
			t.Fatalf("%v comes back as %v", d, got)
		}
		n := rapid.Int64Range(-1e9, 1e12).Draw(t, "n")
		if got := InstantOfSample(n, 192000).Sample(192000); got != n {
			t.Fatalf("sample %d comes back as %d", n, got)
		}
	})
}

// Friberg and Sundström 2002 as figures: 3.5:1 slow, 1:1 fast, the short note
// near 100 ms at fast tempi.
func TestFallingRatio(t *testing.T) {
	assert.Equal(t, 3.5, FallingRatio(60))
	assert.Equal(t, 1.0, FallingRatio(300))
	last := math.Inf(1)
	for beats := 40.0; beats <= 300; beats++ {
		r := FallingRatio(beats)
		assert.LessOrEqual(t, r, last)
		last = r
		if beats >= 150 {
			assert.InDelta(t, 100, 60_000/beats/(r+1), 11, "short note at %g", beats)
		}
	}
	b := Bar{Meter: Meter{Upper: 4, Lower: 4}, Tempo: 200, Swing: Swing{Falling: true}}
	assert.InDelta(t, 2.25/3.25, float64(b.OffPart())/Parts, 1e-6)
}

func TestFaults(t *testing.T) {
	good := Bar{Meter: Meter{Upper: 4, Lower: 4}, Tempo: 100, Swing: straight}
	require.NoError(t, good.Check())
	for want, spoil := range map[string]func(*Bar){
		"tempo 301: give 30 to 300 BPM":                          func(b *Bar) { b.Tempo = 301 },
		"tempo NaN: give 30 to 300 BPM":                          func(b *Bar) { b.Tempo = math.NaN() },
		"meter 8/4: give 2/4 to 7/4, 6/8, 9/8 or 12/8":           func(b *Bar) { b.Meter.Upper = 8 },
		"swing 2:0: give a ratio of numbers from 1, such as 2:1": func(b *Bar) { b.Swing.Ratio = Ratio{Long: 2} },
		"meter 4/8: give 2/4 to 7/4, 6/8, 9/8 or 12/8":           func(b *Bar) { b.Meter.Lower = 8 },
		"tempo 29.999: give 30 to 300 BPM":                       func(b *Bar) { b.Tempo = 29.999 },
	} {
		bad := good
		spoil(&bad)
		assert.EqualError(t, bad.Check(), want)
	}
}

// nearest rounds a positive rational, halves up.
func nearest(r *big.Rat) int64 {
	n := new(big.Int).Mul(r.Num(), big.NewInt(2))
	n.Add(n, r.Denom())
	return n.Div(n, new(big.Int).Mul(r.Denom(), big.NewInt(2))).Int64()
}

// A time years away, as of a note that was stamped before the clock was set, is no
// reason to stop.
func TestInstantsReachNoFurtherThanTheyCan(t *testing.T) {
	for _, d := range []time.Duration{math.MaxInt64, math.MinInt64, 98 * 24 * time.Hour, -98 * 24 * time.Hour} {
		at := InstantOf(d)
		require.Equal(t, d > 0, at > 0, "%v", d)
		require.Greater(t, at.Duration().Abs(), 90*24*time.Hour, "%v", d)
	}
	require.Equal(t, time.Hour, InstantOf(time.Hour).Duration())
}
