package sound

import (
	"math"

	"footfall/fretboard/playing"
)

// drums plays what keeps time. Sounds that ring into each other have a voice each.
type drums struct {
	sounds [playing.Drums][]float32
	voices [playing.Drums]drumVoice
}

type drumVoice struct {
	rest []float32
	gain float32
}

// newDrums makes the sounds. Each but the sweep is loudest at its first sample, so
// that its place can be measured to the sample. Their lengths and colors are common
// practice, no source.
func newDrums(rate int) drums {
	return drums{sounds: [playing.Drums][]float32{
		playing.Accent: tick(rate, 1760),
		playing.Tick:   tick(rate, 1175),
		playing.Chick:  hiss(rate, 0.09, 0, 7000),
		playing.Tap:    hiss(rate, 0.07, 0, 1800),
		playing.Sweep:  hiss(rate, 0.3, 0.09, 3200),
	}}
}

// tick is a cosine that dies away by 60 dB in 40 ms.
func tick(rate int, hz float64) []float32 {
	const seconds = 0.04
	tone := make([]float32, int(seconds*float64(rate)))
	for i := range tone {
		t := float64(i) / float64(rate)
		tone[i] = float32(math.Cos(2*math.Pi*hz*t) * math.Pow(10, -3*t/seconds))
	}
	return tone
}

// hiss is noise above a frequency in Hz that swells for some seconds and dies away
// by 60 dB after them, so that all of it lasts as long as it says.
func hiss(rate int, seconds, swell, above float64) []float32 {
	noise := make([]float32, int(seconds*float64(rate)))
	// Two first-order high-pass filters, one after the other.
	pole := math.Exp(-2 * math.Pi * min(above, 0.45*float64(rate)) / float64(rate))
	state, in := uint32(2463534242), [2]float64{}
	out := [2]float64{}
	top := 0.0
	shaped := make([]float64, len(noise))
	for i := range shaped {
		state ^= state << 13 // Marsaglia, "Xorshift RNGs", Journal of Statistical Software 8/14, 2003
		state ^= state >> 17
		state ^= state << 5
		x := float64(int32(state)) / (1 << 31)
		for k := range out {
			out[k] = pole * (out[k] + x - in[k])
			in[k], x = x, out[k]
		}
		t := float64(i) / float64(rate)
		level := math.Pow(10, -3*(t-swell)/(seconds-swell))
		if t < swell {
			level = math.Sin(math.Pi / 2 * t / swell)
		}
		shaped[i] = x * level
		top = max(top, math.Abs(shaped[i]))
	}
	for i, x := range shaped {
		noise[i] = float32(x / top)
	}
	if swell == 0 && len(noise) > 0 {
		noise[0] = 1
	}
	return noise
}

func (d *drums) strike(s playing.Stroke) {
	d.voices[s.Drum] = drumVoice{d.sounds[s.Drum], loudness(s.Velocity)}
}

// loudness returns the amplitude of a velocity: its square, as downloadable sounds
// have it (DLS Level 1, MIDI Manufacturers Association: 40 log₁₀(127/v) dB down; from
// memory), so that a file of MIDI is as loud note by note as what is heard.
func loudness(velocity uint8) float32 {
	v := float32(velocity) / playing.Loudest
	return v * v
}

func (d *drums) add(out []float32) {
	for i := range d.voices {
		v := &d.voices[i]
		n := min(len(out), len(v.rest))
		for j, s := range v.rest[:n] {
			out[j] += s * v.gain
		}
		v.rest = v.rest[n:]
	}
}

// quiet reports whether none sounds.
func (d *drums) quiet() bool {
	for i := range d.voices {
		if len(d.voices[i].rest) > 0 {
			return false
		}
	}
	return true
}
