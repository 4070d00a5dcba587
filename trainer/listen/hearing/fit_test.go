package hearing

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

type sample struct {
	e     evidence
	label int
	chord bool
}

// hear returns the settled notes; probe sees all evidence on the way.
func hear(t testing.TB, k take, probe func(*evidence, float64)) []Note {
	t.Helper()
	return hearing(t, k, nil, probe)
}

func hearing(t testing.TB, k take, prior func(float64) (int, float64), probe func(*evidence, float64)) []Note {
	t.Helper()
	a, err := New(k.rate)
	if err != nil {
		t.Fatal(err)
	}
	a.probe, a.prior = probe, prior
	var events []Event
	for i := 0; i < len(k.samples); i += 256 {
		events = a.Push(k.samples[i:min(i+256, len(k.samples))], events)
	}
	return settled(a.Flush(events))
}

// corpus loads the recordings of some folders; "synthetic:N" makes N of its own.
func corpus(t testing.TB, dirs string) []take {
	var out []take
	for _, dir := range strings.Fields(dirs) {
		var n, seed int
		if _, err := fmt.Sscanf(dir, "synthetic:%d:%d", &seed, &n); err == nil {
			for i := range n {
				out = append(out, synthetic(uint64(seed+i), []int{22050, 44100, 48000}[i%3], []string{"line", "on", "line", "and", "both"}[i%5]))
			}
			continue
		}
		files, _ := filepath.Glob(dir + "/*.wav")
		for _, fn := range files {
			out = append(out, loadTake(t, fn))
		}
	}
	return out
}

func spoil(k take, how string, r *rand.Rand) take {
	beat := 0.5
	for i := 1; i < len(k.notes); i++ {
		if d := k.notes[i].Onset - k.notes[0].Onset; d > 0.2 {
			beat = d
			break
		}
	}
	switch how {
	case "noise":
		return k.withNoise(-30, r)
	case "hum":
		return k.withHum(-12, r)
	case "click":
		return k.withClick(-12, beat, k.notes[0].Onset+0.03*r.Float64(), r)
	case "soft":
		return k.atLevel(-30)
	case "offclick":
		return k.withClick(-12, beat, k.notes[0].Onset+beat*r.Float64(), r)
	}
	return k
}

var ways = []string{"", "", "", "noise", "hum", "click", "offclick", "soft"}

func collect(t *testing.T, takes []take) [len(stages)][]sample {
	var out [len(stages)][]sample
	r := rand.New(rand.NewPCG(1, 2))
	for _, k := range takes {
		k = spoil(k, ways[r.IntN(len(ways))], r)
		prior := func(onset float64) (p int, ago float64) {
			ago = 10
			for _, n := range k.notes {
				if d := onset - n.Onset - 0.007; n.Part == "bass" && d > .04 && d < ago {
					p, ago = n.MIDI, d
				}
			}
			return p, ago
		}
		hearing(t, k, prior, func(e *evidence, onset float64) {
			label := basses
			for _, n := range k.notes {
				if n.Part == "bass" && math.Abs(n.Onset+0.007-onset) < .04 {
					label = n.MIDI - BassLow
				}
			}
			chord := false
			for _, n := range k.notes {
				if n.Part == "chord" && math.Abs(n.Onset+0.007-onset) < .04 {
					chord = true
				}
			}
			out[e.stage] = append(out[e.stage], sample{*e, label, chord})
		})
	}
	return out
}

func TestEval(t *testing.T) {
	dirs := os.Getenv("EVAL")
	if dirs == "" {
		t.Skip("EVAL names no folders of recordings")
	}
	r := rand.New(rand.NewPCG(3, 4))
	sums := map[string]*tally{}
	var keys []string
	for _, k := range corpus(t, dirs) {
		kind := k.name
		if p := strings.Split(k.name, "-"); len(p) > 3 && p[1] != "line" {
			kind = p[1]
		} else if len(p) > 3 {
			kind = "line"
		}
		if len(k.name) > 3 && k.name[0] == '0' {
			kind = strings.Split(k.name, "-")[1]
		}
		if sums[kind] == nil {
			sums[kind] = &tally{}
			keys = append(keys, kind)
		}
		var places []float64
		var said []string
		y := compare(k.notes, hear(t, spoil(k, os.Getenv("SPOIL"), r), func(e *evidence, at float64) {
			if e.stage == 0 {
				places = append(places, at)
				said = append(said, "")
			}
			var c chances
			c.judge(e, &fitted[e.stage])
			m, p := c.best()
			for i := range places {
				if places[i] == at {
					said[i] += fmt.Sprintf(" %d:%.2f", m, p)
					if e.stage == 0 {
						said[i] += fmt.Sprintf("(flux %.1f last %.2f)", e.none[1], e.none[6])
					}
				}
			}
		}))
		for i, l := range y.log {
			var at float64
			if _, err := fmt.Sscanf(l, "%f", &at); err == nil && strings.Contains(l, "NONE") {
				y.log[i] += " no onset"
				for j, p := range places {
					if math.Abs(p-at) < window {
						y.log[i] = l + " judged" + said[j]
					}
				}
			}
		}
		sums[kind].add(y)
		if os.Getenv("L") != "" {
			fmt.Println(k.name, y)
			for _, l := range y.log {
				fmt.Println("   ", l)
			}
		}
	}
	for _, k := range keys {
		fmt.Println("TOTAL", k, *sums[k])
	}
}

func TestFit(t *testing.T) {
	dirs := os.Getenv("FIT")
	if dirs == "" {
		t.Skip("FIT names no folders of recordings")
	}
	data := collect(t, corpus(t, dirs))
	var s strings.Builder
	s.WriteString("package hearing\n\n// fitted holds the weights of each stage. TestFit fits them and writes this file.\nvar fitted = [len(stages)]weights{\n")
	r := rand.New(rand.NewPCG(5, 6))
	for st := range stages {
		d := data[st]
		w := fit(d, r)
		loss, right := 0.0, 0
		for i := range d {
			var c chances
			c.judge(&d[i].e, &w)
			loss -= math.Log(c[d[i].label] + 1e-12)
			if b := c.bass(); b == d[i].label+BassLow || b == 0 && d[i].label == basses {
				right++
			}
		}
		fmt.Printf("stage %d: %d samples, loss %.4f, right %.4f\n", st, len(d), loss/float64(len(d)), float64(right)/float64(len(d)))
		s.WriteString("\t{")
		for k, x := range w {
			if k > 0 {
				s.WriteString(", ")
			}
			fmt.Fprintf(&s, "%.3f", x)
		}
		s.WriteString("},\n")
	}
	s.WriteString("}\n\n// chordFitted holds those for chords.\nvar chordFitted = [len(stages)]chordWeights{\n")
	for st := range stages {
		d := data[st]
		var w chordWeights
		for step := range 100000 {
			x := &d[r.IntN(len(d))]
			var c chances
			c.judge(&x.e, &fitted[st])
			f := x.e.chordEvidence(c.bass())
			g := w.chance(&f)
			if x.chord {
				g--
			}
			for i, v := range f {
				w[i] -= 0.2 / (1 + float64(step)/10000) * g * v
			}
		}
		right := 0
		for i := range d {
			var c chances
			c.judge(&d[i].e, &fitted[st])
			f := d[i].e.chordEvidence(c.bass())
			if w.chance(&f) > .5 == d[i].chord {
				right++
			}
		}
		fmt.Printf("chords at stage %d: right %.4f\n", st, float64(right)/float64(len(d)))
		s.WriteString("\t{")
		for k, x := range w {
			if k > 0 {
				s.WriteString(", ")
			}
			fmt.Fprintf(&s, "%.3f", x)
		}
		s.WriteString("},\n")
	}
	s.WriteString("}\n")
	os.WriteFile("fitted.go", []byte(s.String()), 0o644)
}

// fit minimises the mean log-loss by Adam (Kingma and Ba 2015) over batches.
func fit(d []sample, r *rand.Rand) (w weights) {
	const steps, batch = 4000, 200
	var m, v weights
	for step := 1; step <= steps; step++ {
		var g weights
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
		rate := 0.05 * math.Min(1, 4*(1-float64(step)/steps))
		for k := range w {
			s := g[k]/batch + 1e-4*w[k]
			m[k] = 0.9*m[k] + 0.1*s
			v[k] = 0.999*v[k] + 0.001*s*s
			w[k] -= rate * m[k] / (1 - math.Pow(0.9, float64(step))) / (math.Sqrt(v[k]/(1-math.Pow(0.999, float64(step)))) + 1e-8)
		}
	}
	return w
}
