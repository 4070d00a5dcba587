package hearing

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// oracle lists the recordings of testdata and the least F of their bass notes.
// Source: FluidR3_GM samples rendered by FluidSynth, see testdata/README.md.
var oracle = []struct {
	file string
	f    float64
}{
	{"testdata/steel-line.wav", 0.97},
	{"testdata/clean-line.wav", 0.97},
	{"testdata/clean-line-with-chords.wav", 0.90},
}

func TestBassLineOfRealSamples(t *testing.T) {
	for _, o := range oracle {
		k := loadTake(t, o.file)
		y := compare(k.notes, hear(t, k, nil))
		t.Log(k.name, y)
		assert.GreaterOrEqual(t, y.f(), o.f, "%s %v", k.name, y.log)
		assert.LessOrEqual(t, y.octaves, y.played*2/100)
	}
}
