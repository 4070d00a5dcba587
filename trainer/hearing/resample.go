package hearing

import "math"

// analysisRate is the rate all analysis runs at, in Hz. Half of it, 6 kHz,
// holds the first seventy partials of a low E and the pluck's own noise.
const analysisRate = 12000

// resampler brings a stream to the analysis rate through a windowed-sinc
// low-pass filter in polyphase form (Crochiere and Rabiner, "Multirate Digital
// Signal Processing", 1983), with a Kaiser window for 80 dB of rejection.
type resampler struct {
	up, down int
	taps     int       // of one phase
	filter   []float64 // up phases of taps coefficients each
	past     []float64 // the last taps samples, twice over so that any stretch is whole
	at       int
	phase    int     // position of the next output, in 1/up of an input sample
	delay    float64 // of the filter, in seconds
}

// sincCrossings is the filter's half length in zero crossings of its sinc: 1.1 ms,
// by which every note is heard later.
const sincCrossings = 12

func newResampler(rate int) *resampler {
	g := gcd(rate, analysisRate)
	r := &resampler{up: analysisRate / g, down: rate / g}
	// cut-off in cycles per input sample, a little below the lower Nyquist rate
	cut := 0.5 * 0.92 * math.Min(1, float64(analysisRate)/float64(rate))
	half := int(math.Ceil(sincCrossings / (2 * cut)))
	r.taps = 2 * half
	r.filter = make([]float64, r.up*r.taps)
	const beta = 8.0 // 80 dB
	for p := range r.up {
		phase := r.filter[p*r.taps : (p+1)*r.taps]
		sum := 0.0
		for i := range phase {
			// distance of tap i from the output's place, in input samples
			d := float64(i-half) + 1 - float64(p)/float64(r.up)
			x := 2 * cut * d
			s := 1.0
			if x != 0 {
				s = math.Sin(math.Pi*x) / (math.Pi * x)
			}
			w := d / float64(half)
			if math.Abs(w) >= 1 {
				continue
			}
			phase[i] = s * bessel0(beta*math.Sqrt(1-w*w))
			sum += phase[i]
		}
		for i := range phase {
			phase[i] /= sum
		}
	}
	r.past = make([]float64, 2*r.taps)
	r.delay = float64(half) / float64(rate)
	return r
}

// push takes one input sample and calls out for each analysis sample that it
// completes.
func (r *resampler) push(x float64, out func(float64)) {
	r.past[r.at] = x
	r.past[r.at+r.taps] = x
	r.at++
	if r.at == r.taps {
		r.at = 0
	}
	for ; r.phase < r.up; r.phase += r.down {
		w := r.past[r.at : r.at+r.taps]
		f := r.filter[r.phase*r.taps : (r.phase+1)*r.taps]
		sum := 0.0
		for i, c := range f {
			sum += c * w[i]
		}
		out(sum)
	}
	r.phase -= r.up
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// bessel0 is the modified Bessel function of the first kind, order 0, by its
// power series.
func bessel0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1; term > 1e-12*sum; k++ {
		term *= x * x / (4 * float64(k*k))
		sum += term
	}
	return sum
}
