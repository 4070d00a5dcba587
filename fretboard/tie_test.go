package fretboard

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/harmony/tune"
)

// searchOf prepares the search over a tune as Arrange does; false where its line does
// not fit the strings.
func searchOf(t *testing.T, tn *tune.Tune, layer Layer) (*search, [][]grip, bool) {
	t.Helper()
	neck := StandardNeck()
	line, err := tn.Line(neck.BassRange())
	var outside *tune.LineError
	if errors.As(err, &outside) && outside.Fits != nil {
		line, err = outside.Fits, nil
	}
	if err != nil {
		return nil, nil, false
	}
	ms := settle(moments(tn, line, layer))
	f := gripFinder{neck: neck, hand: DefaultHand(), w: &arranging, found: map[gripKey][]grip{}}
	layers := make([][]grip, len(ms))
	for i := range ms {
		layers[i], err = f.grips(&ms[i], nextNote(ms, i))
		require.NoError(t, err)
	}
	return newSearch(newPricing(neck, &arranging), ms, timesOf(tn, ms, 120)), layers, true
}

// leastTied is the plain way to the least cost with equal bars alike: every sequence
// of grips in which they are, priced whole.
func leastTied(s *search, layers [][]grip) float64 {
	same := make([]int, len(layers)) // the first moment that has the grip of each
	for i := range same {
		same[i] = i
	}
	for _, c := range s.classes() {
		for _, r := range c.runs {
			for k := range r.to - r.from {
				same[r.from+k] = c.runs[0].from + k
			}
		}
	}
	least := math.Inf(1)
	path := make([]*grip, 0, len(layers))
	var walk func()
	walk = func() {
		i := len(path)
		if i == len(layers) {
			least = min(least, s.cost(path))
			return
		}
		if same[i] != i {
			path = append(path, path[same[i]])
			walk()
			path = path[:i]
			return
		}
		for k := range layers[i] {
			path = append(path, &layers[i][k])
			walk()
			path = path[:i]
		}
	}
	walk()
	return least
}

// Tying finds the least cost that there is with equal bars alike, or hardly more, on
// short tunes of which every sequence can be tried.
func TestTyingFindsTheLeastCost(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 8))
	tried, near := 0, 0
	for tried < 100 {
		text := randomTune(r, 1+r.IntN(3))
		tn := readTune(t, strings.Replace(text, "\n\n[A]", "\nform A A A\n\n[A]", 1))
		s, layers, ok := searchOf(t, tn, BassHalves)
		if !ok || len(s.classes()) == 0 {
			continue
		}
		// Trial of everything has to stay short: a few grips by lot, the same in bars alike.
		for i := range layers {
			layers[i] = slices.Clone(layers[i])
			lot := rand.New(rand.NewPCG(uint64(s.ms[i].at.Beat), uint64(s.ms[i].chord.Root.Semitone())))
			lot.Shuffle(len(layers[i]), func(a, b int) { layers[i][a], layers[i][b] = layers[i][b], layers[i][a] })
			layers[i] = layers[i][:min(len(layers[i]), 4)]
		}
		free, cost, stuck := s.best(layers)
		least := leastTied(s, layers)
		if stuck >= 0 || least > (1+s.w.Tying)*cost {
			continue
		}
		tried++
		tied, _ := s.tie(layers, free, cost)
		near += btoi(s.cost(tied) <= 1.01*least+1e-6)
	}
	t.Logf("%d of %d within a hundredth", near, tried)
	assert.GreaterOrEqual(t, near, 98)
}

// The first bar, which no push leads to, is tied to those like it; and of bars that are
// alike but for a pin, the pinned one keeps it.
func TestBarsAlikeButForAPushOrAPin(t *testing.T) {
	tie := func(rows string) (s *search, path []*grip) {
		s, layers, ok := searchOf(t, readTune(t, "tune T\nkey C\nmeter 4/4\ntempo 100\n[A]\n"+rows), BassHalves)
		require.True(t, ok)
		free, cost, _ := s.best(layers)
		path, _ = s.tie(layers, free, cost)
		return s, path
	}
	s, path := tie("chords | F7 | Bb7 | F7 | Bb7 |\nbass | 1 /3 /5 \\3 | 1 /3 /5 \\3 | \\1 /3 /5 \\3 | 1 /3 /5 \\3 |\nhits | on . . push | % | % | % |\n")
	require.Len(t, s.classes(), 2)
	half := len(path) / 2
	for i := range half {
		assert.Equal(t, path[i].String(), path[half+i].String())
	}
	_, path = tie("chords | C7 | C7 | C7 |\nbass | 1@5 /3 /5 \\3 | \\1 /3 /5 \\3 | \\1 /3 /5 \\3 |\nhits | on . on . | % | % |\n")
	assert.Equal(t, 5, path[0].place.String)
}

// Equal bars have one fingering, and that costs at most a twentieth more than the
// best path.
func TestEqualBarsAreTied(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 4))
	var tunes []*tune.Tune
	for range 60 {
		text := randomTune(r, 2+r.IntN(7))
		other := randomTune(r, 3)
		form := "form A B A A B\n\n"
		tunes = append(tunes, readTune(t, strings.Replace(text, "\n\n[A]", "\n"+form+"[A]", 1)+
			"\n[B]"+strings.TrimPrefix(other[strings.Index(other, "[A]"):], "[A]")))
	}
	compared := 0
	bars := 0
	for _, tn := range tunes {
		s, layers, ok := searchOf(t, tn, BassHalves)
		if !ok {
			continue
		}
		path, cost, stuck := s.best(layers)
		require.Negative(t, stuck)
		tied, tiedCost := s.tie(layers, path, cost)
		require.InDelta(t, s.cost(tied), tiedCost, 1e-6)
		require.LessOrEqual(t, tiedCost, 1.05*cost+1e-6)
		for _, class := range s.classes() {
			for _, bar := range class.runs[1:] {
				same := true
				for k := range bar.to - bar.from {
					same = same && tied[class.runs[0].from+k].String() == tied[bar.from+k].String()
				}
				bars++
				compared += btoi(same)
			}
		}
	}
	t.Logf("%d of %d equal bars have one fingering", compared, bars)
	assert.Greater(t, float64(compared), 0.94*float64(bars))
}
