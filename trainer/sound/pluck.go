package sound

import (
	"math"

	"footfall/fretboard/playing"
)

// pluck is a plucked string after Karplus and Strong, "Digital Synthesis of
// Plucked-String and Drum Timbres", Computer Music Journal 7/2, 1983: a delay
// line whose content is averaged each time round. It is tuned by a first-order
// all-pass after Jaffe and Smith, "Extensions of the Karplus-Strong
// Plucked-String Algorithm", in the same issue, whose coefficient is chosen so
// that the loop's phase delay at the fundamental is exactly one period.
//
// The averaging filter is symmetric, with the same delay of one sample at every
// frequency, so that upper partials stay in tune.
type pluck struct {
	line []float32
	n    int // samples of line in use
	at   int

	// filter: gain·(side·x[n] + middle·x[n−1] + side·x[n−2])
	side, middle   float32
	x1, x2         float32
	allpass        float32
	passIn, passBy float32

	level    float32 // what the line is multiplied by
	attack   float32 // rises to 1, so that the pluck starts softly
	rise     float32
	release  float32 // 1 while the string rings freely
	let      float32 // current release factor
	sounding bool
}

const (
	lowestPitch   = 25.0  // Hz, below the lowest string of an eight-string guitar
	attackSeconds = 0.001 // of the soft attack
	silence       = 1e-5  // −100 dBFS: a string below it is at rest
	fadeSeconds   = 0.004 // in which a string struck again gives up its old note
	dampSeconds   = 0.06  // in which a finger lifted ends a note
	deadSeconds   = 0.05  // in which a note that is struck dead is over
)

func newPluck(rate int) pluck {
	return pluck{line: make([]float32, int(float64(rate)/lowestPitch)+4)}
}

// frequency returns the pitch of a MIDI note number in Hz, equal temperament
// with A4 = 69 = 440 Hz.
func frequency(midi int) float64 { return 440 * math.Pow(2, float64(midi-69)/12) }

// tuning returns, for a period in samples, the length of the delay line and the
// all-pass coefficient that make up the loop together with the averaging filter.
func tuning(period float64) (n int, coefficient float64) {
	const filterDelay = 1
	n = int(period - filterDelay - 0.5)
	rest := period - filterDelay - float64(n) // 0.5 to 1.5 samples
	w := 2 * math.Pi / period
	return n, math.Sin(w*(1-rest)/2) / math.Sin(w*(1+rest)/2)
}

// strike plucks the string. velocity lies between 1 and 127; seed makes the burst
// of noise, so that the same music always sounds the same.
func (p *pluck) strike(midi int, velocity uint8, rate int, seed uint32) {
	f := frequency(midi)
	period := float64(rate) / f
	n, coefficient := tuning(period)
	if n < 2 || n > len(p.line) {
		p.sounding = false
		return
	}
	p.n, p.at = n, 0
	p.allpass = float32(coefficient)

	// The fundamental falls by 60 dB in 6 s at E2 and 2.5 s at E5. These figures
	// and the averaging below are common practice, no source.
	height := min(1, max(0, float64(midi-40)/36))
	decay := 6 - 3.5*height
	loss := math.Pow(10, -3/(decay*f))
	side := 0.25 - 0.13*height
	w := 2 * math.Pi / period
	gain := min(1, loss/(1-2*side*(1-math.Cos(w))))
	p.side, p.middle = float32(gain*side), float32(gain*(1-2*side))

	p.excite(float32(velocity)/playing.Loudest, seed)
	p.x1, p.x2, p.passIn, p.passBy = 0, 0, 0, 0
	p.level, p.attack, p.rise = loudness(velocity), 0, float32(1/(attackSeconds*float64(rate)))
	p.release, p.let = 1, 1
	p.sounding = true
}

// excite fills the line with half a pluck's triangle, pulled aside at a fifth of
// the string, and half noise; the softer the stroke, the duller the noise.
func (p *pluck) excite(velocity float32, seed uint32) {
	line := p.line[:p.n]
	peak := max(1, p.n/5)
	dull := 0.85 - 0.35*velocity
	state := seed*2654435761 + 1
	var smooth, mean float32
	for i := range line {
		state ^= state << 13
		state ^= state >> 17
		state ^= state << 5
		noise := float32(int32(state)) / (1 << 31)
		smooth = dull*smooth + (1-dull)*noise
		triangle := float32(i) / float32(peak)
		if i >= peak {
			triangle = float32(p.n-i) / float32(p.n-peak)
		}
		line[i] = 0.5*(2*triangle-1) + smooth
		mean += line[i]
	}
	mean /= float32(p.n)
	var top float32
	for i := range line {
		line[i] -= mean
		top = max(top, line[i], -line[i])
	}
	for i := range line {
		line[i] /= top
	}
}

// fade ends the note within about so many seconds.
func (p *pluck) fade(seconds float64, rate int) {
	p.release = min(p.release, float32(math.Pow(10, -3/(seconds*float64(rate)))))
}

// add mixes the string into out.
func (p *pluck) add(out []float32) {
	if !p.sounding {
		return
	}
	line := p.line[:p.n]
	at, x1, x2 := p.at, p.x1, p.x2
	passIn, passBy, let, attack := p.passIn, p.passBy, p.let, p.attack
	var top float32
	for i := range out {
		x := line[at]
		v := p.side*(x+x2) + p.middle*x1
		x1, x2 = x, x1
		passBy = p.allpass*(v-passBy) + passIn
		passIn = v
		line[at] = passBy
		if at++; at == len(line) {
			at = 0
		}
		if attack < 1 {
			attack = min(1, attack+p.rise)
		}
		s := x * let * attack * p.level
		let *= p.release
		top = max(top, s, -s)
		out[i] += s
	}
	p.at, p.x1, p.x2 = at, x1, x2
	p.passIn, p.passBy, p.let, p.attack = passIn, passBy, let, attack
	// A soft attack may not be taken for the end, nor a quiet stretch shorter
	// than a period.
	if attack >= 1 && top < silence && (let < 1e-4 || len(out) >= p.n) {
		p.sounding = false
	}
}
