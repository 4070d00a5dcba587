package fretboard

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/harmony/tune"
)

func readTune(t testing.TB, text string) *tune.Tune {
	t.Helper()
	got, faults := tune.Read(text)
	require.Empty(t, faults)
	return got
}

// cheapest is the plain way to the least cost: every sequence of grips, one
// after the other, priced whole.
func cheapest(s *search, layers [][]grip) float64 {
	best := math.Inf(1)
	path := make([]*grip, 0, len(layers))
	var walk func()
	walk = func() {
		i := len(path)
		if i == len(layers) {
			best = min(best, s.cost(path))
			return
		}
		for k := range layers[i] {
			path = append(path, &layers[i][k])
			if i == 0 || !math.IsInf(s.step(i, path[i-1], path[i]), 1) {
				walk()
			}
			path = path[:i]
		}
	}
	walk()
	return best
}

// randomTune writes a tune of a few bass notes whose degrees are drawn from the
// chord.
func randomTune(r *rand.Rand, bars int) string {
	roots := []string{"C", "F", "Bb", "G", "D", "A", "Eb"}
	kinds := []struct{ symbol, degrees string }{{"7", "1 3 5 b7"}, {"m7", "1 b3 5 b7"}, {"maj7", "1 3 5 7"}, {"m7b5", "1 b3 b5 b7"}}
	var chords, bass []string
	for range bars {
		k := kinds[r.IntN(len(kinds))]
		chords = append(chords, roots[r.IntN(len(roots))]+k.symbol)
		degrees := strings.Fields(k.degrees)
		bass = append(bass, degrees[r.IntN(4)]+" "+degrees[r.IntN(4)])
	}
	return fmt.Sprintf("tune Test\nkey C\nmeter 2/4\ntempo 100\n\n[A]\nchords | %s |\nbass | %s |\n",
		strings.Join(chords, " | "), strings.Join(bass, " | "))
}

func TestPathCostsWhatTrialOfEverySequenceCosts(t *testing.T) {
	neck := StandardNeck()
	neck.HighestFret = 12
	r := rand.New(rand.NewPCG(3, 7))
	done := 0
	for done < 200 {
		tn := readTune(t, randomTune(r, 1+r.IntN(3)))
		line, err := tn.Line(neck.BassRange())
		if err != nil {
			continue
		}
		ms := moments(tn, line, Layer(r.IntN(3)))
		f := gripFinder{neck: neck, hand: DefaultHand(), w: &arranging, found: map[gripKey][]grip{}}
		layers := make([][]grip, len(ms))
		for i := range ms {
			layers[i], err = f.grips(&ms[i], nextNote(ms, i))
			require.NoError(t, err)
			// Trial of everything has to stay short: a few of them, drawn by lot.
			layers[i] = slices.Clone(layers[i])
			r.Shuffle(len(layers[i]), func(a, b int) { layers[i][a], layers[i][b] = layers[i][b], layers[i][a] })
			layers[i] = layers[i][:min(len(layers[i]), max(2, int(math.Pow(4000, 1/float64(len(ms))))))]
		}
		s := newSearch(newPricing(neck, &arranging), ms, timesOf(tn, ms, 60+240*r.Float64()))
		path, cost, stuck := s.best(layers)
		if stuck >= 0 {
			continue
		}
		require.InDelta(t, cheapest(s, layers), cost, 1e-6)
		require.InDelta(t, s.cost(path), cost, 1e-6)
		done++
	}
}

func TestEveryEventSoundsItsNote(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 9))
	for range 60 {
		tn := readTune(t, randomTune(r, 8))
		for _, layer := range []Layer{Bass, BassChanges, BassHalves} {
			a, err := Arrange(tn, StandardNeck(), DefaultHand(), layer)
			if err != nil {
				continue
			}
			for _, e := range a.Events {
				require.Equal(t, e.Note.MIDI(), a.Neck.MIDI(e.Place))
				if e.Kind == ShapeEvent {
					require.Equal(t, e.Place, lowestPlace(e.Frets), "the bass note of a hit is its shape's lowest")
				}
			}
		}
	}
}

const vamp = `tune Test
key C
meter 4/4
tempo 100

[A]
chords | Dm7 | G7 | Cmaj7 | Cmaj7 |
bass   | 1 b3 5 b3 | 1 b7 \5 b7 | 1 3 5 3 | 1 - - - |
`

func kinds(a *Arrangement) (out []string) {
	for _, e := range a.Events {
		if e.Kind == ShapeEvent {
			out = append(out, fmt.Sprintf("%d.%d %s", e.At.Bar, e.At.Beat, e.Degree))
		}
	}
	return out
}

func TestLayersSayWhereShapesAreStruck(t *testing.T) {
	tn := readTune(t, vamp)
	for layer, want := range map[Layer][]string{
		Bass:        nil,
		BassChanges: {"1.1 1", "2.1 1", "3.1 1"},
		BassHalves:  {"1.1 1", "1.3 5", "2.1 1", "2.3 5", "3.1 1", "3.3 5", "4.3 1"},
	} {
		a, err := Arrange(tn, StandardNeck(), DefaultHand(), layer)
		require.NoError(t, err)
		assert.Equal(t, want, kinds(a), layer.String())
		lower := 0
		for _, e := range a.Events {
			assert.LessOrEqual(t, e.Layer, layer)
			assert.Equal(t, e.Kind == BassEvent, e.Layer == Bass)
			if e.Layer == BassChanges {
				lower++
			}
		}
		assert.Equal(t, layer != Bass, lower == 3, "three shapes where the chord changes")
	}
}

func TestForcedShapesAreKept(t *testing.T) {
	tn := readTune(t, `tune Test
key C
meter 4/4
tempo 100

[A]
chords | Cm7 |
bass   | 1 b3 5 b7 |
shapes | 8-x-8-8-8-x . . . |
`)
	a, err := Arrange(tn, StandardNeck(), DefaultHand(), BassChanges)
	require.NoError(t, err)
	assert.Equal(t, "8-x-8-8-8-x", FormatFrets(a.Events[1].Frets))
	assert.Equal(t, Place{6, 8}, a.Events[0].Place)
}

func TestErrorsNameBarBeatAndANearChange(t *testing.T) {
	tn := readTune(t, `tune Test
key C
meter 4/4
tempo 100

[A]
chords | Cm7 | F7 |
bass   | 1 b3 5 b7 | \1 \5 1 3 |
shapes | . . . . | 8-x-8-8-8-x . . . |
`)
	_, err := Arrange(tn, StandardNeck(), DefaultHand(), BassChanges)
	var at *PathError
	require.ErrorAs(t, err, &at)
	assert.Equal(t, []int{2, 1}, []int{at.Bar, at.Beat})
	assert.Contains(t, at.What, "C3 lowest")
	assert.NotEmpty(t, at.Want)
}

func TestTheMiddleOfABar(t *testing.T) {
	for upper, want := range map[int]int{2: 2, 3: 2, 4: 3, 5: 3, 6: 4, 7: 4} {
		assert.Equal(t, want, tune.Meter{Upper: upper, Lower: 4}.Middle(), upper)
	}
	assert.Equal(t, 3, tune.Meter{Upper: 12, Lower: 8}.Middle())
}

func benchTune(b *testing.B, bars int) *tune.Tune {
	var chords, bass []string
	roots := []string{"D", "A"}
	for i := range bars {
		chords = append(chords, roots[i%2]+"7")
		bass = append(bass, []string{`1 3 1 3`, `\1 3 1 3`}[i%2])
	}
	return readTune(b, "tune Long\nkey C\nmeter 4/4\ntempo 100\n\n[A]\nchords | "+strings.Join(chords, " | ")+" |\nbass | "+strings.Join(bass, " | ")+" |\n")
}

// Budgets: 32 bars 20 ms, 1,000 bars 0.5 s; ns/bar stays flat.
func BenchmarkArrange(b *testing.B) {
	for _, bars := range []int{32, 250, 1000} {
		tn := benchTune(b, bars)
		b.Run(fmt.Sprintf("bars=%d", bars), func(b *testing.B) {
			for b.Loop() {
				if _, err := Arrange(tn, StandardNeck(), DefaultHand(), BassHalves); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*bars), "ns/bar")
		})
	}
}

func TestHitsAndStrikesOfABar(t *testing.T) {
	tn := readTune(t, `tune Test
key C
meter 4/4
tempo 100

[A]
chords | Cm7 |
bass   | 1,b3 /1 5 b7 |
hits   | both and on . |
`)
	a, err := Arrange(tn, StandardNeck(), DefaultHand(), BassHalves)
	require.NoError(t, err)
	assert.Equal(t, []tune.HitToken{{Hit: tune.HitBoth}, {Hit: tune.HitAnd}, {Hit: tune.HitOn}, {}}, a.Hits(tn.Unroll()[0]))
	var struck []string
	for _, e := range a.Events {
		if e.Kind != ShapeEvent {
			assert.Equal(t, "bass", e.Kind.String())
			continue
		}
		for _, at := range e.Strikes() {
			struck = append(struck, fmt.Sprintf("%d %v %s", at.Beat, at.Off, e.Degree))
		}
	}
	// A split beat has a shape on each of its notes; the others hang on the beat's.
	assert.Equal(t, []string{"1 false 1", "1 true b3", "2 true 1", "3 false 5"}, struck)
}

func TestPathErrorsReadAsASentence(t *testing.T) {
	e := &PathError{Section: "B", SectionBar: 2, Bar: 10, Beat: 3, What: "no shape fits", Want: "leave the hit out"}
	assert.Equal(t, "bar 10 beat 3 (section B, bar 2): no shape fits; leave the hit out", e.Error())
}

// A shape that is written may sound a string above its bass lower than the bass.
func TestAForcedShapeMaySoundBelowItsBass(t *testing.T) {
	tn := readTune(t, `tune Test
key E
meter 4/4
tempo 100

[A]
chords | E |
bass   | /1@6 - - - |
hits   | on . . . |
shapes | 12-0-x-x-x-x . . . |
`)
	_, err := Arrange(tn, StandardNeck(), DefaultHand(), BassHalves)
	require.NoError(t, err)
}
