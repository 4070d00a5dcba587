package hearing

import "math"

// ringer foretells how the note before a pluck rings on: its partials with the
// phases and the decay they had, so that what the pluck brought can be heard
// without it.
type ringer struct {
	onset, pitch int // foretold for
	partials     int
	f0           float64                 // Hz
	now          [maxPartials]complex128 // at the onset and guard
	turn         [maxPartials]complex128 // in a step of thinned samples
	turnOne      [maxPartials]complex128 // in a step of one
	sum          [2400]float64
	x            [ringBack / thinned]float64
	rows         [2 * maxPartials][ringBack / thinned]float64
	gram         [4 * maxPartials * maxPartials]float64
	z            [2 * maxPartials]float64
	space        ringSpace
}

// ringSpace is the space in which what rings on may differ from what is foretold.
type ringSpace struct {
	n     int
	rows  [2 * ringPartials][mostHarmonic / thinned]float64
	gram  [4 * ringPartials * ringPartials]float64
	x     [2 * ringPartials]float64
	scale float64
	m     [4 * ringPartials * ringPartials]float64
	y     [2 * ringPartials]float64
	q     [2 * ringPartials]float64
}

const (
	ringBack = 540 // samples that are looked back: 45 ms
	ringGap  = 24  // before an onset, which may be placed late
	// maxPartials are those of the lowest pitch, and ringPartials those that may
	// differ from what is foretold.
	maxPartials  = highestPartial / 75
	ringPartials = 8
	ringRidge    = 0.01
	// ringLows are the partials by which it is told whether a note rings on.
	ringLows = 3
)

var (
	ringCents  = [...]float64{-8, -4, 4, 8}
	ringDecays = [...]float64{0.05, 0.12, 0.6} // s to fall by e
)

// foretell prepares for a pluck after a note; no partial where none rang.
func (r *ringer) foretell(a *Analyser, onset, midi int) {
	if r.onset == onset && r.pitch == midi {
		return
	}
	r.onset, r.pitch, r.partials = onset, midi, 0
	if midi == 0 {
		return
	}
	past := a.lowAt(onset-ringGap-ringBack, onset-ringGap)
	a.fresh.fill(past)
	pitch := float64(midi) + a.tuning
	if value, at := a.fresh.near(pitch); value > 0 && math.Abs(at-pitch) < 0.4 {
		pitch = at
	}
	for i := range r.x {
		r.x[i] = past[i*thinned]
	}
	best, f0, decay := 0.0, 0.0, 0.0
	try := func(f, d float64) {
		if fit := r.fit(f, d); fit > best {
			best, f0, decay = fit, f, d
		}
	}
	for _, d := range ringDecays {
		try(frequency(pitch), d)
	}
	for _, cents := range ringCents {
		try(frequency(pitch+cents/100), decay)
	}
	if best == 0 {
		return
	}
	r.fit(f0, decay)
	r.f0 = f0
	n := 2 * r.partials
	backward(r.gram[:n*n], n, r.z[:n]) // z becomes the amplitudes
	const ahead = ringBack + ringGap + guard
	for k := range r.partials {
		w := 2 * math.Pi * partialOf(f0, k+1) / analysisRate
		sin, cos := math.Sincos(w * ahead)
		amp := math.Pow(float64(k+1), -partialFall) * math.Exp(-ahead/(decay*analysisRate))
		r.now[k] = complex(amp*r.z[2*k], -amp*r.z[2*k+1]) * complex(cos, sin)
		sin, cos = math.Sincos(w)
		r.turnOne[k] = complex(math.Exp(-1/(decay*analysisRate)), 0) * complex(cos, sin)
		sin, cos = math.Sincos(w * thinned)
		r.turn[k] = complex(math.Exp(-thinned/(decay*analysisRate)), 0) * complex(cos, sin)
	}
}

// fit returns how much of the past a pitch and decay explain; it leaves the
// factor in gram and the projected past in z.
func (r *ringer) fit(f0, decay float64) float64 {
	r.partials = min(maxPartials, int(highestPartial/f0))
	n := 2 * r.partials
	fade := math.Exp(-thinned / (decay * analysisRate))
	for k := range r.partials {
		sin, cos := math.Sincos(2 * math.Pi * partialOf(f0, k+1) * thinned / analysisRate)
		cos, sin = cos*fade, sin*fade
		re, im := math.Pow(float64(k+1), -partialFall), 0.0
		c, s := &r.rows[2*k], &r.rows[2*k+1]
		for i := range c {
			c[i], s[i] = re, im
			re, im = re*cos-im*sin, re*sin+im*cos
		}
	}
	trace := 0.0
	for i := range n {
		for j := range i + 1 {
			r.gram[i*n+j] = dot(r.rows[i][:], r.rows[j][:])
		}
		trace += r.gram[i*n+i]
	}
	for i := range n {
		r.gram[i*n+i] += ringRidge * trace / float64(n)
	}
	cholesky(r.gram[:n*n], n)
	sum := 0.0
	for i := range n {
		r.z[i] = (dot(r.rows[i][:], r.x[:]) - dot(r.gram[i*n:i*n+i], r.z[:i])) / r.gram[i*n+i]
		sum += r.z[i] * r.z[i]
	}
	return sum
}

// leave sets out to x, the lowed samples from an onset and guard on, less what is
// foretold, and how much of that is found in x, −0.5 to 1.5: 1 where the note
// before rings on as if nothing had been plucked.
func (r *ringer) leave(x, out []float64) (held float64) {
	if r.partials == 0 {
		copy(out, x)
		return 0
	}
	sum := r.sum[:len(x)]
	clear(sum)
	found, all := 0.0, 1e-12
	for k := range r.partials {
		z, turn := r.now[k], r.turnOne[k]
		for i := range sum {
			sum[i] += real(z)
			z *= turn
		}
		if k+1 == ringLows {
			n := min(len(x), mostHarmonic)
			found, all = dot(x[:n], sum[:n]), dot(sum[:n], sum[:n])+1e-12
		}
	}
	part := between(0, found/all, 1)
	for i, v := range x {
		out[i] = v - part*sum[i]
	}
	return between(-0.5, found/all, 1.5)
}

// from subtracts what is foretold from x, thinned samples from the onset and guard
// on, and returns how it may differ.
func (r *ringer) from(x []float64) *ringSpace {
	q := &r.space
	q.n = 2 * min(ringPartials, r.partials)
	for k := range r.partials {
		z, turn := r.now[k], r.turn[k]
		if k >= ringPartials {
			for i := range x {
				x[i] -= real(z)
				z *= turn
			}
			continue
		}
		c, s := &q.rows[2*k], &q.rows[2*k+1]
		for i := range x {
			x[i] -= real(z)
			c[i], s[i] = real(z), imag(z)
			z *= turn
		}
	}
	return q
}

// without returns what a projection leaves of x, where what rings on may differ
// from what was foretold, and the logarithm of the determinant (Woodbury).
func (q *ringSpace) without(p *projection, x []float64, rest, logDet float64) (float64, float64) {
	n := q.n
	copy(q.m[:n*n], q.gram[:n*n])
	copy(q.y[:n], q.x[:n])
	for _, r := range p.rows {
		z := dot(r, x)
		rest -= z * z
		for i := range n {
			q.q[i] = dot(r, q.rows[i][:len(r)])
			q.y[i] -= z * q.q[i]
		}
		for i := range n {
			v := q.q[i]
			m := q.m[i*n : i*n+i+1]
			for j := range m {
				m[j] -= v * q.q[j]
			}
		}
	}
	for i := range n {
		q.m[i*n+i] += 1 / q.scale
	}
	cholesky(q.m[:n*n], n)
	for i := range n {
		l := q.m[i*n+i]
		q.y[i] = (q.y[i] - dot(q.m[i*n:i*n+i], q.y[:i])) / l
		rest -= q.y[i] * q.y[i]
		logDet += 2 * math.Log(l)
	}
	return rest, logDet
}
