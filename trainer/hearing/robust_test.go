package hearing

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A take spoilt by the program's own click 12 dB down, by hum or by noise 30 dB
// down loses less than three points of F.
func TestSpoiltTakesLoseLittle(t *testing.T) {
	if testing.Short() {
		t.Skip("analyses minutes of sound")
	}
	r := rand.New(rand.NewPCG(11, 12))
	for _, o := range oracle {
		k := loadTake(t, o.file)
		clean := compare(k.notes, hear(t, k, nil)).f()
		beat := k.notes[len(k.notes)-1].Onset / 23
		for name, spoilt := range map[string]take{
			"click on the beat":  k.withOwnClick(-12, beat, 0),
			"click off the beat": k.withOwnClick(-12, beat, beat/3),
			"click as loud":      k.withOwnClick(0, beat, 0.02),
			"hum 12 dB down":     k.withHum(-12, r),
			"noise 30 dB down":   k.withNoise(-30, r),
		} {
			y := compare(k.notes, hear(t, spoilt, nil))
			t.Logf("%s, %s: %v", k.name, name, y)
			assert.Greater(t, y.f(), clean-0.03, "%s, %s: %v", k.name, name, y.log)
		}
	}
}

// Synthetic strings at the usual rates, tempos of 60 to 200, many tones, levels
// and chord rhythms; thresholds a little under what was measured.
func TestSyntheticStrings(t *testing.T) {
	if testing.Short() {
		t.Skip("analyses minutes of sound")
	}
	least := map[string]float64{"line": 0.98, "on": 0.94, "and": 0.88, "both": 0.88}
	for chords, f := range least {
		var sum tally
		for i := range 3 {
			k := synthetic(uint64(500+i), []int{22050, 44100, 48000}[i%3], chords)
			sum.add(compare(k.notes, hear(t, k.atLevel(-6*float64(i)), nil)))
		}
		t.Log(chords, sum)
		assert.GreaterOrEqual(t, sum.f(), f, chords)
	}
}

// A note one fret away from the one asked for is called wrong, and none is
// called right.
func TestOneFretAwayIsWrong(t *testing.T) {
	if testing.Short() {
		t.Skip("analyses minutes of sound")
	}
	asked, wrong, right, unsure := 0, 0, 0, 0
	check := func(k take) {
		for _, n := range hear(t, k, nil) {
			for _, p := range k.notes {
				if p.Part != "bass" || n.Part != Bass || math.Abs(n.Onset-p.Onset) > window {
					continue
				}
				for _, fret := range []int{-1, 1} {
					asked++
					switch n.Against(p.MIDI + fret) {
					case Wrong:
						wrong++
					case Right:
						right++
					default:
						unsure++
					}
				}
			}
		}
	}
	for _, o := range oracle {
		check(loadTake(t, o.file))
	}
	for i := range 8 {
		check(synthetic(uint64(900+i), 48000, []string{"line", "on"}[i%2]))
	}
	t.Logf("%d asked, %d wrong, %d unsure, %d right", asked, wrong, unsure, right)
	assert.GreaterOrEqual(t, float64(wrong), 0.98*float64(asked))
	assert.Less(t, float64(right), 0.01*float64(asked))
}

// Right notes are called right, or unsure, hardly ever wrong.
func TestTheNoteAskedForIsRight(t *testing.T) {
	asked, right, wrong := 0, 0, 0
	for _, o := range oracle {
		k := loadTake(t, o.file)
		for _, n := range hear(t, k, nil) {
			for _, p := range k.notes {
				if p.Part == "bass" && n.Part == Bass && math.Abs(n.Onset-p.Onset) <= window {
					asked++
					switch n.Against(p.MIDI) {
					case Right:
						right++
					case Wrong:
						wrong++
					}
				}
			}
		}
	}
	assert.GreaterOrEqual(t, float64(right), 0.95*float64(asked))
	assert.LessOrEqual(t, float64(wrong), 0.02*float64(asked))
}

// What the sound leaves open is never decided for the note asked for.
func TestExpectationNeverMakesAWrongNoteRight(t *testing.T) {
	n := Note{MIDI: 45, Confidence: 0.5, Rival: 44, RivalChance: 0.49}
	assert.Equal(t, Unsure, n.Against(44))
	assert.Equal(t, Wrong, n.Against(46))
	assert.Equal(t, Right, n.Against(45))
	n.RivalChance = 0.1
	assert.Equal(t, Wrong, n.Against(44))
	n.Confidence = 0.4
	assert.Equal(t, Unsure, n.Against(45))
}

// aubioSettings are the best for aubionotes (aubio 0.4.9, Debian's aubio-tools) of 96 tried:
// four pitch methods, four onset methods, buffers of 512 to 2048, hops of 128 and 256,
// thresholds of 0.1 and 0.3.
var aubioSettings = []string{"-B 512 -H 256", "-B 512 -H 128", "-B 1024 -H 256", "-B 2048 -H 256 -p yin"}

// aubioNotes reads what aubionotes says.
func aubioNotes(said []byte) (notes []Note) {
	for line := range bytes.Lines(said) {
		var midi, from, to float64
		if n, _ := fmt.Sscan(string(line), &midi, &from, &to); n == 3 {
			notes = append(notes, Note{MIDI: int(midi + 0.5), Onset: from})
		}
	}
	return notes
}

// Better than aubionotes on the recordings. Its notes come about a tenth of a second late,
// so that as they are none lies within 50 ms; here they are also moved by the one shift that
// suits it best.
func TestBetterThanAubionotes(t *testing.T) {
	if testing.Short() {
		t.Skip("analyses minutes of sound")
	}
	var takes []take
	for _, o := range oracle {
		takes = append(takes, loadTake(t, o.file))
	}
	for i, settings := range aubionotes(t, takes) {
		us, best := compare(takes[i].notes, hear(t, takes[i], nil)).f(), 0.0
		for _, notes := range settings {
			best = math.Max(best, compare(takes[i].notes, notes).f())
		}
		t.Logf("%s: F %.3f, aubionotes %.3f", takes[i].name, us, best)
		assert.Greater(t, us, best)
	}
}

// The time from a pluck to its note being told rightly: under 60 ms for a low E
// and 45 ms for an A2. The synthetic plucks come out of silence.
func TestDelayOutOfSilence(t *testing.T) {
	for _, c := range []struct {
		midi   int
		budget float64
	}{{40, 0.060}, {45, 0.045}} {
		var sum tally
		for i := range 12 {
			r := rand.New(rand.NewPCG(uint64(i), 3))
			k := take{rate: 48000, samples: make([]float32, 60000), notes: []played{{0.3, 0.8, c.midi, "bass"}}}
			pluck(k.samples, k.rate, 0.3, 0.8, float64(c.midi), 0.1, anyTone(r), r)
			sum.add(compare(k.notes, hear(t, k, nil)))
		}
		t.Log(c.midi, sum)
		assert.Equal(t, sum.played, sum.right)
		for _, d := range sum.delays {
			assert.Less(t, d, c.budget)
		}
	}
}

// The same in a line, each pluck over the note before, on samples whose attack
// itself comes 5 to 12 ms after the time written down, from which is measured.
func TestDelayInALine(t *testing.T) {
	for _, file := range []string{"testdata/steel-line.wav", "testdata/clean-line.wav", "testdata/clean-line-with-chords.wav"} {
		k := loadTake(t, file)
		got := named(t, k)
		for midi, budget := range map[int]float64{40: 0.060, 45: 0.045} {
			delays := delaysOf(k.notes, got, midi, midi)
			assert.NotEmpty(t, delays)
			for _, d := range delays {
				assert.Less(t, d, budget, "%s, MIDI %d", file, midi)
			}
		}
	}
}

// A note is handed on as soon as it is sure: over the recordings within 60 ms on the
// median and 150 ms but for one in twenty, and so under chords alone, of plucked strings too.
func TestHandedOnInTime(t *testing.T) {
	var all, chords []float64
	for _, o := range oracle {
		k := loadTake(t, o.file)
		delays := compare(k.notes, hear(t, k, nil)).delays
		if all = append(all, delays...); strings.Contains(o.file, "chords") {
			chords = append(chords, delays...)
		}
	}
	for seed := range uint64(6) {
		r := rand.New(rand.NewPCG(seed, 15))
		k, _ := pluckedGuitar(r).comped(r, 0, 0)
		chords = append(chords, compare(k.notes, hear(t, k, nil)).delays...)
	}
	for what, delays := range map[string][]float64{"the recordings": all, "under chords": chords} {
		sort.Float64s(delays)
		t.Logf("%s: %d handed on after %.0f ms, 95 %% %.0f ms", what, len(delays), 1000*delays[len(delays)/2], 1000*delays[len(delays)*95/100])
		assert.Less(t, delays[len(delays)/2], 0.06)
		assert.Less(t, delays[len(delays)*95/100], 0.15)
	}
}

// A low E struck with a chord is not told as one of the chord's notes first.
func TestBassIsToldBeforeItsChord(t *testing.T) {
	k := loadTake(t, "testdata/clean-line-with-chords.wav")
	a, err := New(k.rate)
	require.NoError(t, err)
	events := a.Flush(a.Push(k.samples, nil))
	told := 0
	for _, n := range k.notes {
		if n.MIDI != BassLow {
			continue
		}
		for _, e := range events {
			if e.Kind == Began && e.Note.Part == Bass && math.Abs(e.Note.Onset-n.Onset) < window {
				assert.Equal(t, BassLow, e.Note.MIDI, "at %.2f s", n.Onset)
				told++
			}
		}
	}
	assert.Equal(t, 2, told)
}

// Where the program's click is known to sound, a note without a rise of the lows
// is the click; elsewhere it stands, and so does any note that rises.
func TestKnownClickIsNoNote(t *testing.T) {
	a, err := New(48000)
	if err != nil {
		t.Fatal(err)
	}
	a.Click(1)
	for _, c := range []struct {
		at, rise float64
		want     int
	}{{1.01, 0.05, 0}, {1.2, 0.05, 45}, {1.01, 0.5, 45}, {0.98, 0.05, 45}} {
		w := waiting{onset: int(c.at * analysisRate)}
		w.chances[45-BassLow], w.chances[basses] = 0.9, 0.1
		a.evidence.rise = c.rise
		a.doubt(&w, before{})
		assert.Equal(t, c.want, w.chances.bass(), "%+v", c)
	}
}

// The same note plucked again, softer and louder by turns: told, and with those that a score
// in which it stands again makes sure. Of recorded guitars at least 22 of 24 are told at 0.3 s
// and 20 at 0.2, with the score 23 and 21; one sound font's softest plucks are no onsets.
func TestRepeatsOfUnseenGuitars(t *testing.T) {
	if testing.Short() {
		t.Skip("analyses minutes of sound")
	}
	guitars := append(unseenGuitars(t), recordedGuitar(t, "acoustic"))
	told := map[float64]int{0.3: 22, 0.2: 20}
	for gap, least := range map[float64]int{0.3: 23, 0.2: 21} {
		each := make([][4]int, len(guitars))
		inParallel(len(guitars), func(i int) { each[i] = repeats24(t, guitars[i], gap) })
		for i, n := range each {
			t.Logf("%s, %.1f s: %d of %d told, %d with the score, %d more", guitars[i].name, gap, n[0], n[3], n[1], n[2])
			assert.LessOrEqual(t, n[2], 1, guitars[i].name)
			if strings.HasPrefix(guitars[i].name, "recorded") {
				assert.GreaterOrEqual(t, n[0], told[gap], guitars[i].name)
				assert.GreaterOrEqual(t, n[1], least, guitars[i].name)
			}
		}
	}
}

// repeats24 counts the repeats that a guitar's are told, those with the doubts of the same
// note, what is told besides, and those that there were.
func repeats24(t testing.TB, b bank, gap float64) (n [4]int) {
	r := rand.New(rand.NewPCG(31, 7))
	var notes []played
	var loud []uint8
	at := 0.4
	for _, midi := range []int{40, 43, 45, 47, 50, 52, 55, 59} {
		for k := range 4 {
			notes = append(notes, played{at, gap, midi, "bass"})
			loud = append(loud, []uint8{118, 80, 118, 63}[k])
			at += gap
		}
		notes[len(notes)-1].Duration = 0.5
		at += 0.7
	}
	k := b.mixed(b.name, notes, loud, 0, r)
	a, err := New(k.rate)
	require.NoError(t, err)
	events := a.Flush(a.Push(k.samples, nil))
	used := map[int]bool{}
	for i, p := range notes {
		told, doubted := false, false
		for _, e := range events {
			if e.Note.Part != Bass || e.Note.MIDI != p.MIDI || math.Abs(e.Note.Onset-p.Onset-attack) > window {
				continue
			}
			if e.Kind == Settled {
				told, used[e.ID] = true, true
			}
			doubted = doubted || e.Kind == Doubted && e.Note.Again > 0
		}
		if i%4 == 0 {
			continue
		}
		n[3]++
		if told {
			n[0]++
		}
		if told || doubted {
			n[1]++
		}
	}
	for _, e := range events {
		if e.Kind == Settled && e.Note.Part == Bass && !used[e.ID] {
			n[2]++
		}
	}
	return n
}
