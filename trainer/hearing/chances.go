package hearing

import "math"

// chances are those of each bass note from E2 on and, last, that no bass note
// was plucked. They add up to 1.
type chances [basses + 1]float64

// weights turn evidence into chances by a conditional logit (McFadden,
// "Conditional logit analysis of qualitative choice behavior", 1974): those of
// evidence.of first, then those of evidence.none.
type weights [2 * features]float64

func (c *chances) judge(e *evidence, w *weights) {
	top := math.Inf(-1)
	for b := range c {
		f, g := &e.none, w[features:]
		if b < basses {
			f, g = &e.of[b], w[:features]
		}
		s := 0.0
		for i, v := range f {
			s += g[i] * v
		}
		c[b] = s
		top = math.Max(top, s)
	}
	sum := 0.0
	for b := range c {
		c[b] = math.Exp(c[b] - top)
		sum += c[b]
	}
	for b := range c {
		c[b] /= sum
	}
}

// best returns the likeliest bass note as a MIDI number, or 0 where likeliest
// is that there was none, and its chance.
func (c *chances) best() (midi int, chance float64) {
	i := 0
	for b, v := range c {
		if v > c[i] {
			i = b
		}
	}
	if i == basses {
		return 0, c[i]
	}
	return BassLow + i, c[i]
}

// bestNote returns the likeliest bass note, whether or not there was one.
func (c *chances) bestNote() (midi int, chance float64) {
	for b, v := range c[:basses] {
		if v > chance {
			midi, chance = BassLow+b, v
		}
	}
	return midi, chance
}

// rival returns the likeliest pitch but one.
func (c *chances) rival(but int) (midi int, chance float64) {
	for b, v := range c {
		if b != but-BassLow && v > chance {
			midi, chance = BassLow+b, v
		}
	}
	if midi > BassHigh {
		midi = 0
	}
	return midi, chance
}
