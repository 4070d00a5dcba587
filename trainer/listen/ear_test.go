package listen

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/hearing"
)

// A device, or a machine that is too busy, loses pieces of sound now and then and says
// nothing of it; pieces come late, too. What is played afterwards is stamped as it was
// played all the same.
func TestLostSoundMakesNothingEarlier(t *testing.T) {
	const seconds, piece = 24, EarRate / 100
	samples := make([]float32, seconds*EarRate)
	var due []time.Duration
	for at := 1.0; at < seconds-1; at++ {
		due = append(due, time.Duration(at*float64(time.Second)))
		for i, from := 0, int(at*EarRate); i < EarRate*6/10; i++ { // a string of 110 Hz
			s := float64(i) / EarRate
			for k := 1.0; k <= 8; k++ {
				samples[from+i] += float32(0.2 / k * math.Exp(-s*(2+k)) * math.Sin(2*math.Pi*110*k*s))
			}
		}
	}
	var now time.Duration
	feed := NewFeed("ear", Options{Now: func() time.Duration { return now }}, "")
	feed.Found(0, "")
	ear, err := NewEar(feed, make(chan Strum))
	require.NoError(t, err)
	lost := 0
	for n := 0; (n+1)*piece <= len(samples); n++ {
		at := time.Duration(n+1) * 10 * time.Millisecond
		if n > 200 && n%160 < 3 { // 30 ms of each 1.6 s
			lost++
			continue
		}
		late := time.Duration(n%7) * time.Millisecond
		ear.Hear(samples[n*piece:(n+1)*piece], at+late)
	}
	feed.Shut()
	var heard []time.Duration
	for n := range feed.Notes() {
		if n.On && n.MIDI == 45 {
			heard = append(heard, n.At)
		}
	}
	t.Logf("%d ms lost", lost*10)
	for _, d := range due {
		near := time.Hour
		for _, at := range heard {
			if off := at - d; off.Abs() < near.Abs() {
				near = off
			}
		}
		assert.Less(t, near.Abs(), 45*time.Millisecond, "the note at %v: one loss at the most is not made up for", d)
	}
}

// What is heard is told once; again where it has become another note, or sure; and what ends
// is what was told last.
func TestAnEarTellsAgainWhatIsSurer(t *testing.T) {
	feed := NewFeed("ear", Options{Now: func() time.Duration { return 0 }}, "")
	feed.Found(0, "")
	ear, err := NewEar(feed, make(chan Strum))
	require.NoError(t, err)
	ear.began = 0
	type told struct {
		on         bool
		midi       int
		confidence float64
	}
	for _, c := range []struct {
		confidence []float64
		midi       []int
		want       []told
	}{
		{[]float64{0.4, 0.45}, []int{43, 43}, []told{{true, 43, 0.4}}},
		{[]float64{0.4, 0.8}, []int{43, 43}, []told{{true, 43, 0.4}, {true, 43, 0.8}}},
		{[]float64{0.8, 0.4}, []int{43, 43}, []told{{true, 43, 0.8}}},
		{[]float64{0.4, 0.8}, []int{43, 45}, []told{{true, 43, 0.4}, {false, 43, 0.8}, {true, 45, 0.8}}},
	} {
		var got []told
		last := 0
		for i, confidence := range c.confidence {
			last = c.midi[i]
			ear.begin(hearing.Event{ID: 7, Note: hearing.Note{MIDI: last, Confidence: confidence}})
		}
		ear.end(hearing.Event{ID: 7, Note: hearing.Note{Confidence: 1}}, 1)
		for len(feed.Notes()) > 0 {
			n := <-feed.Notes()
			got = append(got, told{n.On, n.MIDI, n.Confidence})
		}
		assert.Equal(t, append(c.want, told{false, last, 1}), got, "%v", c.confidence)
	}
}
