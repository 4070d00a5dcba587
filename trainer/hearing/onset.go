package hearing

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

const (
	// hop is the step of the onset function in analysis samples: 5.3 ms.
	hop = 64
	// frame is its window: 21.3 ms.
	frame = 256
	// bands the flux is summed over.
	fluxBands = 24
	fluxLow   = 60.0   // Hz
	fluxHigh  = 5400.0 // Hz

	// fluxThreshold is the mean rise in dB from which a frame may be a pluck. It
	// is low: whether it was one, the evidence that follows says.
	fluxThreshold = 1.2
	// mostRise is the most that one band counts, in dB.
	mostRise = 15
	// leastGap between two onsets, in frames: 43 ms. A flux so many times
	// stronger breaks it, since a damped string stirs before the next pluck.
	leastGap = 8
	stronger = 3
	// The noise floor of a band follows falls at once and rises by 3 dB a second.
	noiseRise   = 1.0037
	noiseMargin = 6
	// Levels 50 dB below the loudest of late do not count; it falls by 0.4 dB a second.
	quietest = 1e-5
	loudFall = 0.9995
)

// onsetDetector finds plucks by spectral flux: the rise of the band levels, in
// decibels, against the last few frames, which the decay of a ringing string
// cannot imitate (Böck and Widmer, "Maximum Filter Vibrato Suppression for
// Onset Detection", DAFx 2013; here with bands in place of the filter).
type onsetDetector struct {
	fft    *fourier.FFT
	window [frame]float64
	in     [frame]float64
	out    [frame/2 + 1]complex128
	edges  [fluxBands + 1]int
	level  [5][fluxBands]float64 // power of the last frames, newest first
	noise  [fluxBands]float64
	flux   [5]float64 // newest first
	loud   float64    // slowly falling peak of power
	since  int        // frames since the last onset
	last   float64    // its flux
	frames int
}

func newOnsetDetector() *onsetDetector {
	d := &onsetDetector{fft: fourier.NewFFT(frame), since: 1 << 20}
	for i := range d.window {
		d.window[i] = 0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/frame)
	}
	ratio := fluxHigh / fluxLow
	for b := range d.edges {
		f := fluxLow * math.Pow(ratio, float64(b)/fluxBands)
		d.edges[b] = int(math.Round(f * frame / analysisRate))
		if b > 0 && d.edges[b] <= d.edges[b-1] {
			d.edges[b] = d.edges[b-1] + 1
		}
	}
	return d
}

// step takes the newest frame and reports the flux of a pluck that peaked one
// frame ago.
func (d *onsetDetector) step(x []float64) (flux float64, ok bool) {
	for i, v := range x {
		d.in[i] = v * d.window[i]
	}
	d.fft.Coefficients(d.out[:], d.in[:])
	copy(d.level[1:], d.level[:])
	copy(d.flux[1:], d.flux[:])
	all := 0.0
	for b := range fluxBands {
		p := 0.0
		for _, c := range d.out[d.edges[b]:min(d.edges[b+1], len(d.out))] {
			p += real(c)*real(c) + imag(c)*imag(c)
		}
		p /= frame * frame / 16.0
		all += p
		d.level[0][b] = p
		if p < d.noise[b] || d.frames == 0 {
			d.noise[b] += 0.2 * (p - d.noise[b])
		} else {
			d.noise[b] *= noiseRise
		}
	}
	d.frames++
	d.loud = math.Max(all, d.loud*loudFall)
	sum := 0.0
	for b := range fluxBands {
		floor := noiseMargin*d.noise[b] + quietest*d.loud/fluxBands + 1e-10
		now := d.level[0][b] + floor
		was := math.Max(d.level[2][b], math.Max(d.level[3][b], d.level[4][b])) + floor
		if now > was {
			sum += math.Min(mostRise, 10*math.Log10(now/was))
		}
	}
	d.flux[0] = sum / fluxBands
	d.since++
	f := d.flux
	if f[1] < fluxThreshold || f[1] < f[0] || f[1] <= f[2] || f[1] <= f[3] || d.since <= leastGap && f[1] < stronger*d.last {
		return 0, false
	}
	d.since, d.last = 0, f[1]
	return f[1], true
}
