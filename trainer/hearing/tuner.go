package hearing

import "math"

// Reading is what the tuner shows.
type Reading struct {
	// String is the nearest open string, numbered as they were given, from 0.
	String int
	// Frequency is that of the sound in Hz.
	Frequency float64
	// Cents is how far it lies above the string's note.
	Cents float64
	// Clarity is how well the sound repeats, over 0 to 1.
	Clarity float64
}

const (
	// tunerLength is the stretch the tuner measures: 0.34 s.
	tunerLength = 4096
	// tunerClarity is the least clarity of a reading.
	tunerClarity = 0.85
	// tunerReach is how far a string may be off to be shown, in semitones.
	tunerReach = 2.5
)

// Tune reads the last third of a second against the notes of the open strings,
// as MIDI note numbers, and reports whether one of them sounds. It measures the
// period as McLeod and Wyvill do and then again over as many periods as fit, which
// makes it exact to a fraction of a cent on a steady tone.
func (a *Analyser) Tune(open []int) (Reading, bool) {
	x := a.lowAt(a.n-tunerLength, a.n)
	if decibels(energy(x)) < a.gate {
		return Reading{}, false
	}
	a.fresh.fill(x[tunerLength-1200:])
	lag := float64(a.fresh.lag())
	if lag == 0 {
		return Reading{}, false
	}
	clarity := 0.0
	for times := 1.0; ; {
		place, value := repeats(x, lag*times)
		lag = place / times
		clarity = value
		next := 2 * times
		if lag*next > tunerLength/2 {
			break
		}
		times = next
	}
	r := Reading{Frequency: analysisRate / lag, Clarity: clarity}
	pitch := pitchOf(r.Frequency)
	best := math.Inf(1)
	for i, midi := range open {
		if d := pitch - float64(midi); math.Abs(d) < math.Abs(best) {
			best, r.String = d, i
		}
	}
	r.Cents = 100 * best
	return r, clarity >= tunerClarity && math.Abs(best) <= tunerReach
}

// repeats returns the lag near the given one at which x best repeats, between
// samples by a parabola, and the normalised square difference there.
func repeats(x []float64, near float64) (lag, value float64) {
	at := func(l int) float64 {
		r, m := 0.0, 1e-12
		for i, v := range x[:len(x)-l] {
			w := x[i+l]
			r += v * w
			m += v*v + w*w
		}
		return 2 * r / m
	}
	// The neighbours are looked at too, and the sound may repeat nowhere near.
	l := min(max(int(near+0.5), 2), len(x)-3)
	v := at(l)
	for range 4 { // climbs to the top
		if l == 2 || l == len(x)-3 {
			break
		}
		if up := at(l + 1); up > v {
			l, v = l+1, up
		} else if down := at(l - 1); down > v {
			l, v = l-1, down
		} else {
			break
		}
	}
	b, c := at(l-1), at(l+1)
	shift := 0.0
	if den := b - 2*v + c; den < 0 {
		shift = between(-1, 0.5*(b-c)/den, 1)
	}
	return float64(l) + shift, v - 0.25*(b-c)*shift
}
