package hearing

import (
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"sort"
	"testing"

	"github.com/stretchr/testify/assert"
	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"
)

// soundFont is where Debian's fluid-soundfont-gm puts FluidR3_GM (MIT).
const soundFont = "/usr/share/sounds/sf2/FluidR3_GM.sf2"

// rendered makes lines of real guitar samples (FluidR3_GM by FluidSynth, dry):
// General MIDI programs 24 to 27, tempos of 60 to 200, any step up to an octave,
// rests, long notes and eighths, notes held from three quarters to all of their
// time, soft and loud. rhythm says where chords sound, as for synthetic.
func rendered(t testing.TB, seed uint64, rhythm string) take {
	t.Helper()
	if _, err := exec.LookPath("fluidsynth"); err != nil {
		t.Skip("FluidSynth is not installed: apt-get install fluidsynth fluid-soundfont-gm")
	}
	if _, err := os.Stat(soundFont); err != nil {
		t.Skip("FluidR3_GM is not installed: apt-get install fluid-soundfont-gm")
	}
	r := rand.New(rand.NewPCG(seed, 21))
	notes, loud := improvise(r, rhythm)
	dir := t.TempDir()
	song, sound := filepath.Join(dir, "a.mid"), filepath.Join(dir, "a.wav")
	writeMIDI(t, song, uint8(24+r.IntN(4)), notes, loud)
	out, err := exec.Command("fluidsynth", "-ni", "-R", "0", "-C", "0", "-g", "0.5", "-r", "22050", "-O", "s16", "-F", sound, soundFont, song).CombinedOutput()
	if err != nil {
		t.Fatalf("fluidsynth: %v\n%s", err, out)
	}
	k := loadSound(t, sound)
	k.name, k.notes = "rendered "+rhythm, notes
	return k
}

// improvise makes a line of 32 beats, with how hard each note is struck.
func improvise(r *rand.Rand, rhythm string) (notes []played, loud []uint8) {
	tempo := 60 + 140*r.Float64()
	beat := 60 / tempo
	held := []float64{0.75, 11.0 / 12, 11.0 / 12, 1}[r.IntN(4)]
	softest := 50 + r.IntN(40)
	eighths := r.IntN(3) == 0 && tempo < 150
	add := func(at, length float64, midi int, part string, velocity int) {
		notes, loud = append(notes, played{at, length, midi, part}), append(loud, uint8(velocity))
	}
	cur := 40 + r.IntN(15)
	steps := []int{1, -1, 2, -2, 3, -3, 4, -4, 5, -5, 7, -7, 1, -1, 0, 12, -12}
	for b := 0; b < 32; b++ {
		at := 0.3 + float64(b)*beat
		if cur += steps[r.IntN(len(steps))]; cur < BassLow || cur > BassHigh {
			cur = BassLow + r.IntN(18)
		}
		velocity := softest + r.IntN(38)
		chord := func(at, length float64) {
			p := max(52+r.IntN(6), cur+3+r.IntN(6))
			for range 3 {
				add(at, length, p, "chord", max(35, velocity-r.IntN(25)))
				p += 3 + r.IntN(4)
			}
		}
		switch k := r.IntN(20); {
		case k == 0:
			continue
		case k == 1 && b < 31:
			add(at, 2*beat*held, cur, "bass", velocity)
			b++
		case k < 4 && eighths:
			add(at, beat*0.6*held, cur, "bass", velocity)
			if next := cur + steps[r.IntN(4)]; next >= BassLow && next <= BassHigh {
				cur = next
			}
			add(at+beat*2/3, beat*0.33*held, cur, "bass", velocity-5)
			continue
		default:
			add(at, beat*held, cur, "bass", velocity)
		}
		if b%2 == 0 && (rhythm == "on" || rhythm == "both") {
			chord(at, beat*[]float64{5.0 / 12, 0.6}[r.IntN(2)])
		}
		if b%2 == 0 && (rhythm == "and" || rhythm == "both") {
			chord(at+beat*2/3, beat*0.3)
		}
	}
	return notes, loud
}

// writeMIDI writes notes, the chords on a channel of their own.
func writeMIDI(t testing.TB, name string, program uint8, notes []played, loud []uint8) {
	t.Helper()
	const perSecond = 1920 // ticks, at 120 quarter notes a minute
	type change struct {
		at  int
		on  bool
		msg midi.Message
	}
	var changes []change
	for i, n := range notes {
		channel := uint8(0)
		if n.Part == "chord" {
			channel = 1
		}
		changes = append(changes,
			change{int(n.Onset*perSecond + .5), true, midi.NoteOn(channel, uint8(n.MIDI), loud[i])},
			change{int((n.Onset+n.Duration)*perSecond + .5), false, midi.NoteOff(channel, uint8(n.MIDI))})
	}
	sort.SliceStable(changes, func(i, j int) bool {
		if changes[i].at != changes[j].at {
			return changes[i].at < changes[j].at
		}
		return !changes[i].on && changes[j].on
	})
	s := smf.New()
	s.TimeFormat = smf.MetricTicks(perSecond / 2)
	var track smf.Track
	track.Add(0, smf.MetaTempo(120))
	track.Add(0, midi.ProgramChange(0, program))
	track.Add(0, midi.ProgramChange(1, program))
	last := 0
	for _, c := range changes {
		track.Add(uint32(c.at-last), c.msg)
		last = c.at
	}
	track.Close(960)
	if err := s.Add(track); err != nil {
		t.Fatal(err)
	}
	if err := s.WriteFile(name); err != nil {
		t.Fatal(err)
	}
}

// Lines nobody tuned anything on, rendered in the test; thresholds a little
// under what was measured. The low notes are told over whatever rang before them,
// from the time written down on.
func TestRenderedLines(t *testing.T) {
	if testing.Short() {
		t.Skip("renders and analyses minutes of sound")
	}
	for rhythm, least := range map[string]float64{"line": 0.94, "on": 0.90, "and": 0.85} {
		var sum tally
		var low, a2 []float64
		for i := range 2 {
			k := rendered(t, uint64(7000+i), rhythm)
			got := named(t, k)
			sum.add(compare(k.notes, got))
			low = append(low, delaysOf(k.notes, got, 40, 44)...)
			a2 = append(a2, delaysOf(k.notes, got, 45, 45)...)
		}
		slices.Sort(low)
		slices.Sort(a2)
		t.Log(rhythm, sum)
		t.Logf("told after ms: E2 to G#2 median %.0f, 90%% %.0f; A2 of %d %.0f", 1000*low[len(low)/2], 1000*low[len(low)*9/10], len(a2), a2)
		assert.GreaterOrEqual(t, sum.f(), least, rhythm)
		assert.LessOrEqual(t, sum.octaves, sum.played*2/100)
		assert.Less(t, low[len(low)/2], 0.06, rhythm)
	}
}
