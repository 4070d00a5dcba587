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
}

// hear returns the settled notes; probe sees all evidence on the way.
func hear(t testing.TB, k take, probe func(*evidence, float64)) []Note {
	t.Helper()
	a, err := New(k.rate)
	if err != nil {
		t.Fatal(err)
	}
	a.probe = probe
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
		hear(t, k, func(e *evidence, onset float64) {
			label := basses
			for _, n := range k.notes {
				if n.Part == "bass" && math.Abs(n.Onset+0.007-onset) < .04 {
					label = n.MIDI - BassLow
				}
			}
			out[e.stage] = append(out[e.stage], sample{*e, label})
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
		y := compare(k.notes, hear(t, spoil(k, os.Getenv("SPOIL"), r), nil))
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
	s.WriteString("package hearing\n\nfunc init() {\n\tfitted = [len(stages)]weights{\n")
	for st := range stages {
		d := data[st]
		var w, m, v weights
		for step := 1; step <= 700; step++ {
			var g weights
			loss, right := 0.0, 0
			for i := range d {
				var p chances
				p.judge(&d[i].e, &w)
				loss -= math.Log(p[d[i].label] + 1e-12)
				best := 0
				for b := range p {
					if p[b] > p[best] {
						best = b
					}
				}
				if best == d[i].label {
					right++
				}
				for b := range p {
					e := p[b]
					if b == d[i].label {
						e--
					}
					if math.Abs(e) < 1e-6 {
						continue
					}
					if b < basses {
						for k, f := range d[i].e.of[b] {
							g[k] += e * f
						}
					} else {
						for k, f := range d[i].e.none {
							g[features+k] += e * f
						}
					}
				}
			}
			n := float64(len(d))
			lr := 0.05
			for k := range w {
				gk := g[k]/n + 1e-4*w[k]
				m[k] = 0.9*m[k] + 0.1*gk
				v[k] = 0.999*v[k] + 0.001*gk*gk
				w[k] -= lr * m[k] / (1 - math.Pow(0.9, float64(step))) / (math.Sqrt(v[k]/(1-math.Pow(0.999, float64(step)))) + 1e-8)
			}
			if step == 700 {
				fmt.Printf("stage %d: %d samples, loss %.4f, right %.4f\n", st, len(d), loss/n, float64(right)/n)
			}
		}
		s.WriteString("\t\t{")
		for k, x := range w {
			if k > 0 {
				s.WriteString(", ")
			}
			fmt.Fprintf(&s, "%.3f", x)
		}
		s.WriteString("},\n")
	}
	s.WriteString("\t}\n}\n")
	os.WriteFile("fitted.go", []byte(s.String()), 0o644)
}
