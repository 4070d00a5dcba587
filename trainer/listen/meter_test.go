package listen

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/hearing"
)

// A noisy room, a tone of 110 Hz 20 cents sharp, and the room again: the level
// follows, the floor is the room's.
func TestMeter(t *testing.T) {
	const rate = 48000
	a, err := hearing.New(rate)
	require.NoError(t, err)
	m := newMeter([]int{64, 59, 55, 50, 45, 40})
	r := rand.New(rand.NewPCG(1, 2))
	phase := 0.0
	var events []hearing.Event
	play := func(seconds, tone float64) {
		block := make([]float32, 1024)
		for range int(seconds * rate / 1024) {
			for i := range block {
				phase += 2 * math.Pi * 110 * math.Exp2(20.0/1200) / rate
				block[i] = float32(0.001*r.NormFloat64() + tone*(math.Sin(phase)+0.5*math.Sin(2*phase)))
			}
			events = a.Push(block, events[:0])
			m.read(a, block, rate)
		}
	}
	play(2, 0)
	assert.InDelta(t, -60, m.Level, 1)
	assert.InDelta(t, -60, m.Floor, 1)
	assert.False(t, m.Sounds)
	play(3, 0.1)
	assert.InDelta(t, -22, m.Level, 1)
	assert.InDelta(t, -60, m.Floor, 1, "what rings is not the room")
	require.True(t, m.Sounds)
	assert.Equal(t, 4, m.Reading.String)
	assert.InDelta(t, 20, m.Reading.Cents, 1)
	play(4, 0)
	assert.InDelta(t, -60, m.Level, 1, "it falls")
	assert.False(t, m.Sounds)
	play(FloorSeconds+1, 0.1)
	assert.InDelta(t, -22, m.Floor, 1, "a room that became loud")
}

func TestTunerAndLevelInWords(t *testing.T) {
	assert.Equal(t, "in tune", InTune(-4.9))
	assert.Equal(t, "12 cents flat", InTune(-12.3))
	assert.Equal(t, "31 cents sharp", InTune(31))
	assert.Equal(t, "--------------------", levelBar(-120))
	assert.Equal(t, "==========----------", levelBar(-30))
	assert.Equal(t, "====================", levelBar(3))
	m := Meter{Level: -30, Floor: -61.6}
	assert.Equal(t, "level  -30 dB ==========---------- noise  -62 dB", m.Line(nil))
	m.Reading, m.Sounds = hearing.Reading{String: 1, Cents: 8}, true
	assert.Equal(t, "level  -30 dB ==========---------- noise  -62 dB   string 2, B3: 8 cents sharp", m.Line([]int{64, 59}))
}
