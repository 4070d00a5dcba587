package hearing

import (
	"math"
	"math/rand/v2"
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

// compings are the shapes that a take's chords make, each over the bass note that sounds.
func (k take) compings() (all []comping) {
	bass := 0
	for _, n := range k.notes {
		switch {
		case n.Part == "bass":
			bass = n.MIDI
		case len(all) > 0 && n.Onset-all[len(all)-1].onset < 0.03:
			c := &all[len(all)-1]
			c.notes = append(c.notes, n.MIDI)
		default:
			all = append(all, comping{n.Onset, shape{bass, []int{n.MIDI}}, asAsked})
		}
	}
	for i, n := range k.notes { // and where the bass was alone
		if n.Part == "bass" && (i+1 == len(k.notes) || k.notes[i+1].Onset-n.Onset > 0.03) && len(all) > 0 {
			all = append(all, comping{n.Onset, shape{n.MIDI, all[i%len(all)].notes}, bassOnly})
		}
	}
	return all
}

func share(n [3]int, h Hit) float64 { return float64(n[h]) / float64(max(1, n[0]+n[1]+n[2])) }

// A shape that was struck is heard; the same shape a fret away, another, one of which one
// note is another, and one where only the bass was plucked, are not. Nothing was fitted on
// these strings. Of the recording's chords, which lie so close to the bass that its overtones
// are in them, most are left open.
func TestHits(t *testing.T) {
	if testing.Short() {
		t.Skip("analyses minutes of sound")
	}
	each := make([][]judgedShape, 16)
	inParallel(len(each), func(i int) {
		r := rand.New(rand.NewPCG(uint64(700+i), 4))
		k, asked := pluckedGuitar(r).comped(r, 0.4, 0)
		each[i] = judgedShapes(t, k, asked)
	})
	k := loadTake(t, "testdata/clean-line-with-chords.wav")
	for _, c := range []struct {
		name          string
		all           []judgedShape
		heard, blamed float64
	}{{"recording", judgedShapes(t, k, k.compings()), 0.2, 0.2}, {"plucked strings", slices.Concat(each...), 0.8, 0.03}} {
		n := hits(c.all)
		t.Logf("%s: not sure, heard, not heard: struck %v, one note off %v, bass alone %v, another %v", c.name, n[asAsked], n[oneWrong], n[bassOnly], n[another])
		assert.GreaterOrEqual(t, share(n[asAsked], Heard), c.heard, c.name)
		assert.LessOrEqual(t, share(n[asAsked], NotHeard), c.blamed, c.name)
		assert.LessOrEqual(t, share(n[oneWrong], Heard), 0.02, c.name)
		assert.LessOrEqual(t, share(n[bassOnly], Heard), 0.02, c.name)
		assert.LessOrEqual(t, share(n[another], Heard), 0.01, c.name)
	}
}

// The same on guitars that nothing was fitted on, clean and in rooms: of the shapes with one
// note off at most two in a hundred are heard.
func TestHitsOfUnseenGuitars(t *testing.T) {
	if testing.Short() {
		t.Skip("analyses minutes of sound")
	}
	guitars := unseenGuitars(t)
	n := hits(compedBy(t, guitars, 6, 41))
	t.Logf("not sure, heard, not heard: struck %v, one note off %v, bass alone %v, another %v", n[asAsked], n[oneWrong], n[bassOnly], n[another])
	assert.GreaterOrEqual(t, share(n[asAsked], Heard), 0.9)
	assert.LessOrEqual(t, share(n[asAsked], NotHeard), 0.02)
	assert.LessOrEqual(t, share(n[oneWrong], Heard), 0.02)
	assert.LessOrEqual(t, share(n[bassOnly], Heard), 0.03)
}

// logit fits a logistic regression over examples, of which each has a weight, by stochastic
// gradient descent.
func logit[F []float64](xs []F, ys []bool, r *rand.Rand) F {
	w := make(F, len(xs[0]))
	const steps = 600_000
	for step := range steps {
		i := r.IntN(len(xs))
		z := 0.0
		for k, v := range xs[i] {
			z += w[k] * v
		}
		g := 1 / (1 + math.Exp(-z))
		if ys[i] {
			g--
		}
		for k, v := range xs[i] {
			w[k] -= 0.03 / (1 + float64(step)/50_000) * g * v
		}
	}
	return w
}

// fitHits fits the weights of Hit on guitars that were seen: those of a note on shapes as
// they were asked and with one note moved, those of a shape on shapes as they were asked, on
// others and on the bass alone.
func fitHits(t *testing.T, guitars []bank) {
	all := compedBy(t, guitars, 8, 40)
	r := rand.New(rand.NewPCG(9, 9))
	var xs [][]float64
	var ys []bool
	add := func(f []float64, y bool) { xs, ys = append(xs, f), append(ys, y) }
	for _, x := range all {
		if x.silent || x.went != asAsked {
			continue
		}
		for i, m := range x.notes {
			f := x.strum.noteEvidence(x.shape, m)
			add(f[:], true)
			for _, d := range []int{-2, -1, 1, 2} {
				moved := shape{x.bass, append([]int(nil), x.notes...)}
				if moved.notes[i] += d; x.classOf(m + d) {
					continue
				}
				f := x.strum.noteEvidence(moved, m+d)
				add(f[:], false)
			}
		}
	}
	copy(noteFitted[:], logit(xs, ys, r))
	xs, ys = nil, nil
	for _, x := range all {
		if !x.silent && x.went != oneWrong {
			f, _ := x.strum.shapeEvidence(x.shape)
			add(f[:], x.went == asAsked)
		}
	}
	copy(shapeFitted[:], logit(xs, ys, r))
	n := hits(all)
	t.Logf("shapes of fitted guitars: not sure, heard, not heard: struck %v, one note off %v, bass alone %v, another %v", n[asAsked], n[oneWrong], n[bassOnly], n[another])
}

// classOf says whether a pitch is of a class that a shape asks for.
func (h shape) classOf(pitch int) bool {
	for _, m := range append([]int{h.bass}, h.notes...) {
		if m != 0 && m%12 == pitch%12 {
			return true
		}
	}
	return false
}

// pluckedGuitar has the notes of synthetic strings of one tone.
func pluckedGuitar(r *rand.Rand) bank {
	b := bank{"plucked strings", map[int][][]float32{}}
	c := anyTone(r)
	for midi := BassLow - 2; midi <= 76; midi++ {
		x := make([]float32, 2*bankRate)
		pluck(x, bankRate, attack, 1.9, float64(midi), 0.1, c, r)
		b.notes[midi] = [][]float32{x}
	}
	return b
}
