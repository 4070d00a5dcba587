package hearing

import "math"

// biquad is a second-order filter in transposed direct form II. The
// coefficients follow Bristow-Johnson's audio EQ cookbook (W3C Note, 2021).
type biquad struct{ b0, b1, b2, a1, a2, z1, z2 float64 }

func (f *biquad) step(x float64) float64 {
	y := f.b0*x + f.z1
	f.z1 = f.b1*x - f.a1*y + f.z2
	f.z2 = f.b2*x - f.a2*y
	return y
}

func lowPass(freq, q float64) biquad {
	c, alpha := cookbook(freq, q)
	n := 1 + alpha
	return biquad{b0: (1 - c) / 2 / n, b1: (1 - c) / n, b2: (1 - c) / 2 / n, a1: -2 * c / n, a2: (1 - alpha) / n}
}

func highPass(freq, q float64) biquad {
	c, alpha := cookbook(freq, q)
	n := 1 + alpha
	return biquad{b0: (1 + c) / 2 / n, b1: -(1 + c) / n, b2: (1 + c) / 2 / n, a1: -2 * c / n, a2: (1 - alpha) / n}
}

func notch(freq, q float64) biquad {
	c, alpha := cookbook(freq, q)
	n := 1 + alpha
	return biquad{b0: 1 / n, b1: -2 * c / n, b2: 1 / n, a1: -2 * c / n, a2: (1 - alpha) / n}
}

func cookbook(freq, q float64) (cos, alpha float64) {
	w := 2 * math.Pi * freq / analysisRate
	return math.Cos(w), math.Sin(w) / (2 * q)
}

// cleaner takes off what no string makes: the offset, and the mains hum at 50
// or 60 Hz, a third of an octave below the lowest string.
type cleaner struct {
	high, fifty, sixty biquad
}

func newCleaner() cleaner {
	return cleaner{high: highPass(30, math.Sqrt2/2), fifty: notch(50, 4), sixty: notch(60, 5)}
}

func (c *cleaner) step(x float64) float64 {
	return c.sixty.step(c.fifty.step(c.high.step(x)))
}
