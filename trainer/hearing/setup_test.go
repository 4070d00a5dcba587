package hearing

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// sixStrings is standard tuning, low to high (E2 A2 D3 G3 B3 E4).
var sixStrings = []int{40, 45, 50, 55, 59, 64}

// The tuner against tones of known frequency: within half a cent for a pure
// harmonic tone, at every string and rate.
func TestTunerOnTonesOfKnownFrequency(t *testing.T) {
	for _, rate := range []int{22050, 44100, 48000} {
		for i, midi := range sixStrings {
			for _, cents := range []float64{-40, 0, 7.5} {
				f := 440 * math.Exp2((float64(midi)-69+cents/100)/12)
				s := make([]float32, rate)
				for j := range s {
					w := 2 * math.Pi * f * float64(j) / float64(rate)
					s[j] = float32(0.1*math.Sin(w) + 0.08*math.Sin(2*w+1) + 0.05*math.Sin(3*w+2))
				}
				a, err := New(rate)
				require.NoError(t, err)
				a.Push(s, nil)
				r, ok := a.Tune(sixStrings)
				require.True(t, ok)
				assert.Equal(t, i, r.String)
				assert.InDelta(t, cents, r.Cents, 0.5, "string of MIDI %d at %d Hz", midi, rate)
			}
		}
	}
}

func TestTunerSaysNothingOfSilenceAndNoise(t *testing.T) {
	a, err := New(48000)
	require.NoError(t, err)
	a.Push(make([]float32, 48000), nil)
	_, ok := a.Tune(sixStrings)
	assert.False(t, ok)
	r := rand.New(rand.NewPCG(1, 1))
	s := make([]float32, 48000)
	for i := range s {
		s[i] = float32(0.1 * r.NormFloat64())
	}
	a.Push(s, nil)
	_, ok = a.Tune(sixStrings)
	assert.False(t, ok)
}

// A guitar tuned a third of a semitone flat, with noise 50 dB down.
func TestSetupLearnsTheRoom(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	k := take{rate: 48000, samples: make([]float32, 6*48000)}
	for i := range k.samples {
		k.samples[i] = float32(0.0003 * r.NormFloat64())
	}
	for i, midi := range []float64{40, 45, 47, 43, 41, 48} {
		pluck(k.samples, k.rate, 1+0.6*float64(i), 0.5, midi-0.33, 0.1, anyTone(r), r)
	}
	s, err := NewSetup(k.rate)
	require.NoError(t, err)
	done := false
	for i := 0; !done; i += 480 {
		done = s.Push(k.samples[i : i+480])
	}
	room := s.Room()
	assert.Empty(t, room.Fault())
	assert.InDelta(t, -33, room.Tuning, 4)
	assert.InDelta(t, -70.5, room.Noise, 2)
	assert.Equal(t, 6, room.Notes)
	assert.Greater(t, room.Level, -35.0)

	a, err := New(k.rate)
	require.NoError(t, err)
	a.Learn(room)
	var heard []int
	for _, n := range settled(a.Flush(a.Push(k.samples, nil))) {
		if n.Part == Bass {
			heard = append(heard, n.MIDI)
		}
	}
	assert.Equal(t, []int{40, 45, 47, 43, 41, 48}, heard)
}

func TestSetupNamesTheFault(t *testing.T) {
	s, err := NewSetup(8000)
	require.NoError(t, err)
	require.True(t, s.Push(make([]float32, 40000)))
	assert.Contains(t, s.Room().Fault(), "Nothing comes in")
	assert.Contains(t, Room{Clipped: 9, Peak: 0, Notes: 4, Level: -5, Noise: -60}.Fault(), "clips")
	assert.Contains(t, Room{Peak: -20, Notes: 0, Noise: -60}.Fault(), "No note")
	assert.Contains(t, Room{Peak: -20, Notes: 3, Level: -40, Noise: -45}.Fault(), "too loud against")
}

// Neither silence nor steady noise nor the click alone makes notes.
func TestNothingPlayedIsNothingHeard(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	k := take{rate: 44100, samples: make([]float32, 6*44100)}
	assert.Empty(t, hear(t, k, nil))
	noise := take{rate: 44100, samples: make([]float32, 6*44100)}
	for i := range noise.samples {
		noise.samples[i] = float32(0.01 * r.NormFloat64())
	}
	for _, n := range hear(t, noise, nil) {
		assert.Less(t, n.Confidence, sure, "noise at %.2f s", n.Onset)
	}
	k.samples[0] = 0.3 // sets the click's level
	for _, n := range hear(t, k.withClick(0, 0.5, 0.5, r), nil) {
		assert.Less(t, n.Confidence, sure, "a click at %.2f s", n.Onset)
	}
}
