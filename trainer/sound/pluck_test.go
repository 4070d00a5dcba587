package sound

import (
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/dsp/window"
)

// pluckOf returns seconds of one plucked note.
func pluckOf(midi, rate int, seconds float64) []float32 {
	p := newPluck(rate)
	p.strike(midi, 114, rate, uint32(midi))
	out := make([]float32, int(seconds*float64(rate)))
	for at := 0; at < len(out); at += chunk {
		p.add(out[at:min(len(out), at+chunk)])
	}
	return out
}

// phasePitch measures the fundamental near a guess in Hz: the phase of its DFT
// bin in two Hann windows a known time apart, the phase vocoder's estimate
// (Flanagan and Golden, Bell System Technical Journal 45, 1966).
func phasePitch(x []float32, rate int, guess float64) float64 {
	const size = 16384
	hop := int(math.Round(2 * float64(rate) / guess)) // short enough that the phase is unambiguous
	first, second := bin(x[:size], rate, guess), bin(x[hop:hop+size], rate, guess)
	turned := cmplx.Phase(second / first)
	expected := 2 * math.Pi * guess * float64(hop) / float64(rate)
	off := math.Remainder(turned-expected, 2*math.Pi)
	return guess + off/(2*math.Pi)*float64(rate)/float64(hop)
}

// bin returns the Hann-windowed DFT of x at a frequency.
func bin(x []float32, rate int, hz float64) complex128 {
	windowed := make([]float64, len(x))
	for i, s := range x {
		windowed[i] = float64(s)
	}
	window.Hann(windowed)
	var sum complex128
	for i, s := range windowed {
		sum += complex(s, 0) * cmplx.Rect(1, -2*math.Pi*hz*float64(i)/float64(rate))
	}
	return sum
}

func cents(hz, of float64) float64 { return 1200 * math.Log2(hz/of) }

// Every semitone from E2 to E5 within 2 cents of equal temperament (A4 = 440 Hz,
// MIDI 69), at the rates that devices have.
func TestPluckPitch(t *testing.T) {
	for _, rate := range []int{44100, 48000, 96000} {
		for midi := 40; midi <= 76; midi++ {
			want := 440 * math.Pow(2, float64(midi-69)/12)
			x := pluckOf(midi, rate, 1)[rate/10:]
			assert.InDelta(t, 0, cents(phasePitch(x, rate, want), want), 0.2, "MIDI %d at %d", midi, rate)
		}
	}
}

// The same by autocorrelation over the whole spectrum, which upper partials out
// of tune would pull away.
func TestPluckPitchOfWholeWave(t *testing.T) {
	const rate, size = 48000, 32768
	fft := fourier.NewFFT(size)
	for midi := 40; midi <= 76; midi++ {
		want := frequency(midi)
		x := make([]float64, size)
		for i, s := range pluckOf(midi, rate, 1)[rate/20 : rate/20+size/2] {
			x[i] = float64(s)
		}
		spectrum := fft.Coefficients(nil, x)
		for i, c := range spectrum {
			spectrum[i] = complex(real(c)*real(c)+imag(c)*imag(c), 0)
		}
		r := fft.Sequence(nil, spectrum)
		// The tenth period divides the error of the parabola by ten.
		period := 10 * rate / want
		at := int(math.Round(period))
		for range 5 {
			if r[at-1] > r[at] {
				at--
			} else if r[at+1] > r[at] {
				at++
			}
		}
		peak := float64(at) + 0.5*(r[at-1]-r[at+1])/(r[at-1]-2*r[at]+r[at+1])
		assert.InDelta(t, 0, cents(10*rate/peak, want), 2, "MIDI %d", midi)
	}
}

func TestPluckRingsAndRests(t *testing.T) {
	const rate = 48000
	p := newPluck(rate)
	p.strike(40, 127, rate, 1)
	out := make([]float32, chunk)
	quarter := func() (top float32) {
		for range rate / 4 / chunk {
			clear(out)
			p.add(out)
			for _, s := range out {
				top = max(top, s, -s)
			}
		}
		return top
	}
	first := quarter()
	require.Greater(t, first, float32(0.3))
	require.LessOrEqual(t, first, float32(1.3))
	for range 7 {
		quarter()
	}
	assert.Greater(t, quarter(), float32(0.02), "an open low string rings for over two seconds")
	p.fade(dampSeconds, rate)
	quarter()
	assert.False(t, p.sounding, "a damped string comes to rest")
	assert.Zero(t, quarter())
}
