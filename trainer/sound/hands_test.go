package sound

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/fretboard/playing"
	"footfall/harmony"
)

// pushes is a line under short hits between its beats.
const pushes = `tune Gravel Lane
key F
meter 4/4
tempo 126
swing 2:1

[A]
chords | Fmaj7 | D7 | Gm7 | C7 |
bass   | 1 /3 /5 \3 | 1 3 \1 3 | \1 b3 5 b3 | 1 3 5 1 |
hits   | on and . and | . and . push | . and on push | and . and . |
`

// heardAs renders a pass of a tune at a tempo as it is by default.
func heardAs(t *testing.T, text string, tempo float64) (s *playing.Score, samples []float32) {
	t.Helper()
	s, _ = scoreOf(t, text)
	s.Tempo = tempo
	require.NoError(t, Perform(s, FileRate, Export{Mix: DefaultMix}, func(piece []float32) error {
		samples = append(samples, piece...)
		return nil
	}))
	return s, samples
}

// level is the root mean square of the samples between two times, in decibels.
func level(x []float32, from, to harmony.Instant) float64 {
	sum, n := 0.0, 0
	for _, v := range x[from.Sample(FileRate):to.Sample(FileRate)] {
		sum += float64(v) * float64(v)
		n++
	}
	return 10 * math.Log10(sum/float64(n))
}

// A hit between the beats lifts the level by at least 4 dB over the line before it,
// slow and fast, and nothing comes near full scale.
func TestHitsAreHeardOverTheLine(t *testing.T) {
	for _, tempo := range []float64{66, 126, 220} {
		s, x := heardAs(t, pushes, tempo)
		hits := 0
		for i, bar := range placed(s, 0).bars {
			struck := map[harmony.Instant]bool{}
			for _, n := range s.Bars[i].Notes {
				at := n.Start(bar)
				if !n.Off || n.Part != playing.PartShapes || n.Late > 0 || struck[at] {
					continue
				}
				struck[at], hits = true, hits+1
				const window = harmony.Instant(1<<40) * 5 / 100
				assert.GreaterOrEqual(t, level(x, at, at+window)-level(x, at-window, at), 4.0, "at %g, bar %d beat %d", tempo, i+1, n.Beat)
			}
		}
		assert.Equal(t, 8, hits)
		for _, v := range x {
			require.LessOrEqual(t, max(v, -v), Ceiling)
		}
	}
}

// A short hit is over before the next beat, a held one is not: measured in the sound
// of the shapes alone.
func TestShortHitsAreDamped(t *testing.T) {
	const text = "tune Two Hits\nkey F\nmeter 4/4\ntempo 120\nswing 2:1\n\n[A]\nchords | F7 | % |\nbass | 1 - - - | 1 - - - |\nhits | on . . . | on- . . . |\n"
	s, _ := scoreOf(t, text)
	var x []float32
	require.NoError(t, Perform(s, FileRate, Export{Mix: Mix{MuteBass: true, MuteClick: true}}, func(piece []float32) error {
		x = append(x, piece...)
		return nil
	}))
	at := func(seconds float64) harmony.Instant {
		return harmony.InstantOfSample(int64(seconds*FileRate), FileRate)
	}
	short := level(x, at(0.42), at(0.5)) - level(x, at(0.02), at(0.1))
	held := level(x, at(2.42), at(2.5)) - level(x, at(2.02), at(2.1))
	assert.Less(t, short, -60.0)
	assert.Greater(t, held, -20.0)
	assert.Less(t, level(x, at(4.1), at(4.2)), -80.0, "and the held one ends with its bar")
}
