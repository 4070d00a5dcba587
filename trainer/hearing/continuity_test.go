package hearing

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A string that rings on goes on as foretold, alone, below a chord and below a knock; one that
// is damped and struck again does not, and little else sounds than itself.
func TestAStringStruckAgainBegins(t *testing.T) {
	const at, all, only, late = 5000, 3, continuityOnly, continuityOnly + 11
	broken, whole, chords, knocks := 0, 0, 0, 0
	for midi := BassLow; midi <= BassHigh; midi++ {
		look := func(struck float64, chord, knock bool) [continuityFeatures]float64 {
			r := rand.New(rand.NewPCG(5, uint64(midi)))
			c := tone{0.5, 0.2, 3, 30}
			x := make([]float32, 9000)
			length := 0.8
			if struck > 0 {
				length = float64(at)/analysisRate - 0.1
			}
			pluck(x, analysisRate, 0.1, length, float64(midi), 0.1, c, r)
			if struck > 0 {
				pluck(x, analysisRate, float64(at)/analysisRate, 0.4, float64(midi), struck, c, r)
			}
			if chord {
				for _, above := range []int{5, 9, 14} {
					pluck(x, analysisRate, float64(at)/analysisRate, 0.4, float64(midi+above), 0.05, c, r)
				}
			}
			for i := range 2000 {
				if s := float64(i) / analysisRate; knock {
					x[at+i] += float32(0.3 * math.Exp(-s/0.012) * (r.NormFloat64() + math.Sin(2*math.Pi*190*s)))
				}
			}
			a := heardUpTo(t, x)
			a.ring.foretell(a, at, midi)
			f, ok := a.continues.look(a, &waiting{onset: at, flux: 5}, at+stages[againStage+1])
			assert.True(t, ok)
			return f
		}
		rings, again, soft := look(0, false, false), look(0.1, false, false), look(0.05, false, false)
		under, knocked := look(0, true, false), look(0, false, true)
		if rings[all] < 0.2 && rings[only] > littleElse {
			whole++
		}
		if again[all] > 0.5 && soft[all] > 0.4 && again[only] > littleElse {
			broken++
		}
		if under[only] < littleElse && under[4] < 0.4 { // the partial that moved least
			chords++
		}
		if knocked[late] < again[late] && knocked[late] < soft[late] { // how far its partials stay
			knocks++
		}
	}
	t.Logf("of %d: %d ring on, %d begin anew, %d ring on below a chord, %d below a knock", basses, whole, broken, chords, knocks)
	assert.GreaterOrEqual(t, whole, basses*3/4)
	assert.GreaterOrEqual(t, broken, basses-2)
	assert.GreaterOrEqual(t, chords, basses-2)
	assert.GreaterOrEqual(t, knocks, basses-2)
}
