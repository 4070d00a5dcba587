package hearing

import (
	"math/rand/v2"
	"testing"
)

// BankRate is the rate of what these return, in samples a second.
const BankRate = bankRate

// Noise returns twelve seconds or so of sounds that are no plucked string: speech, knocks,
// typing or a hand on the strings.
func Noise(t testing.TB, r *rand.Rand, kind string) []float32 { return noGuitar(t, r, kind).samples }

// Plucked returns a quarter of a second of silence and most of a second of a plucked string.
func Plucked(midi int, r *rand.Rand) []float32 {
	x := make([]float32, bankRate*11/10)
	pluck(x, bankRate, 0.25, 0.7, float64(midi), 0.15, anyTone(r), r)
	return x
}
