package hearing

import (
	"math"
	"math/rand/v2"
	"os"
	"slices"
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

// strike is a moment of a take at which strings were plucked, and the pitch
// classes that were struck above the bass there, none where the bass was alone.
type strike struct {
	onset   float64
	classes []int
}

func (k take) strikes() (all []strike) {
	bass := 0
	for _, n := range k.notes {
		if len(all) == 0 || n.Onset-all[len(all)-1].onset > 0.03 {
			all = append(all, strike{onset: n.Onset})
		}
		if n.Part == "bass" {
			bass = n.MIDI
		} else if s := &all[len(all)-1]; n.MIDI%12 != bass%12 && !slices.Contains(s.classes, n.MIDI%12) {
			s.classes = append(s.classes, n.MIDI%12)
		}
	}
	return all
}

func moved(classes []int, by int) (out []int) {
	for _, c := range classes {
		out = append(out, (c+by)%12)
	}
	return out
}

// asked is a strum compared with the classes of a chord that was struck, of the
// same a fret away, of another chord of the take, or of the next chord where the
// bass was alone. silent is set where there was no strum.
type asked struct {
	strum   Strum
	classes []int
	silent  bool
}

type comparisons struct{ struck, away, near, other, alone []asked }

func compareStrums(t testing.TB, takes []take) (c comparisons) {
	for _, k := range takes {
		judged, strikes := strums(t, k), k.strikes()
		for i, s := range strikes {
			a := asked{silent: true}
			for _, x := range judged {
				if d := math.Abs(x.Onset - s.onset); d < window && (a.silent || d < math.Abs(a.strum.Onset-s.onset)) {
					a.strum, a.silent = x, false
				}
			}
			ask := func(to *[]asked, classes []int) {
				a.classes = classes
				*to = append(*to, a)
			}
			var next []int
			for _, x := range append(strikes[i+1:len(strikes):len(strikes)], strikes[:i]...) {
				if len(x.classes) > 0 && !slices.Equal(x.classes, s.classes) {
					next = x.classes
					break
				}
			}
			if len(s.classes) > 0 {
				ask(&c.struck, s.classes)
				ask(&c.away, moved(s.classes, 1))
				ask(&c.away, moved(s.classes, 11))
				for j := range s.classes { // one note a half step off
					one := slices.Clone(s.classes)
					if one[j] = (one[j] + 1 + 10*(j%2)) % 12; !slices.Contains(s.classes, one[j]) {
						ask(&c.near, one)
					}
				}
				ask(&c.other, next)
			} else if next != nil {
				ask(&c.alone, next)
			}
		}
	}
	return c
}

// hits counts the answers: not sure, heard, not heard.
func hits(of []asked) (n [3]int) {
	for _, a := range of {
		h := NotHeard
		if !a.silent {
			h, _ = a.strum.Hit(a.classes)
		}
		n[h]++
	}
	return n
}

// A shape that was struck is heard, or at least left open; the same shape a fret
// away, one of which one note is another, and a shape where only the bass was plucked,
// are not heard. Of the recording's close chords, of which one note drowns the others,
// next to all are left open.
func TestHits(t *testing.T) {
	if testing.Short() {
		t.Skip("analyses a minute of sound")
	}
	share := func(n [3]int, h Hit) float64 { return float64(n[h]) / float64(n[0]+n[1]+n[2]) }
	oracle := compareStrums(t, []take{loadTake(t, "testdata/clean-line-with-chords.wav")})
	var takes []take
	for i := range 6 {
		takes = append(takes, synthetic(uint64(700+i), 44100, []string{"on", "both", "line"}[i%3]))
	}
	made := compareStrums(t, takes)
	for name, c := range map[string]comparisons{"oracle": oracle, "synthetic": made} {
		struck, away, near, other, alone := hits(c.struck), hits(c.away), hits(c.near), hits(c.other), hits(c.alone)
		t.Logf("%s: not sure, heard, not heard: struck %v, a fret away %v, one note off %v, another chord %v, bass alone %v", name, struck, away, near, other, alone)
		assert.GreaterOrEqual(t, share(struck, Heard), map[string]float64{"oracle": 0.05, "synthetic": 0.65}[name], name)
		assert.LessOrEqual(t, share(struck, NotHeard), 0.1, name)
		assert.LessOrEqual(t, share(away, Heard), 0.01, name)
		assert.LessOrEqual(t, share(near, Heard), 0.02, name)
		assert.LessOrEqual(t, share(alone, Heard), 0.02, name)
	}
	assert.Zero(t, hits(oracle.away)[Heard]+hits(oracle.other)[Heard]+hits(oracle.alone)[Heard])
}

// TestFitHits fits the weights of Hit by logistic regression (Newton's method)
// and prints them.
func TestFitHits(t *testing.T) {
	if os.Getenv("FIT") == "" {
		t.Skip("run FIT=1 go test -v -run TestFitHits to fit the weights again")
	}
	var takes []take
	r := rand.New(rand.NewPCG(8, 9))
	for i := range 64 {
		takes = append(takes, rendered(t, uint64(4000+i), []string{"on", "and", "both", "on"}[i%4]).spoilt(r))
	}
	for i := range 32 {
		takes = append(takes, synthetic(uint64(5000+i), 44100, []string{"on", "and", "both", "line"}[i%4]).spoilt(r))
	}
	c := compareStrums(t, takes)
	type example struct {
		x    [hitFeatures]float64
		y, w float64
	}
	var all []example
	add := func(of []asked, y, weight float64) {
		for _, a := range of {
			if !a.silent {
				all = append(all, example{a.strum.hitEvidence(a.classes), y, weight})
			}
		}
	}
	// A chord that is heard where there was none costs more than one left open;
	// other chords weigh half, since some hold the same notes.
	n := float64(len(c.struck))
	add(c.struck, 1, 1)
	add(c.away, 0, 2*n/float64(len(c.away)))
	add(c.other, 0, n/float64(len(c.other))/2)
	add(c.alone, 0, 3*n/float64(len(c.alone)))
	var w [hitFeatures]float64
	for range 50 {
		var g [hitFeatures]float64
		var h [hitFeatures][hitFeatures]float64
		for i := range h {
			h[i][i] = 1e-3
		}
		for _, e := range all {
			z := 0.0
			for i, v := range e.x {
				z += w[i] * v
			}
			p := 1 / (1 + math.Exp(-z))
			for i, v := range e.x {
				g[i] += e.w * (e.y - p) * v
				for j, u := range e.x {
					h[i][j] += e.w * p * (1 - p) * v * u
				}
			}
		}
		step := solved(h, g)
		for i := range w {
			w[i] += step[i]
		}
	}
	t.Logf("hitFitted = %.2f", w)
	hitFitted = w
	t.Logf("not sure, heard, not heard: struck %v, a fret away %v, another chord %v, bass alone %v", hits(c.struck), hits(c.away), hits(c.other), hits(c.alone))
}

// solved solves h·x = g by elimination.
func solved(h [hitFeatures][hitFeatures]float64, g [hitFeatures]float64) (x [hitFeatures]float64) {
	for i := range g {
		for j := i + 1; j < len(g); j++ {
			f := h[j][i] / h[i][i]
			for k := i; k < len(g); k++ {
				h[j][k] -= f * h[i][k]
			}
			g[j] -= f * g[i]
		}
	}
	for i := len(g) - 1; i >= 0; i-- {
		x[i] = g[i]
		for k := i + 1; k < len(g); k++ {
			x[i] -= h[i][k] * x[k]
		}
		x[i] /= h[i][i]
	}
	return x
}
