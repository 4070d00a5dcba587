package hearing

import "math"

// period measures how well a short stretch of samples repeats, by the
// normalised square difference function (McLeod and Wyvill, "A Smarter Way to
// Find Pitch", ICMC 2005). It tells semitones apart from the second period on,
// where a spectrum cannot yet.
type period struct {
	nsdf [maxLag + 2]float64
	top  int     // highest lag filled
	best float64 // highest value at a peak
}

const (
	maxLag = 160 // 75 Hz, a semitone and a half below E2
	minLag = 20  // 600 Hz
)

// fill computes the function over x.
func (p *period) fill(x []float64) {
	p.top = min(maxLag, len(x)-40)
	p.best = 0
	total := 0.0
	for _, v := range x {
		total += v * v
	}
	if total == 0 || p.top <= minLag {
		p.top = 0
		return
	}
	m := 2 * total
	for lag := 1; lag <= p.top; lag++ {
		a, b := x[lag-1], x[len(x)-lag]
		m -= a*a + b*b
		if lag < minLag-1 {
			continue
		}
		r := 0.0
		head, tail := x[:len(x)-lag], x[lag:]
		for i, v := range head {
			r += v * tail[i]
		}
		p.nsdf[lag] = 0
		if m > 1e-9*total {
			p.nsdf[lag] = 2 * r / m
		}
	}
	for lag := minLag; lag < p.top; lag++ {
		if v := p.nsdf[lag]; v > p.best && v >= p.nsdf[lag-1] && v >= p.nsdf[lag+1] {
			p.best = v
		}
	}
}

// near returns the highest value within half a semitone of a pitch, and the
// pitch of that place in fractional note numbers.
func (p *period) near(pitch float64) (value, at float64) {
	lo := analysisRate / frequency(pitch+0.5)
	hi := analysisRate / frequency(pitch-0.5)
	if hi > float64(p.top)-1 {
		hi = float64(p.top) - 1
	}
	value, at = -1, pitch
	best := 0
	for lag := int(math.Ceil(lo)); lag <= int(hi); lag++ {
		if p.nsdf[lag] > value {
			value, best = p.nsdf[lag], lag
		}
	}
	if best == 0 {
		return 0, pitch
	}
	a, b, c := p.nsdf[best-1], p.nsdf[best], p.nsdf[best+1]
	if den := a - 2*b + c; den < 0 && b >= a && b >= c {
		shift := 0.5 * (a - c) / den
		return b - 0.25*(a-c)*shift, pitchOf(analysisRate / (float64(best) + shift))
	}
	return value, pitchOf(analysisRate / float64(best))
}

// lag returns the shortest lag, in samples, whose value comes near the best, or
// 0 where nothing repeats.
func (p *period) lag() int {
	for lag := minLag; lag < p.top; lag++ {
		if v := p.nsdf[lag]; p.best > 0 && v >= 0.95*p.best && v >= p.nsdf[lag-1] && v >= p.nsdf[lag+1] {
			return lag
		}
	}
	return 0
}

// pitchOf is the fractional MIDI note number of a frequency in Hz; A4 = 440 Hz
// = 69 (MIDI 1.0).
func pitchOf(freq float64) float64 { return 69 + 12*math.Log2(freq/440) }

// frequency is the inverse of pitchOf.
func frequency(pitch float64) float64 { return 440 * math.Exp2((pitch-69)/12) }
