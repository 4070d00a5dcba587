package hearing

import (
	"math"
	"testing"
)

// Whatever sounds, chords and all, the tuner answers with a string that is there
// or not at all.
func TestTunerOnChords(t *testing.T) {
	takes := []take{loadTake(t, "testdata/clean-line-with-chords.wav")}
	for i := range 2 {
		takes = append(takes, synthetic(uint64(900+i), 44100, []string{"on", "both", "line"}[i%3]))
	}
	open := []int{64, 59, 55, 50, 45, 40}
	for _, k := range takes {
		a, err := New(k.rate)
		if err != nil {
			t.Fatal(err)
		}
		for i := 0; i+2048 <= len(k.samples); i += 2048 {
			a.Push(k.samples[i:i+2048], nil)
			r, ok := a.Tune(open)
			if ok && (r.String < 0 || r.String >= len(open) || math.IsNaN(r.Cents) || r.Frequency <= 0) {
				t.Fatalf("%s at %.2f s: %+v", k.name, float64(i)/float64(k.rate), r)
			}
		}
	}
}

// A stretch in which nothing repeats is no reason to look outside it.
func TestRepeatsStaysInside(t *testing.T) {
	x := make([]float64, 64)
	for i := range x {
		x[i] = math.Sin(float64(i*i) / 7)
	}
	for _, near := range []float64{-40, 0, 1, 2, 30, 61, 62, 63, 400} {
		lag, _ := repeats(x, near)
		if lag < 0 || lag > float64(len(x)) {
			t.Errorf("near %g: lag %g", near, lag)
		}
	}
}
