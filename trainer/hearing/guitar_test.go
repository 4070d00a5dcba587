package hearing

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// rang counts the bass notes of a take that rang as a string does, surely enough to
// answer a question with, and those that were told at all.
func rang(t testing.TB, k take) (rang, told int) {
	t.Helper()
	a, err := New(k.rate)
	require.NoError(t, err)
	for _, e := range a.Flush(a.Push(k.samples, nil)) {
		switch {
		case e.Kind == Rang && e.Note.Confidence >= sure:
			rang++
			t.Logf("%s: %d rang at %.2f s, sure to %.2f", k.name, e.Note.MIDI, e.Note.Onset, e.Note.Confidence)
		case e.Kind == Settled && e.Note.Part == Bass && e.Note.Confidence >= sure:
			told++
		}
	}
	return rang, told
}

// Half a minute each of speech, knocks, typing and a hand on the strings: nothing of it rings
// as a string does, and so none of it is a wrong answer.
func TestNothingButAStringRings(t *testing.T) {
	if testing.Short() {
		t.Skip("analyses minutes of sound")
	}
	for _, kind := range []string{"knocks", "typing", "hand", "speech"} {
		r, n, told := rand.New(rand.NewPCG(77, 1)), 0, 0
		for range 2 {
			a, b := rang(t, noGuitar(t, r, kind))
			n, told = n+a, told+b
		}
		t.Logf("%s: %d told as notes, %d rang", kind, told, n)
		assert.Zero(t, n, kind)
	}
}

// A plucked string rings, whatever its pitch.
func TestAStringRings(t *testing.T) {
	k := loadTake(t, "testdata/recorded-notes.wav")
	n, _ := rang(t, k)
	assert.Equal(t, len(k.notes), n)
	for midi := BassLow; midi <= BassHigh; midi += 4 {
		r := rand.New(rand.NewPCG(uint64(midi), 3))
		k := take{rate: 22050, samples: make([]float32, 22050*3/2)}
		pluck(k.samples, k.rate, 0.3, 0.8, float64(midi), 0.1, anyTone(r), r)
		n, _ := rang(t, k)
		assert.Equal(t, 1, n, "MIDI %d", midi)
	}
}

// The same note plucked again 0.3 s on, softer and louder by turns, is heard each time but
// now and then, and nothing more: recorded notes, on which the weights were fitted too,
// and plucked strings, on which they were not.
func TestANoteStruckAgain(t *testing.T) {
	const rate = 22050
	asked, right, more := 0, 0, 0
	again := func(midi int, note func(dst []float32, at, gain float64)) {
		k := take{rate: rate, samples: make([]float32, 2*rate)}
		for i, gain := range []float64{0.9, 0.5, 0.9, 0.4} {
			at := 0.3 + 0.3*float64(i)
			k.notes = append(k.notes, played{at, 0.3, midi, "bass"})
			note(k.samples, at, gain)
		}
		y := compare(k.notes, hear(t, k, nil))
		asked, right, more = asked+y.played, right+y.right, more+y.heard-y.right
	}
	recorded := loadTake(t, "testdata/recorded-notes.wav")
	for _, n := range recorded.notes {
		again(n.MIDI, func(dst []float32, at, gain float64) {
			from, to := int(n.Onset*rate), int(at*rate)
			for i := 0; i < rate*32/100 && to+i < len(dst); i++ {
				fade := min(1, float64(rate*32/100-i)/(0.02*rate))
				dst[to+i] += float32(gain*fade) * recorded.samples[from+i]
			}
		})
	}
	for midi := 40; midi <= 58; midi += 3 {
		r := rand.New(rand.NewPCG(uint64(midi), 8))
		c := anyTone(r)
		again(midi, func(dst []float32, at, gain float64) { pluck(dst, rate, at, 0.28, float64(midi), 0.1*gain, c, r) })
	}
	t.Logf("%d of %d heard, %d more", right, asked, more)
	assert.GreaterOrEqual(t, float64(right), 0.9*float64(asked))
	assert.LessOrEqual(t, more, 1)
}
