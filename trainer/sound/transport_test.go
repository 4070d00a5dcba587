package sound

import (
	"testing"

	"pgregory.net/rapid"

	"footfall/fretboard/playing"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// Whatever is asked for in whatever order: bars follow each other without a gap,
// lie in the score, and the clock tells each one's beats in order.
func TestAnyCommandsInAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		score := func() *playing.Score {
			meter := rapid.SampledFrom([]tune.Meter{{Upper: 2, Lower: 4}, {Upper: 5, Lower: 4}, {Upper: 6, Lower: 8}}).Draw(t, "meter")
			s := clicks(rapid.IntRange(1, 6).Draw(t, "bars"), meter, 300)
			for i := range s.Bars {
				s.Bars[i].Notes = []playing.Note{{Beat: 1, Halves: 1, Part: playing.PartBass, String: 6, MIDI: 40, Velocity: 127}, {Beat: 2, Off: true, Part: playing.PartShapes, String: 6, MIDI: 45, Velocity: 127}}
			}
			return s
		}
		e, err := NewEngine(8000, score())
		if err != nil {
			t.Fatal(err)
		}
		longest := len(e.next.score.Bars)
		buf := make([]float32, 4000)
		for range rapid.IntRange(1, 40).Draw(t, "steps") {
			var err error
			switch rapid.IntRange(0, 8).Draw(t, "what") {
			case 0, 1:
				err = e.Play()
			case 2:
				err = e.Pause()
			case 3:
				err = e.Stop()
			case 4:
				err = e.NextPass()
			case 5:
				s := score()
				longest = max(longest, len(s.Bars))
				err = e.SetScore(s)
			case 6:
				first := rapid.IntRange(1, 8).Draw(t, "first")
				err = e.SetCourse(Course{
					CountIn: rapid.IntRange(0, 2).Draw(t, "count"), CountEach: rapid.Bool().Draw(t, "each"),
					First: first, Last: first + rapid.IntRange(0, 3).Draw(t, "more"), Passes: rapid.IntRange(0, 2).Draw(t, "passes"),
				})
			case 7:
				err = e.SetTempo(float64(rapid.IntRange(200, 300).Draw(t, "tempo")))
			case 8:
				err = e.SetPassTempo(float64(rapid.IntRange(200, 300).Draw(t, "pass tempo")))
			}
			if err != nil {
				t.Fatal(err)
			}
			n := rapid.IntRange(1, len(buf)).Draw(t, "samples")
			if rapid.Bool().Draw(t, "sounding") {
				e.Render(buf[:n])
			} else {
				e.Advance(int64(n))
			}
		}
		bars, _ := e.Since(0)
		for i, b := range bars {
			if b.State >= Counting && (b.Number > longest || b.Number < -1) {
				t.Fatalf("bar %d of %d", b.Number, longest)
			}
			if i+1 == len(bars) || b.State < Counting {
				continue
			}
			placed, next := harmony.Place(b.Bar, b.Start), bars[i+1]
			if next.State >= Counting && (next.Start-placed.End() > 2 || placed.End()-next.Start > 2) {
				t.Fatalf("bar %d ends at %v, the next begins at %v", i, placed.End(), next.Start)
			}
			for beat := 1; beat <= b.Bar.Meter.Beats(); beat++ {
				if at := placed.Beat(beat, false) + 1; at < next.Start {
					if now := e.At(at); now.Beat != beat || now.Point.Bar != b.Number || now.Pass != b.Pass {
						t.Fatalf("bar %d beat %d is told as %+v", b.Number, beat, now)
					}
				}
			}
		}
	})
}
