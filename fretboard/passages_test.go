package fretboard

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/harmony/tune"
)

var fit = flag.Bool("fit", false, "fit the weights of the arranger to the passages and print them")

// passage is a short tune and, at each hit, the grips that a careful player would
// accept: common practice, no source.
type passage struct {
	name string
	tune *tune.Tune
	// accepted holds the grips by bar and beat as an event counts them.
	accepted map[string][]string
	// keptOut is set for a third of the passages, which no weight is fitted to.
	keptOut bool
}

func readPassages(t testing.TB) []passage {
	t.Helper()
	names, err := filepath.Glob("testdata/passages/*.txt")
	require.NoError(t, err)
	var all []passage
	for i, name := range names {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		head, grips, ok := strings.Cut(string(text), "\n---\n")
		require.True(t, ok, name)
		p := passage{name: filepath.Base(name), tune: readTune(t, head), accepted: map[string][]string{}, keptOut: i%3 == 2}
		for line := range strings.Lines(grips) {
			list, why, _ := strings.Cut(line, "|")
			fields := strings.Fields(list)
			require.GreaterOrEqual(t, len(fields), 2, "%s: %s", name, line)
			require.NotEmpty(t, strings.TrimSpace(why), "%s: %s", name, line)
			p.accepted[fields[0]] = fields[1:]
		}
		all = append(all, p)
	}
	return all
}

// score counts the hits of a passage, those whose grip is accepted, and those
// within one string of an accepted one.
func (p *passage) score(t testing.TB, w *weights) (hits, accepted, near int, misses []string) {
	t.Helper()
	a, err := Arrange(p.tune, StandardNeck(), DefaultHand(), BassHalves, func(o *options) { o.weights = w })
	require.NoError(t, err, p.name)
	for i := range a.Events {
		e := &a.Events[i]
		if e.Kind != ShapeEvent {
			continue
		}
		at := fmt.Sprintf("%d.%d", e.At.Bar, e.At.Beat)
		if e.At.Off {
			at += ".5"
		}
		want, ok := p.accepted[at]
		if !ok {
			t.Fatalf("%s: nothing is accepted at %s", p.name, at)
		}
		hits++
		least := len(e.Frets)
		for _, g := range want {
			least = min(least, apart(e.Frets, fretsOf(t, g)))
		}
		if least == 0 {
			accepted++
		} else {
			misses = append(misses, fmt.Sprintf("%s %s %s", at, e.Chord.Symbol, FormatFrets(e.Frets)))
		}
		if least <= 1 {
			near++
		}
	}
	return hits, accepted, near, misses
}

// apart counts the strings on which two grips differ.
func apart(a, b []int) (n int) {
	for i := range a {
		if a[i] != b[i] {
			n++
		}
	}
	return n
}

// share is a score over several passages.
type share struct{ hits, accepted, near int }

func (s share) String() string {
	return fmt.Sprintf("%d hits, accepted %.1f %%, within one string %.1f %%", s.hits,
		100*float64(s.accepted)/float64(s.hits), 100*float64(s.near)/float64(s.hits))
}

func shares(t testing.TB, all []passage, w *weights) (fitted, keptOut share, misses []string) {
	for i := range all {
		s := &fitted
		if all[i].keptOut {
			s = &keptOut
		}
		hits, accepted, near, missed := all[i].score(t, w)
		s.hits, s.accepted, s.near = s.hits+hits, s.accepted+accepted, s.near+near
		for _, m := range missed {
			misses = append(misses, all[i].name+" "+m)
		}
	}
	return fitted, keptOut, misses
}

// Of the passages, the choice is an accepted one in at least three quarters of the
// hits and within one string of one in nine tenths, in those that the weights were
// fitted to and, apart, in those kept out.
func TestPassages(t *testing.T) {
	all := readPassages(t)
	require.GreaterOrEqual(t, len(all), 24)
	fitted, keptOut, misses := shares(t, all, &arranging)
	t.Logf("fitted: %s\nkept out: %s\n%s", fitted, keptOut, strings.Join(misses, "\n"))
	for name, s := range map[string]share{"fitted": fitted, "kept out": keptOut} {
		assert.GreaterOrEqual(t, float64(s.accepted)/float64(s.hits), 0.75, name)
		assert.GreaterOrEqual(t, float64(s.near)/float64(s.hits), 0.90, name)
	}
}

// TestFitWeights with -fit goes up and down with one weight after the other and
// keeps what brings more accepted hits in the fitted passages; it prints the
// weights and the shares, fitted and kept out apart. Without -fit it does nothing.
func TestFitWeights(t *testing.T) {
	if !*fit {
		t.Skip("give -fit to fit")
	}
	all := readPassages(t)
	best := arranging
	value := func(w *weights) int {
		fitted, _, _ := shares(t, slices.DeleteFunc(slices.Clone(all), func(p passage) bool { return p.keptOut }), w)
		return 3*fitted.accepted + fitted.near
	}
	most := value(&best)
	fields := reflect.TypeFor[weights]()
	for range 3 {
		for i := range fields.NumField() {
			for _, by := range []float64{0.5, 0.75, 1.33, 2} {
				w := best
				f := reflect.ValueOf(&w).Elem().Field(i)
				f.SetFloat(f.Float() * by)
				if v := value(&w); v > most {
					best, most = w, v
				}
			}
		}
	}
	fitted, keptOut, misses := shares(t, all, &best)
	t.Logf("%+v\nfitted: %s\nkept out: %s\n%s", best, fitted, keptOut, strings.Join(misses, "\n"))
}
