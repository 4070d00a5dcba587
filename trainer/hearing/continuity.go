package hearing

import (
	"math"
	"math/cmplx"
)

// continuity compares the partials of the note before a pluck with what they would be had
// nothing happened: a string that rings on keeps their phases and fades as it did; one that
// is struck again begins anew, while a chord above it moves only what it shares.
type continuity struct {
	rows [2 * continued][continuedFor / thinned]float64
	gram [4 * continued * continued]float64
	x    [continuedFor / thinned]float64
	y    [2 * continued]float64

	earlier, old, now, late partials
	expected                partials
}

// partials are the amplitudes of a note's partials at the beginning of a stretch.
type partials [continued]complex128

const (
	// continued are the partials that are compared, in stretches of at most continuedFor
	// analysis samples: 50 ms, which begin continuedFrom samples, 20 ms, after the pluck.
	continued     = 8
	continuedFor  = 600
	continuedFrom = 240
	// earlierBy is how far before the last stretch the drift of the partials is measured.
	earlierBy = 360
	// The drift counts where it is no more than this, in logarithms and radians.
	mostFade, mostTurn = 0.35, 0.8
	// continuedRidge keeps partials apart that the stretch hardly tells.
	continuedRidge = 0.003
	// leadPartial is the least part of the power of one of the first leadPartials that is
	// looked at by itself.
	leadPartial  = 0.02
	leadPartials = 4
	// The partials of which a knock brings as much between them are looked for from
	// upperFrom to upperTo, in Hz.
	upperFrom, upperTo = 700, 4000
	// onlyPart is the part of the sound that the note explains from which little else sounds.
	onlyPart = 0.8

	continuityFeatures = 38
	// continuityOnly is the place of what says that little else sounds.
	continuityOnly = 16
)

// fit sets out to the first n partials at the beginning of a stretch of lowed samples, and
// returns the part of its power that they explain.
func (c *continuity) fit(x []float64, r *ringer, n int, out *partials) float64 {
	size := min(len(x), continuedFor) / thinned
	thin := c.x[:size]
	for i := range thin {
		thin[i] = x[i*thinned]
	}
	for k := range n {
		v := complex(1, 0)
		re, im := c.rows[2*k][:size], c.rows[2*k+1][:size]
		for i := range re {
			re[i], im[i] = real(v), -imag(v)
			v *= r.turn[k]
		}
	}
	m := 2 * n
	trace := 0.0
	for i := range m {
		for j := range i + 1 {
			c.gram[i*m+j] = dot(c.rows[i][:size], c.rows[j][:size])
		}
		trace += c.gram[i*m+i]
	}
	for i := range m {
		c.gram[i*m+i] += continuedRidge * trace / float64(m)
	}
	cholesky(c.gram[:m*m], m)
	sum := 0.0
	for i := range m {
		c.y[i] = (dot(c.rows[i][:size], thin) - dot(c.gram[i*m:i*m+i], c.y[:i])) / c.gram[i*m+i]
		sum += c.y[i] * c.y[i]
	}
	backward(c.gram[:m*m], m, c.y[:m])
	for k := range n {
		out[k] = complex(c.y[2*k], c.y[2*k+1])
	}
	return sum / (dot(thin, thin) + 1e-15)
}

// turned returns a partial some samples on, as the ringer has it.
func (r *ringer) turned(z complex128, k, samples int) complex128 {
	return z * cmplx.Pow(r.turnOne[k], complex(float64(samples), 0))
}

// expect foretells the first n partials at a sample after an onset, by how they faded and
// drifted before it, and returns how well the note explains what was before.
func (c *continuity) expect(a *Analyser, onset, n, at int) (part float64) {
	r := &a.ring
	last := onset - ringGap - ringBack
	c.fit(a.lowAt(last-earlierBy, last-earlierBy+ringBack), r, n, &c.earlier)
	part = c.fit(a.lowAt(last, last+ringBack), r, n, &c.old)
	for k := range n {
		c.expected[k] = r.turned(c.old[k], k, at-last)
		drift := cmplx.Log(c.old[k]/(r.turned(c.earlier[k], k, earlierBy)+1e-12) + 1e-12)
		if math.Abs(real(drift)) < mostFade && math.Abs(imag(drift)) < mostTurn {
			times := float64(at-last) / earlierBy
			c.expected[k] *= cmplx.Exp(complex(between(-1.5, real(drift)*times, 0), imag(drift)*times))
		}
	}
	return part
}

// change is how the partials are against what they would be.
type change struct {
	first       complex128 // the first partial against what it would be
	low, all    float64    // how far the first few, and all, are from it, by their power
	least, most float64    // of the first four that hold some of the power
	rise, high  float64    // of the first few's power and of the others', as logarithms
	brought     float64    // the power of what was not foretold
	power       float64    // and of what was
}

// change compares the first n partials.
func (c *continuity) change(n int) change {
	m := change{first: c.now[0] / (c.expected[0] + 1e-9), least: 2, brought: 1e-12, power: 1e-12}
	for _, z := range c.expected[:n] {
		m.power += square(z)
	}
	lows, lowNow, lowThen, highNow, highThen := 1e-9, 1e-12, 1e-12, 1e-9*m.power, 1e-9*m.power
	for k := range n {
		share := square(c.expected[k]) / m.power
		d := moved(c.now[k], c.expected[k])
		m.all += share * d
		m.brought += square(c.now[k]-c.expected[k]) / 2
		if k < ringLows {
			m.low += share * d
			lows += share
			lowNow += square(c.now[k])
			lowThen += square(c.expected[k])
		} else {
			highNow += square(c.now[k])
			highThen += square(c.expected[k])
		}
		if share > leadPartial && k < leadPartials {
			m.least, m.most = math.Min(m.least, d), math.Max(m.most, d)
		}
	}
	m.low /= lows
	m.rise = between(-2, math.Log(lowNow/lowThen), 2)
	m.high = between(-2, math.Log(highNow/highThen), 4)
	return m
}

// moved is how far a partial is from what it would be, against that: at most 2.
func moved(z, expected complex128) float64 {
	return math.Min(2, cmplx.Abs(z/(expected+1e-9)-1))
}

// look says how the note before a pluck goes on in the sound up to a sample; false where it
// did not ring.
func (c *continuity) look(a *Analyser, w *waiting, to int) (f [continuityFeatures]float64, ok bool) {
	r, onset := &a.ring, w.onset
	n := min(r.partials, continued)
	if n == 0 {
		return f, false
	}
	from := max(onset+continuedFrom, to-continuedFor)
	part := math.Min(1, c.fit(a.lowAt(from, to), r, n, &c.now))
	partBefore := c.expect(a, onset, n, from)
	m := c.change(n)
	rest := (1-part)*energy(a.lowAt(from, to)) + 1e-12
	steady, lateAll, lateMost := c.steady(a, from, to, min(n, leadPartials))
	on, off := a.teeth(r.f0, from, to)
	onBefore, offBefore := a.teeth(r.f0, onset-ringGap-(to-from), onset-ringGap)
	bright := between(-3, math.Log(on/onBefore), 5)
	rough := between(-3, math.Log(off/offBefore), 5)
	teeth := between(-2, math.Log(on/off), 5)
	comb := between(-4, math.Log(m.brought/rest), 6)
	grows := between(-4, math.Log(2*m.brought/m.power), 4)
	only := between(0, (part-onlyPart)/(1-onlyPart), 1)
	return [continuityFeatures]float64{
		between(-2, math.Log(cmplx.Abs(m.first)+1e-3), 2),
		math.Abs(cmplx.Phase(m.first)) / math.Pi,
		m.low,
		m.all,
		m.least,
		m.most,
		m.rise,
		m.high,
		part,
		partBefore,
		steady,
		m.least * steady,
		m.all * part,
		math.Min(8, w.flux) / 8,
		between(-2, math.Log(a.roughness(onset, onset+180)/a.roughness(onset-240, onset-60)), 4),
		between(-2, math.Log(a.roughness(onset+60, onset+400)/a.roughness(onset-340, onset-1)), 4),
		continuityOnly: only, // where little else sounds, what moved was the string itself:
		only * m.all,
		only * m.most,
		only * math.Abs(m.rise),
		only * math.Abs(m.high),
		only * math.Max(0, -m.rise),
		only * math.Min(4, w.flux) / 4,
		comb, // a knock brings more than the string's own partials,
		only * comb,
		grows,
		only * grows,
		lateAll, // which are soon as they would be,
		lateMost,
		only * lateAll,
		only * lateMost,
		bright, // and as much between the upper ones as at them
		rough,
		teeth,
		between(-2, math.Log(onBefore/offBefore), 5),
		only * teeth,
		math.Max(0, bright) * math.Max(0, teeth),
		math.Max(0, rough),
	}, true
}

// teeth is the power of a note's upper partials, and that half way between them.
func (a *Analyser) teeth(f0 float64, from, to int) (on, off float64) {
	x := a.at(from, to)
	on, off = 1e-12, 1e-12
	for k := int(upperFrom/f0) + 1; partialOf(f0, k) < upperTo; k++ {
		f := partialOf(f0, k)
		on += powerAt(x, f)
		off += powerAt(x, f+f0/2)
	}
	return on, off
}

// steady is how well the first n partials go on from the first half of a stretch to its
// second, 1 as a string rings, and how far they are in that from what they would be.
func (c *continuity) steady(a *Analyser, from, to, n int) (steady, all, most float64) {
	half := (to - from) / 2
	c.fit(a.lowAt(from, from+half), &a.ring, n, &c.now)
	c.fit(a.lowAt(from+half, to), &a.ring, n, &c.late)
	sum, both, power := 0.0, 1e-12, 1e-12
	for _, z := range c.expected[:n] {
		power += square(z)
	}
	for k := range n {
		z := a.ring.turned(c.now[k], k, half)
		sum += real(cmplx.Conj(z) * c.late[k])
		both += (square(z) + square(c.late[k])) / 2
		share := square(c.expected[k]) / power
		d := moved(c.late[k], a.ring.turned(c.expected[k], k, half))
		all += share * d
		if share > leadPartial {
			most = math.Max(most, d)
		}
	}
	return sum / both, all, most
}

// roughness is the power of the first difference of a stretch.
func (a *Analyser) roughness(from, to int) float64 {
	x, sum := a.at(from-1, to), 1e-12
	for i, v := range x[1:] {
		sum += (v - x[i]) * (v - x[i])
	}
	return sum / float64(to-from)
}

func square(z complex128) float64 { return real(z)*real(z) + imag(z)*imag(z) }
