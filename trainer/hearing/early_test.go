package hearing

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// heardUpTo returns an analyser that has taken a sound at the analysis rate, and
// how much later than given its low-passed samples are.
func heardUpTo(t testing.TB, x []float32) *Analyser {
	t.Helper()
	a, err := New(analysisRate)
	require.NoError(t, err)
	a.Push(x, nil)
	return a
}

// Two and a half periods of a plucked string, no more, name the likeliest pitch.
func TestHarmonicsTellASemitone(t *testing.T) {
	right, all := 0, 0
	for seed := range 4 {
		for midi := BassLow; midi <= BassHigh; midi++ {
			r := rand.New(rand.NewPCG(uint64(seed), uint64(midi)))
			x := make([]float32, 6000)
			pluck(x, analysisRate, 0.25, 0.2, float64(midi), 0.1, anyTone(r), r)
			a := heardUpTo(t, x)
			h := newHarmonics(int(2.5*analysisRate/frequency(float64(midi))), 0)
			from := 3000 + 60
			sound := make([]float64, h.size)
			for i := range sound {
				sound[i] = a.lowAt(from, a.n)[i*thinned]
			}
			var out likelihoods
			h.likely(sound, nil, &out)
			best := 0
			for b, v := range out.chance {
				if v > out.chance[best] {
					best = b
				}
			}
			all++
			if best == midi-BassLow {
				right++
			}
		}
	}
	t.Logf("%d of %d", right, all)
	assert.GreaterOrEqual(t, right, all*9/10)
}

// A ringing note is foretold for 50 ms, and found again where it rings on, not
// where it is plucked anew.
func TestRingingNoteIsForetold(t *testing.T) {
	for midi := BassLow; midi <= BassHigh; midi++ {
		r := rand.New(rand.NewPCG(5, uint64(midi)))
		c := tone{0.5, 0.2, 3, 30}
		x := make([]float32, 9000)
		pluck(x, analysisRate, 0.1, 0.6, float64(midi), 0.1, c, r)
		const at = 5000
		part := func(x []float32) (left, held float64) {
			a := heardUpTo(t, x)
			a.ring.foretell(a, at, midi)
			out := make([]float64, 600)
			sound := a.lowAt(at+guard, at+guard+600)
			held = a.ring.leave(sound, out)
			return energy(out) / energy(sound), held
		}
		left, held := part(x)
		assert.Less(t, left, 0.1, "MIDI %d", midi)
		assert.Greater(t, held, 0.8, "MIDI %d", midi)

		again := make([]float32, 9000)
		pluck(again, analysisRate, 0.1, float64(at)/analysisRate-0.1-0.02, float64(midi), 0.1, c, r)
		for i := at; i < len(again); i++ {
			again[i] = 0
		}
		_, held = part(again)
		assert.Less(t, held, 0.3, "MIDI %d", midi)
	}
}

// An attack is placed within 4 ms over a ringing note.
func TestAttackIsPlaced(t *testing.T) {
	for i := range 20 {
		r := rand.New(rand.NewPCG(9, uint64(i)))
		x := make([]float32, 12000)
		pluck(x, analysisRate, 0.1, 0.4, float64(BassLow+i), 0.1, anyTone(r), r)
		pluck(x, analysisRate, 0.5, 0.4, float64(BassLow+(i+5)%21), 0.1, anyTone(r), r)
		a := heardUpTo(t, x)
		for _, off := range []int{-60, 0, 90} {
			n, _ := a.attack(6000 + int(a.resampler.delay*analysisRate) + off)
			at := a.seconds(n)
			assert.Less(t, math.Abs(at-0.5), 0.004, "%d: %.4f", i, at)
		}
	}
}
