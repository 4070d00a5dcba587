package hearing

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

const (
	// Pitches a sound is taken apart into: a semitone below E2, so that a note
	// below the range is seen as such, to C6.
	lowestPitch  = 39
	highestPitch = 84
	pitches      = highestPitch - lowestPitch + 1

	// slopes are the spectra each pitch may have, from bright to dark.
	slopes = 3
	atoms  = pitches * slopes

	// mixLength is the length of the transform: bins of 2.9 Hz.
	mixLength = 4096

	// The spectrum is held in half semitones from bandBase on, over 62 semitones.
	bandsPerSemitone = 2
	bandBase         = 37
	mixBands         = 62 * bandsPerSemitone

	// compression of the magnitudes, so that weak partials count too.
	compression = 0.6

	// sparseness is what an atom must explain, as a part of the whole, to be used.
	sparseness = 0.01

	// descents is the number of rounds of the solver; more change no answer.
	descents = 40
)

// fallOff is the power of the partial's number by which its amplitude falls.
var fallOff = [slopes]float64{0.4, 1.1, 2.2}

// mixture explains a stretch of sound as a sum of notes: non-negative least
// squares over harmonic templates, as in Smaragdis and Brown, "Non-Negative
// Matrix Factorization for Polyphonic Music Transcription" (WASPAA 2003), with
// fixed templates, solved by coordinate descent.
type mixture struct {
	size   int
	window []float64
	fft    *fourier.FFT
	in     []float64
	out    []complex128
	mag    []float64
	lo, hi [mixBands]int
	*templates
	band     [mixBands]float64
	target   [atoms]float64
	gradient [atoms]float64
	x        [atoms]float64
}

// templates are the spectra of the atoms in stretches of one length, and their
// products.
type templates struct {
	template [atoms][mixBands]float64
	gram     [atoms][atoms]float64
}

func bandFrequency(b float64) float64 { return frequency(bandBase + b/bandsPerSemitone) }

// bandEdge is where a band begins and the one before ends, in Hz.
func bandEdge(b int) float64 { return bandFrequency(float64(b) - 0.5) }

// newMixture prepares for stretches of size samples.
func newMixture(size int, t *templates) *mixture {
	m := &mixture{
		size: size, fft: fourier.NewFFT(mixLength), window: make([]float64, size), in: make([]float64, mixLength),
		out: make([]complex128, mixLength/2+1), mag: make([]float64, mixLength/2+1), templates: t,
	}
	sum := 0.0
	for i := range m.window {
		m.window[i] = 0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/float64(size))
		sum += m.window[i]
	}
	for i := range m.window {
		m.window[i] *= 2 / sum
	}
	for b := range mixBands {
		m.lo[b] = int(math.Ceil(bandEdge(b) * mixLength / analysisRate))
		m.hi[b] = int(math.Ceil(bandEdge(b+1) * mixLength / analysisRate))
	}
	return m
}

// newTemplates makes those for stretches of size samples of a guitar tuned some
// semitones away from A4 = 440 Hz.
func newTemplates(size int, tuning float64) *templates {
	m := &templates{}
	for p := range pitches {
		f0 := frequency(float64(lowestPitch+p) + tuning)
		for s := range slopes {
			t := &m.template[p*slopes+s]
			fillTemplate(t, size, f0, fallOff[s])
			norm := 0.0
			for _, v := range t {
				norm += v * v
			}
			norm = math.Sqrt(norm)
			for b := range t {
				t[b] /= norm
			}
		}
	}
	for i := range atoms {
		for j := range i + 1 {
			s := dot(m.template[i][:], m.template[j][:])
			m.gram[i][j], m.gram[j][i] = s, s
		}
	}
	return m
}

// stiffness of a string stretches its partials; 5e-5 is a plain guitar string
// (common practice, no source).
const stiffness = 5e-5

// fillTemplate fills a template with what the partials of f0 give each band through
// the window's main lobe, compressed.
func fillTemplate(t *[mixBands]float64, size int, f0, fall float64) {
	bin := analysisRate / float64(size)
	var edges [mixBands + 1]float64
	for b := range edges {
		edges[b] = bandEdge(b)
	}
	for k := 1; k <= 40 && float64(k)*f0 < 5500; k++ {
		f := partialOf(f0, k)
		power := math.Pow(float64(k), -2*fall)
		for b := range mixBands {
			away := math.Max(0, math.Max(edges[b]-f, f-edges[b+1]))
			if away < 2*bin {
				g := hannLobe(away / bin)
				t[b] += power * g * g
			}
		}
	}
	for b, v := range t {
		t[b] = math.Pow(v, compression/2)
	}
}

// hannLobe is the main lobe of a Hann window's transform at d bins, 1 at 0.
func hannLobe(d float64) float64 {
	switch {
	case d < 1e-9:
		return 1
	case d >= 2:
		return 0
	case math.Abs(d-1) < 1e-6:
		return 0.5
	}
	return math.Sin(math.Pi*d) / (math.Pi * d * (1 - d*d))
}

// explain takes apart a stretch of m.size samples.
func (m *mixture) explain(s []float64) {
	for i, v := range s {
		m.in[i] = v * m.window[i]
	}
	clear(m.in[len(s):])
	m.fft.Coefficients(m.out, m.in)
	top := m.hi[mixBands-1] + 1
	for k, c := range m.out[:top] {
		m.mag[k] = math.Sqrt(real(c)*real(c) + imag(c)*imag(c))
	}
	all := 0.0
	for b := range mixBands {
		v := 0.0
		if m.hi[b] <= m.lo[b] { // no bin in the band: between two
			f := bandFrequency(float64(b)) * mixLength / analysisRate
			k := int(f)
			v = m.mag[k] + (f-float64(k))*(m.mag[k+1]-m.mag[k])
		}
		for k := m.lo[b]; k < m.hi[b]; k++ {
			v = math.Max(v, m.mag[k])
		}
		m.band[b] = math.Pow(v, compression)
		all += m.band[b] * m.band[b]
	}
	least := sparseness * math.Sqrt(all)
	for i := range atoms {
		t := 0.0
		for b, v := range m.band {
			t += m.template[i][b] * v
		}
		m.target[i] = t - least
		m.gradient[i] = m.target[i]
		m.x[i] = 0
	}
	for range descents {
		moved := 0.0
		for i := range atoms {
			next := math.Max(0, m.x[i]+m.gradient[i])
			d := next - m.x[i]
			if d == 0 {
				continue
			}
			m.x[i] = next
			for j, g := range &m.gram[i] {
				m.gradient[j] -= d * g
			}
			moved = math.Max(moved, math.Abs(d))
		}
		if moved < 1e-3*least {
			break
		}
	}
}

// strength is how much of a pitch the last stretch held, compressed.
func (m *mixture) strength(pitch int) float64 {
	i := (pitch - lowestPitch) * slopes
	return m.x[i] + m.x[i+1] + m.x[i+2]
}

// amplitude is the highest magnitude within a quarter tone of a frequency in
// the last stretch.
func (m *mixture) amplitude(f float64) float64 {
	low := int(math.Floor(f * 0.9715 * mixLength / analysisRate))
	high := min(int(math.Ceil(f*1.0293*mixLength/analysisRate)), m.hi[mixBands-1])
	v := 0.0
	for k := low; k <= high; k++ {
		v = math.Max(v, m.mag[k])
	}
	return v
}
