package hearing

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"footfall/trainer/hearing/wav"
)

// played is a note of a recording, as its maker wrote it down.
type played struct {
	Onset    float64 `json:"onset_s"`
	Duration float64 `json:"duration_s"`
	MIDI     int     `json:"midi"`
	Part     string  `json:"part"`
}

// take is a recording and what was played.
type take struct {
	name    string
	rate    int
	samples []float32
	notes   []played
}

func loadSound(t testing.TB, file string) take {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rec, err := wav.Open(f)
	if err != nil {
		t.Fatal(err)
	}
	samples := make([]float32, rec.Frames)
	if n, err := rec.Next(samples); err != nil || n < len(samples) {
		t.Fatal(n, err)
	}
	return take{name: filepath.Base(file), rate: rec.Rate, samples: samples}
}

// loadTake loads a recording and the notes listed beside it.
func loadTake(t testing.TB, file string) take {
	t.Helper()
	k := loadSound(t, file)
	b, err := os.ReadFile(strings.TrimSuffix(file, ".wav") + ".json")
	if err != nil {
		t.Fatal(err)
	}
	var truth struct{ Notes []played }
	if err := json.Unmarshal(b, &truth); err != nil {
		t.Fatal(err)
	}
	k.notes = truth.Notes
	return k
}

func (k take) clone() take {
	k.samples = append([]float32(nil), k.samples...)
	return k
}

func (k take) rms() float64 {
	sum := 0.0
	for _, v := range k.samples {
		sum += float64(v) * float64(v)
	}
	return math.Sqrt(sum / float64(len(k.samples)))
}

// withNoise adds white noise at a level in dB against the take's own.
func (k take) withNoise(db float64, r *rand.Rand) take {
	k = k.clone()
	g := k.rms() * math.Pow(10, db/20)
	for i := range k.samples {
		k.samples[i] += float32(g * r.NormFloat64())
	}
	return k
}

// withHum adds a mains hum of 50 Hz with two weaker overtones.
func (k take) withHum(db float64, r *rand.Rand) take {
	k = k.clone()
	g := k.rms() * math.Pow(10, db/20) * math.Sqrt2
	phase := r.Float64()
	for i := range k.samples {
		w := 2 * math.Pi * (50*float64(i)/float64(k.rate) + phase)
		k.samples[i] += float32(g * (math.Sin(w) + 0.1*math.Sin(2*w+1) + 0.05*math.Sin(3*w+2)))
	}
	return k
}

// withClick adds a metronome click: bursts of 1 to 2.5 kHz, 15 to 40 ms, whose
// peak is db against the take's peak.
func (k take) withClick(db, every, lag float64, r *rand.Rand) take {
	k = k.clone()
	peak := 0.0
	for _, v := range k.samples {
		peak = math.Max(peak, math.Abs(float64(v)))
	}
	g := peak * math.Pow(10, db/20)
	freq := 1000 + 1500*r.Float64()
	decay := 0.004 + 0.008*r.Float64()
	for t := lag; ; t += every {
		at := int(t * float64(k.rate))
		if at >= len(k.samples) {
			return k
		}
		for i := 0; i < k.rate/20 && at+i < len(k.samples); i++ {
			s := float64(i) / float64(k.rate)
			k.samples[at+i] += float32(g * math.Exp(-s/decay) * math.Sin(2*math.Pi*freq*s))
		}
	}
}

// withOwnClick adds the click of trainer/sound: cosines of 1760 and 1175 Hz that
// fall by 60 dB in 40 ms, the first of four higher and louder. db is its peak
// against the take's.
func (k take) withOwnClick(db, every, lag float64) take {
	k = k.clone()
	peak := 0.0
	for _, v := range k.samples {
		peak = math.Max(peak, math.Abs(float64(v)))
	}
	for n := 0; ; n++ {
		at := int((lag + float64(n)*every) * float64(k.rate))
		if at >= len(k.samples) {
			return k
		}
		freq, g := 1175.0, 0.7*peak*math.Pow(10, db/20)
		if n%4 == 0 {
			freq, g = 1760, g/0.7
		}
		for i := 0; i < k.rate/25 && at+i < len(k.samples); i++ {
			s := float64(i) / float64(k.rate)
			k.samples[at+i] += float32(g * math.Cos(2*math.Pi*freq*s) * math.Pow(10, -3*s/0.04))
		}
	}
}

// atLevel scales a take by db.
func (k take) atLevel(db float64) take {
	k = k.clone()
	g := float32(math.Pow(10, db/20))
	for i := range k.samples {
		k.samples[i] *= g
	}
	return k
}

// tone is how a plucked string sounds.
type tone struct {
	bright float64 // 0 dark to 1 bright
	place  float64 // of the pluck, as a part of the string
	ring   float64 // time to fall by 60 dB at 110 Hz, s
	rumble float64 // roll-off of the microphone below this, Hz
}

func anyTone(r *rand.Rand) tone {
	return tone{r.Float64(), 0.08 + 0.3*r.Float64(), 1.5 + 3*r.Float64(), 20 + 100*r.Float64()*r.Float64()}
}

// pluck adds a plucked string to dst after Karplus and Strong ("Digital
// Synthesis of Plucked-String and Drum Timbres", CMJ 1983), with the tuning and
// pluck-place filters of Jaffe and Smith in the same issue.
func pluck(dst []float32, rate int, onset, seconds, midi, gain float64, c tone, r *rand.Rand) {
	f := 440 * math.Exp2((midi-69)/12)
	period := float64(rate)/f - 0.5
	n := int(period - 0.1)
	frac := period - float64(n)
	allpass := (1 - frac) / (1 + frac)
	line := make([]float64, n)
	last := 0.0
	dark := 0.9 - 0.8*c.bright
	for i := range line {
		last += (1 - dark) * (2*r.Float64() - 1 - last)
		line[i] = last
	}
	if k := int(c.place * float64(n)); k > 0 {
		was := append([]float64(nil), line...)
		for i := range line {
			line[i] = was[i] - 0.95*was[(i+n-k)%n]
		}
	}
	sum := 0.0
	mean := 0.0
	for _, v := range line {
		mean += v / float64(n)
	}
	for i := range line {
		line[i] -= mean
		sum += line[i] * line[i]
	}
	scale := gain / math.Sqrt(sum/float64(n)+1e-12)
	loss := math.Pow(10, -3/(f*c.ring*math.Pow(110/f, 0.5)))
	at := int(onset * float64(rate))
	length := int(seconds * float64(rate))
	damp := math.Pow(10, -3/(0.08*float64(rate)))
	env := 1.0
	prev, apIn, apOut := 0.0, 0.0, 0.0
	pos := 0
	for i := 0; env > 1e-4 && at+i < len(dst); i++ {
		v := line[pos]
		y := loss * 0.5 * (v + prev)
		prev = v
		z := allpass*y + apIn - allpass*apOut
		apIn, apOut = y, z
		line[pos] = z
		if pos++; pos == n {
			pos = 0
		}
		if i > length {
			env *= damp
		}
		rise := math.Min(1, float64(i)/(0.002*float64(rate)))
		dst[at+i] += float32(scale * env * rise * v)
	}
}

// synthetic makes a walking line with or without chords on synthetic strings.
func synthetic(seed uint64, rate int, chords string) take {
	r := rand.New(rand.NewPCG(seed, 7))
	c := anyTone(r)
	tempo := 60 + 140*r.Float64()
	beat := 60 / tempo
	held := []float64{0.75, 0.92, 1, 1.3}[r.IntN(4)]
	const beats = 24
	k := take{name: "synthetic " + chords, rate: rate}
	k.samples = make([]float32, int((0.3+beat*(beats+1)+0.5)*float64(rate)))
	tuning := 0.2*r.Float64() - 0.1
	low := 0.5 + 0.3*r.Float64()
	cur := 40 + r.IntN(15)
	chord := func(at, length float64) {
		p := max(52+r.IntN(5), cur+3+r.IntN(5))
		at += 0.004 * r.Float64()
		for range 3 {
			k.notes = append(k.notes, played{at, length, p, "chord"})
			pluck(k.samples, rate, at, length, float64(p)+tuning, 0.1*low*(0.4+0.6*r.Float64()), c, r)
			p += 3 + r.IntN(4)
			at += 0.004 * r.Float64()
		}
	}
	for b := range beats {
		step := []int{1, -1, 2, -2, 3, -3, 4, -4, 5, -5, 7, -7, 1, -1, 0, 12, -12}[r.IntN(17)]
		if cur += step; cur < 40 || cur > 60 {
			cur = 40 + r.IntN(18)
		}
		if r.IntN(16) == 0 {
			continue
		}
		at := 0.3 + float64(b)*beat
		k.notes = append(k.notes, played{at, beat * held, cur, "bass"})
		pluck(k.samples, rate, at, beat*held, float64(cur)+tuning, 0.1*(low+(1-low)*r.Float64()), c, r)
		if b%2 == 0 && (chords == "on" || chords == "both") {
			chord(at, beat*0.45)
		}
		if b%2 == 0 && (chords == "and" || chords == "both") {
			chord(at+beat*2/3, beat*0.25)
		}
	}
	hp := 0.0
	prev := 0.0
	g := math.Exp(-2 * math.Pi * c.rumble / float64(rate))
	for i, v := range k.samples { // a small microphone's loss of lows
		hp = g * (hp + float64(v) - prev)
		prev = float64(v)
		k.samples[i] = float32(hp)
	}
	return k
}
