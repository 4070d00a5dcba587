package listen

import (
	"fmt"
	"math"
	"strings"

	"footfall/harmony"
	"footfall/trainer/hearing"
)

// Meter is what a microphone shows of the sound that comes in. Levels are in dB of
// full scale.
type Meter struct {
	// Level is that of the sound now, and Floor the least of the last FloorSeconds:
	// the noise of the room, once nothing has rung for a moment.
	Level, Floor float64
	// Reading is the tuner's; it means nothing unless Sounds is set, which it is
	// while an open string does.
	Reading hearing.Reading
	Sounds  bool
}

// Line says it in a line; open are the notes of the open strings, MIDI numbers, as
// the tuner was told them.
func (m Meter) Line(open []int) string {
	line := fmt.Sprintf("level %4.0f dB %s noise %4.0f dB", m.Level, levelBar(m.Level), m.Floor)
	if m.Sounds {
		line += fmt.Sprintf("   string %d, %s: %s", m.Reading.String+1, harmony.FlatName(open[m.Reading.String]), InTune(m.Reading.Cents))
	}
	return line
}

// FloorSeconds is how far back the floor of a Meter looks.
const FloorSeconds = 10

const (
	// silent is the level before anything came in.
	silent = -120.0
	// levelFalls is how fast the level falls, in dB a second.
	levelFalls = 14.0
	// readEvery is how many pieces pass between two readings.
	readEvery = 8
)

// meter reads the pieces of sound that a microphone captures.
type meter struct {
	Meter
	strings []int
	pieces  int
	// least holds the least level of each of the last seconds, the present one at
	// second.
	least   [FloorSeconds]float64
	second  int
	samples int
}

func newMeter(strings []int) *meter {
	m := &meter{Meter: Meter{Level: silent, Floor: silent}, strings: strings}
	for i := range m.least {
		m.least[i] = math.Inf(1)
	}
	return m
}

// read takes a piece that the analyser has heard, at so many samples a second, and
// reports whether there is something new to show.
func (m *meter) read(a *hearing.Analyser, samples []float32, rate int) bool {
	sum := 0.0
	for _, v := range samples {
		sum += float64(v) * float64(v)
	}
	now := math.Max(silent, 10*math.Log10(sum/float64(len(samples))+1e-12))
	m.Level = math.Max(now, m.Level-levelFalls*float64(len(samples))/float64(rate))
	m.least[m.second] = math.Min(m.least[m.second], now)
	if m.samples += len(samples); m.samples >= rate {
		m.samples -= rate
		m.second = (m.second + 1) % len(m.least)
		m.least[m.second] = now
	}
	if m.pieces++; m.pieces%readEvery != 0 {
		return false
	}
	m.Floor = m.least[0]
	for _, v := range m.least[1:] {
		m.Floor = math.Min(m.Floor, v)
	}
	if len(m.strings) > 0 {
		m.Reading, m.Sounds = a.Tune(m.strings)
	}
	return true
}

// closeEnough is how many cents off a string may be and pass for in tune: about
// what a listener can tell of two tones after each other. Common practice, no
// source.
const closeEnough = 5

// InTune says in words how many cents off a sound is.
func InTune(cents float64) string {
	switch {
	case cents > closeEnough:
		return fmt.Sprintf("%.0f cents sharp", cents)
	case cents < -closeEnough:
		return fmt.Sprintf("%.0f cents flat", -cents)
	}
	return "in tune"
}

// levelBar draws a level from −60 to 0 dB in 20 characters.
func levelBar(db float64) string {
	n := min(20, max(0, int((db+60)/3)))
	return strings.Repeat("=", n) + strings.Repeat("-", 20-n)
}
