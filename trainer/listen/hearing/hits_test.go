package hearing

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// strums returns what was judged above the bass.
func strums(t testing.TB, k take) []Strum {
	t.Helper()
	a, err := New(k.rate)
	if err != nil {
		t.Fatal(err)
	}
	var out []Strum
	for _, e := range a.Flush(a.Push(k.samples, nil)) {
		if e.Kind == Strummed {
			out = append(out, e.Strum)
		}
	}
	return out
}

// A shape that was struck is heard, or at least left open; the same shape a
// fret away, and a shape where only the bass was plucked, are not heard.
func TestHits(t *testing.T) {
	if testing.Short() {
		t.Skip("analyses a minute of sound")
	}
	takes := []take{loadTake(t, "testdata/clean-line-with-chords.wav"), loadTake(t, "testdata/clean-line.wav")}
	for i := range 4 {
		takes = append(takes, synthetic(uint64(700+i), 44100, []string{"on", "both", "line"}[i%3]))
	}
	var struck, away, alone [3]int
	for _, k := range takes {
		judged := strums(t, k)
		at := func(onset float64, classes []int) Hit {
			for _, s := range judged {
				if math.Abs(s.Onset-onset) < window {
					h, _ := s.Hit(classes)
					return h
				}
			}
			return NotHeard
		}
		for i, n := range k.notes {
			if n.Part != "bass" {
				continue
			}
			var classes, moved []int
			for _, c := range k.notes[i+1:] {
				if c.Part == "chord" && math.Abs(c.Onset-n.Onset) < 0.03 {
					classes, moved = append(classes, c.MIDI%12), append(moved, (c.MIDI+1)%12)
				}
			}
			if len(classes) == 0 {
				alone[at(n.Onset, []int{(n.MIDI + 4) % 12, (n.MIDI + 10) % 12})]++
				continue
			}
			struck[at(n.Onset, classes)]++
			away[at(n.Onset, moved)]++
		}
	}
	t.Logf("not sure, heard, not heard: struck %v, a fret away %v, bass alone %v", struck, away, alone)
	share := func(n [3]int, h Hit) float64 { return float64(n[h]) / float64(n[0]+n[1]+n[2]) }
	assert.GreaterOrEqual(t, share(struck, Heard), 0.75)
	assert.LessOrEqual(t, share(struck, NotHeard), 0.1)
	assert.LessOrEqual(t, share(away, Heard), 0.02)
	assert.LessOrEqual(t, share(alone, Heard), 0.02)
}
