package sound

import (
	"fmt"
	"math"
)

// Click says which beats the click is heard on. The count-in always has all.
type Click uint8

// The choices of beats.
const (
	ClickAll       Click = iota // every beat
	ClickTwoFour                // beats 2, 4 and 6
	ClickFirst                  // the first beat of each bar
	ClickAlternate              // every beat of one bar, none of the next, to test inner time
)

// ClickNames are the words for the choices, in their order, as the settings have
// them.
var ClickNames = [...]string{"all", "2and4", "first", "alternate"}

// String returns the choice's word.
func (c Click) String() string { return ClickNames[c] }

// ClickOf reads a choice by its word.
func ClickOf(word string) (Click, error) {
	for i, name := range ClickNames {
		if name == word {
			return Click(i), nil
		}
	}
	return 0, fmt.Errorf("click %q: give one of %q", word, ClickNames)
}

// heard reports whether a beat clicks; bars counts the bars played since the
// count-in, from 0.
func (c Click) heard(beat, bars int) bool {
	switch c {
	case ClickTwoFour:
		return beat%2 == 0
	case ClickFirst:
		return beat == 1
	case ClickAlternate:
		return bars%2 == 0
	default:
		return true
	}
}

// clickVoice plays one of two short tones. Its first sample is already loud, so
// that the place of a click can be measured to the sample.
type clickVoice struct {
	accent, plain []float32
	rest          []float32
}

func newClickVoice(rate int) clickVoice {
	return clickVoice{accent: tick(rate, 1760, 1), plain: tick(rate, 1175, 0.7)}
}

// tick is a cosine that dies away by 60 dB in 40 ms.
func tick(rate int, hz, level float64) []float32 {
	const seconds = 0.04
	tone := make([]float32, int(seconds*float64(rate)))
	for i := range tone {
		t := float64(i) / float64(rate)
		tone[i] = float32(level * math.Cos(2*math.Pi*hz*t) * math.Pow(10, -3*t/seconds))
	}
	return tone
}

func (c *clickVoice) strike(accent bool) {
	c.rest = c.plain
	if accent {
		c.rest = c.accent
	}
}

func (c *clickVoice) add(out []float32) {
	n := min(len(out), len(c.rest))
	for i, s := range c.rest[:n] {
		out[i] += s
	}
	c.rest = c.rest[n:]
}
