package hearing

import "math"

// harmonics weighs, for one length of sound, how likely each bass note made it:
// the marginal likelihood of a sum of harmonic sinusoids with normal amplitudes
// in white noise, all of unknown strength (Bretthorst, "Bayesian Spectrum
// Analysis and Parameter Estimation", 1988; with normal priors on the amplitudes,
// so that a low note's many partials are not favoured). It uses every sample to
// the newest, which a windowed spectrum does not, and tells a semitone from
// about two periods. What rang before may ring on, see ringer.
type harmonics struct {
	size  int       // samples, of each thinned-th one
	noise []float64 // standard deviation, against that of a sample long after the pluck
	of    [basses]projection
}

// projection takes samples to the amplitudes of a note, made independent.
type projection struct {
	rows   [][]float64
	logDet float64
}

const (
	// thinned is the step in which samples without highs are taken, to be quick.
	thinned = 3
	// highestPartial that is looked at, in Hz.
	highestPartial = 1250
	// partialFall is the power of its number by which a partial's amplitude is
	// expected to fall, and clarity the expected ratio of tone to noise, in power.
	partialFall = 0.6
	clarity     = 10
	// scratch is how much stronger than later the noise is as a pluck begins, and
	// scratchTime the time in which that falls by e, in analysis samples.
	scratch     = 10.0
	scratchTime = 60
	// ringDoubt is how far what rings on may differ from what is foretold, as a
	// part of its power.
	ringDoubt = 0.1
)

// newHarmonics prepares for stretches of so many analysis samples of a guitar
// tuned some semitones off.
func newHarmonics(samples int, tuning float64) *harmonics {
	h := &harmonics{size: samples / thinned}
	h.noise = make([]float64, h.size)
	for i := range h.noise {
		h.noise[i] = 1 + scratch*math.Exp(-float64(i*thinned)/scratchTime)
	}
	for b := range h.of {
		h.of[b] = h.project(frequency(float64(BassLow+b) + tuning))
	}
	return h
}

func (h *harmonics) project(f0 float64) projection {
	n := 2 * int(highestPartial/f0)
	rows := make([][]float64, n)
	power := 0.0
	for k := 1; k <= n/2; k++ {
		amp := math.Pow(float64(k), -partialFall)
		power += amp * amp
		c, s := make([]float64, h.size), make([]float64, h.size)
		sin, cos := math.Sincos(2 * math.Pi * partialOf(f0, k) * thinned / analysisRate)
		re, im := amp, 0.0
		for i := range c {
			c[i], s[i] = re/h.noise[i], im/h.noise[i]
			re, im = re*cos-im*sin, re*sin+im*cos
		}
		rows[2*k-2], rows[2*k-1] = c, s
	}
	gram := make([]float64, n*n)
	for i := range n {
		for j := range i + 1 {
			gram[i*n+j] = dot(rows[i], rows[j]) / power
		}
		gram[i*n+i] += 1.0 / clarity
	}
	cholesky(gram, n)
	logDet := float64(n) * math.Log(clarity)
	for i := range n {
		for j := range i {
			l := gram[i*n+j]
			for t, v := range rows[j] {
				rows[i][t] -= l * v * math.Sqrt(power)
			}
		}
		l := gram[i*n+i]
		logDet += 2 * math.Log(l)
		for t := range rows[i] {
			rows[i][t] /= l * math.Sqrt(power)
		}
	}
	return projection{rows, logDet}
}

// likelihoods of the bass notes, the two ways they are taken as evidence.
type likelihoods struct {
	chance [basses]float64 // logarithm of the chance, all being as likely before
	far    [basses]float64 // tens of nats under the likeliest
}

// likely weighs samples, h.size of them, which it divides by the noise. ring
// may be nil.
func (h *harmonics) likely(x []float64, ring *ringSpace, out *likelihoods) {
	power := dot(x, x)/float64(h.size) + 1e-15
	for i := range x {
		x[i] /= h.noise[i]
	}
	all := dot(x, x) + 1e-12
	old := 0
	if ring != nil {
		old = ring.n
		for i := range old {
			for t := range ring.rows[i][:h.size] {
				ring.rows[i][t] /= h.noise[t]
			}
		}
		for i := range old {
			for j := range i + 1 {
				ring.gram[i*old+j] = dot(ring.rows[i][:h.size], ring.rows[j][:h.size])
			}
			ring.x[i] = dot(ring.rows[i][:h.size], x)
		}
		ring.scale = clarity * ringDoubt / power
	}
	best := math.Inf(-1)
	for b := range out.far {
		p := &h.of[b]
		rest, logDet := all, p.logDet
		if old == 0 {
			for _, r := range p.rows {
				z := dot(r, x)
				rest -= z * z
			}
		} else {
			rest, logDet = ring.without(p, x, rest, logDet)
		}
		out.far[b] = -0.5*float64(h.size)*math.Log(math.Max(rest, 1e-6*all)) - 0.5*logDet
		best = math.Max(best, out.far[b])
	}
	sum := 0.0
	for b := range out.far {
		out.chance[b] = math.Exp(likelyPart * (out.far[b] - best))
		sum += out.chance[b]
		out.far[b] = math.Max(-5, (out.far[b]-best)/10)
	}
	for b := range out.chance {
		out.chance[b] = math.Log(out.chance[b]/sum + likelyDoubt)
	}
}

const (
	// likelyPart is the part of a likelihood that counts, since neighbouring
	// samples of a sound are no independent witnesses.
	likelyPart = 0.5
	// likelyDoubt is the chance that a sound is nothing of the kind.
	likelyDoubt = 0.01
)

// partialOf is the frequency of a stiff string's partial.
func partialOf(f0 float64, k int) float64 {
	n := float64(k)
	return n * f0 * math.Sqrt(1+stiffness*n*n)
}

func dot(x, y []float64) float64 {
	y = y[:len(x)]
	var s0, s1, s2, s3 float64
	i := 0
	for ; i+3 < len(x); i += 4 {
		s0 += x[i] * y[i]
		s1 += x[i+1] * y[i+1]
		s2 += x[i+2] * y[i+2]
		s3 += x[i+3] * y[i+3]
	}
	for ; i < len(x); i++ {
		s0 += x[i] * y[i]
	}
	return s0 + s1 + s2 + s3
}

// cholesky turns the lower half of a positive definite n by n matrix into its
// lower factor.
func cholesky(m []float64, n int) {
	for i := range n {
		for j := range i + 1 {
			s := m[i*n+j] - dot(m[i*n:i*n+j], m[j*n:j*n+j])
			if i == j {
				m[i*n+i] = math.Sqrt(math.Max(s, 1e-12))
			} else {
				m[i*n+j] = s / m[j*n+j]
			}
		}
	}
}

// backward solves for the transpose of a lower factor, in place.
func backward(m []float64, n int, y []float64) {
	for i := n - 1; i >= 0; i-- {
		s := y[i]
		for j := i + 1; j < n; j++ {
			s -= m[j*n+i] * y[j]
		}
		y[i] = s / m[i*n+i]
	}
}
