package hearing

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
)

// sample is what was seen of an onset at one stage, and what was played there.
type sample struct {
	e     evidence
	label int // index of the bass note, or basses for none
	chord bool
}

// corpus are the takes that the weights are fitted on: 150 of rendered samples
// and 60 of synthetic strings, none of which any test hears.
func corpus(t *testing.T) (takes []take) {
	rhythms := []string{"line", "line", "on", "on", "and", "both"}
	for i := range 150 {
		takes = append(takes, rendered(t, uint64(i), rhythms[i%len(rhythms)]))
	}
	for i := range 60 {
		takes = append(takes, synthetic(uint64(1000+i), []int{22050, 44100, 48000}[i%3], rhythms[i%len(rhythms)]))
	}
	return takes
}

// recordedCorpus are the takes that againFitted is fitted on, full of notes struck again:
// 140 put together of recorded notes, 60 whose notes ring under a disturbance, and 14 of what
// is no guitar, none of which any test hears.
func recordedCorpus(t *testing.T, guitars []bank) (takes []take) {
	rhythms := []string{"line", "line", "line", "on", "and", "both"}
	r := rand.New(rand.NewPCG(3, 33))
	for i := range 90 {
		k := guitars[i%len(guitars)].improvised(r, rhythms[r.IntN(len(rhythms))], 6*r.NormFloat64())
		if i%4 == 0 {
			k = k.inARoom(r)
		}
		takes = append(takes, k)
	}
	for i := range 50 {
		k := guitars[i%len(guitars)].repeated(r, 6*r.NormFloat64())
		if i%4 == 3 {
			k = k.inARoom(r)
		}
		takes = append(takes, k)
	}
	for i := range 60 {
		what := disturbances[i%len(disturbances)]
		takes = append(takes, guitars[r.IntN(len(guitars))].disturbed(t, r, what, 0.1+0.7*r.Float64(), 0.5+1.5*r.Float64(), 6*r.NormFloat64()))
	}
	for i := range 14 {
		takes = append(takes, noGuitar(t, r, []string{"speech", "knocks", "speech", "typing", "speech", "hand", "knocks"}[i%7]))
	}
	return takes
}

// later says which features tell of a note struck again alone; fitted does without them.
func later(k int) bool { return k >= features+laterNone }

// inQuestion are the samples of which was asked whether the note before was struck again.
func inQuestion(d []sample) (out []sample) {
	for i := range d {
		if d[i].e.before != 0 {
			out = append(out, d[i])
		}
	}
	return out
}

// again says whether it was.
func (x *sample) again() bool { return x.label < basses && x.label+BassLow == x.e.before }

// spoilt spoils more than half of the takes in one way or another.
func (k take) spoilt(r *rand.Rand) take {
	if len(k.notes) == 0 {
		return k
	}
	first, beat := k.notes[0].Onset, 0.5
	for _, n := range k.notes {
		if n.Onset-first > 0.2 {
			beat = n.Onset - first
			break
		}
	}
	switch r.IntN(8) {
	case 0:
		return k.withNoise(-30, r)
	case 1:
		return k.withHum(-12, r)
	case 2:
		return k.withClick(-12, beat, first+0.03*r.Float64(), r)
	case 3:
		return k.withClick(-12, beat, first+beat*r.Float64(), r)
	case 4:
		return k.atLevel(-30)
	}
	return k
}

// attack is how long after a sample's onset its sound comes, in s, and near how
// far off an onset may be found and still be it.
const (
	attack = 0.007
	near   = 0.04
)

func collect(t *testing.T, takes []take) (out [len(stages)][]sample) {
	each := make([][len(stages)][]sample, len(takes))
	inParallel(len(takes), func(i int) { each[i] = watch(t, takes[i].spoilt(rand.New(rand.NewPCG(1, uint64(i))))) })
	for _, e := range each {
		for st := range e {
			out[st] = append(out[st], e[st]...)
		}
	}
	return out
}

// watch returns what was seen of a take's onsets.
func watch(t *testing.T, k take) (out [len(stages)][]sample) {
	hear(t, k, &study{
		played: func(onset float64) (midi int, ago float64) {
			ago = 10
			for _, n := range k.notes {
				if d := onset - n.Onset - attack; n.Part == "bass" && d > near && d < ago {
					midi, ago = n.MIDI, d
				}
			}
			return midi, ago
		},
		saw: func(onset float64, e *evidence) {
			x := sample{e: *e, label: basses}
			for _, n := range k.notes {
				switch {
				case math.Abs(n.Onset+attack-onset) >= near:
				case n.Part == "bass":
					x.label = n.MIDI - BassLow
				default:
					x.chord = true
				}
			}
			out[e.stage] = append(out[e.stage], x)
		},
	})
	return out
}

// inParallel calls do for 0 to n−1, as many at once as there are cores.
func inParallel(n int, do func(int)) {
	var next atomic.Int64
	var wait sync.WaitGroup
	for range runtime.NumCPU() {
		wait.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				do(i)
			}
		})
	}
	wait.Wait()
}

// TestFit fits the weights and writes fitted.go: with FIT=1 all of them, with FIT=again
// againFitted alone.
func TestFit(t *testing.T) {
	which := os.Getenv("FIT")
	if which == "" {
		t.Skip("run FIT=1 FOOTFALL_SAMPLES=… go test -run 'TestFit$' -timeout 1h to fit the weights again: 5 minutes of two cores")
	}
	guitars := seenGuitars(t)
	if which == "hits" {
		fitHits(t, guitars)
		writeFitted(t)
		return
	}
	if which != "again" {
		fitted, chordFitted = fitAll(t)
	}
	data := collect(t, recordedCorpus(t, guitars))
	inParallel(len(againFitted), func(i int) {
		d := inQuestion(data[againStage+i])
		w := fitAgain(d, rand.New(rand.NewPCG(6, uint64(i))))
		againFitted[i] = w
		again, found, wrong := 0, 0, 0
		for i := range d {
			told := w.chance(&d[i].e.again) >= surelyAgain
			switch {
			case d[i].again():
				again++
				if told {
					found++
				}
			case told:
				wrong++
			}
		}
		t.Logf("stage %d: %d samples in question, %d of %d struck again found, %d others taken for it", againStage+i, len(d), found, again, wrong)
	})
	if which == "again" {
		writeFitted(t)
		return
	}
	fitHits(t, guitars)
	writeFitted(t)
}

func fitAll(t *testing.T) (bass [len(stages)]weights, chord [len(stages)]chordWeights) {
	data := collect(t, corpus(t))
	inParallel(len(stages), func(st int) {
		d := data[st]
		r := rand.New(rand.NewPCG(5, uint64(st)))
		w := fit(d, weights{}, func(k int) bool { return !later(k) }, r)
		bass[st] = w
		loss, right := 0.0, 0
		low := map[int][2]float64{}
		for i := range d {
			var c chances
			c.judge(&d[i].e, &w)
			loss -= math.Log(c[d[i].label] + 1e-12)
			b, ch := c.best()
			if b == d[i].label+BassLow || b == 0 && d[i].label == basses {
				right++
			}
			if d[i].label <= 5 {
				l := low[d[i].label/5]
				l[1]++
				if b == d[i].label+BassLow && ch >= tellAt {
					l[0]++
				}
				low[d[i].label/5] = l
			}
		}
		chord[st] = fitChord(d, &w, r)
		sure := 0
		for i := range d {
			var c chances
			c.judge(&d[i].e, &w)
			f := d[i].e.chordEvidence(c.bass())
			if chord[st].chance(&f) > .5 == d[i].chord {
				sure++
			}
		}
		n := float64(len(d))
		t.Logf("stage %d: %d samples, loss %.4f, right %.4f; chords right %.4f; told of E..G# %.3f, A %.3f", st, len(d), loss/n, float64(right)/n, float64(sure)/n, low[0][0]/low[0][1], low[1][0]/low[1][1])
	})
	return bass, chord
}

func writeFitted(t *testing.T) {
	t.Helper()
	var s strings.Builder
	s.WriteString("package hearing\n\n// fitted holds the weights of each stage. TestFit fits them and writes this file.\nvar fitted = [len(stages)]weights{\n")
	for st := range stages {
		s.WriteString("\t" + row(fitted[st][:]) + ",\n")
	}
	s.WriteString("}\n\n// againFitted holds those that tell whether the note before was struck again, from againStage\n// on.\nvar againFitted = [len(stages) - againStage]againWeights{\n")
	for i := range againFitted {
		s.WriteString("\t" + row(againFitted[i][:]) + ",\n")
	}
	s.WriteString("}\n\n// chordFitted holds those for chords.\nvar chordFitted = [len(stages)]chordWeights{\n")
	for st := range stages {
		s.WriteString("\t" + row(chordFitted[st][:]) + ",\n")
	}
	s.WriteString("}\n\n// noteFitted and shapeFitted are those of Hit.\nvar (\n\tnoteFitted  = [noteFeatures]float64")
	s.WriteString(row(noteFitted[:]) + "\n\tshapeFitted = [shapeFeatures]float64" + row(shapeFitted[:]) + "\n)\n")
	if err := os.WriteFile("fitted.go", []byte(s.String()), 0o644); err != nil {
		t.Fatal(err)
	}
}

// row is a row of weights as it is written.
func row(weights []float64) string {
	texts := make([]string, len(weights))
	for k, x := range weights {
		texts[k] = fmt.Sprintf("%.3f", x)
	}
	return "{" + strings.Join(texts, ", ") + "}"
}

// fitChord fits a logistic regression by gradient descent.
func fitChord(d []sample, bass *weights, r *rand.Rand) (w chordWeights) {
	for step := range 100000 {
		x := &d[r.IntN(len(d))]
		var c chances
		c.judge(&x.e, bass)
		f := x.e.chordEvidence(c.bass())
		g := w.chance(&f)
		if x.chord {
			g--
		}
		for i, v := range f {
			w[i] -= 0.2 / (1 + float64(step)/10000) * g * v
		}
	}
	return w
}

// fitAgain fits a logistic regression by Adam over features brought to one scale.
func fitAgain(d []sample, r *rand.Rand) (w againWeights) {
	var mean, scale againWeights
	for k := range w {
		for i := range d {
			mean[k] += d[i].e.again[k] / float64(len(d))
		}
		for i := range d {
			away := d[i].e.again[k] - mean[k]
			scale[k] += away * away / float64(len(d))
		}
		scale[k] = math.Sqrt(scale[k])
	}
	mean[0], scale[0] = 0, 1 // the constant
	adam(w[:], func(g []float64) {
		for range batch {
			x := &d[r.IntN(len(d))]
			var f [againFeatures]float64
			for k, v := range x.e.again {
				if scale[k] > 1e-6 {
					f[k] = (v - mean[k]) / scale[k]
				}
			}
			e := w.chance(&f)
			if x.again() {
				e--
			}
			for k, v := range f {
				g[k] += e * v
			}
		}
	}, 1e-4, func(int) bool { return true })
	for k := 1; k < len(w); k++ { // back to the features' own scales
		if scale[k] <= 1e-6 {
			w[k] = 0
			continue
		}
		w[k] /= scale[k]
		w[0] -= w[k] * mean[k]
	}
	return w
}

// fit minimises the mean log-loss over batches, from some weights on, of which free says
// which may move.
func fit(d []sample, w weights, free func(k int) bool, r *rand.Rand) weights {
	adam(w[:], func(g []float64) {
		for range batch {
			x := &d[r.IntN(len(d))]
			var p chances
			p.judge(&x.e, &w)
			for b, e := range p {
				if b == x.label {
					e--
				}
				f, to := &x.e.none, g[features:]
				if b < basses {
					f, to = &x.e.of[b], g[:features]
				}
				for k, y := range f {
					to[k] += e * y
				}
			}
		}
	}, 1e-4, free)
	return w
}

// batch is the number of samples of which slope adds up the slopes at a time.
const batch = 200

// adam descends along a slope (Kingma and Ba 2015), with a pull towards 0.
func adam(w []float64, slope func(g []float64), pull float64, free func(k int) bool) {
	const steps = 4000
	m, v, g := make([]float64, len(w)), make([]float64, len(w)), make([]float64, len(w))
	for step := 1; step <= steps; step++ {
		clear(g)
		slope(g)
		rate := 0.05 * math.Min(1, 4*(1-float64(step)/steps))
		for k := range w {
			if !free(k) {
				continue
			}
			s := g[k]/batch + pull*w[k]
			m[k] = 0.9*m[k] + 0.1*s
			v[k] = 0.999*v[k] + 0.001*s*s
			w[k] -= rate * m[k] / (1 - math.Pow(0.9, float64(step))) / (math.Sqrt(v[k]/(1-math.Pow(0.999, float64(step)))) + 1e-8)
		}
	}
}
