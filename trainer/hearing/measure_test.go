package hearing

import (
	"fmt"
	"math"
	"sort"
	"strings"
	"testing"
)

// tally counts notes matched one to one: onset within 50 ms, the right
// semitone (Raffel et al., "mir_eval", ISMIR 2014).
type tally struct {
	played, heard, right int
	octaves              int // heard an octave or two off
	wrong                int // heard another note at that place
	delays               []float64
	offsets              []float64
	log                  []string
}

func (y *tally) add(x tally) {
	y.played += x.played
	y.heard += x.heard
	y.right += x.right
	y.octaves += x.octaves
	y.wrong += x.wrong
	y.delays = append(y.delays, x.delays...)
	y.offsets = append(y.offsets, x.offsets...)
}

func (y tally) f() float64 {
	if y.played+y.heard == 0 {
		return 1
	}
	return 2 * float64(y.right) / float64(y.played+y.heard)
}

func (y tally) String() string {
	d := append([]float64(nil), y.delays...)
	sort.Float64s(d)
	o := append([]float64(nil), y.offsets...)
	sort.Float64s(o)
	q := func(s []float64, p float64) float64 {
		if len(s) == 0 {
			return math.NaN()
		}
		return 1000 * s[int(p*float64(len(s)-1))]
	}
	return fmt.Sprintf("F %.4f right %d of %d, heard %d, wrong %d, octaves %d (%.1f%%), delay ms med %.0f 90%% %.0f, onset ms 5%% %+.0f med %+.0f 95%% %+.0f", y.f(), y.right, y.played, y.heard,
		y.wrong, y.octaves, 100*float64(y.octaves)/float64(max(1, y.played)), q(d, .5), q(d, .9), q(o, .05), q(o, .5), q(o, .95))
}

const window = 0.05 // s

func compare(want []played, got []Note) tally {
	var y tally
	used := make([]bool, len(got))
	for _, w := range want {
		if w.Part != "bass" {
			continue
		}
		y.played++
		best, other := -1, -1
		for i, g := range got {
			if used[i] || g.Part != Bass || math.Abs(g.Onset-w.Onset) > window {
				continue
			}
			other = i
			if g.MIDI == w.MIDI {
				best = i
				break
			}
		}
		switch {
		case best >= 0:
			used[best] = true
			y.right++
			y.delays = append(y.delays, got[best].Told-w.Onset)
			y.offsets = append(y.offsets, got[best].Onset-w.Onset)
		case other >= 0:
			y.wrong++
			if d := got[other].MIDI - w.MIDI; d%12 == 0 {
				y.octaves++
			}
			y.log = append(y.log, fmt.Sprintf("%7.3f %d HEARD %d, conf %.2f", w.Onset, w.MIDI, got[other].MIDI, got[other].Confidence))
		default:
			y.log = append(y.log, fmt.Sprintf("%7.3f %d NONE", w.Onset, w.MIDI))
		}
	}
	for i, g := range got {
		if g.Part == Bass {
			y.heard++
			if !used[i] {
				near := ""
				for _, w := range want {
					if math.Abs(w.Onset-g.Onset) < window {
						near += fmt.Sprintf(" %d%s", w.MIDI, w.Part[:1])
					}
				}
				if !strings.Contains(near, "b") {
					y.log = append(y.log, fmt.Sprintf("%7.3f EXTRA %d conf %.2f at%s", g.Onset, g.MIDI, g.Confidence, near))
				}
			}
		}
	}
	return y
}

// settled returns the notes of a stream of events, as Hear does.
func settled(events []Event) (notes []Note) {
	ids := map[int]int{}
	for _, e := range events {
		switch e.Kind {
		case Settled:
			ids[e.ID] = len(notes)
			notes = append(notes, e.Note)
		case Ended:
			notes[ids[e.ID]].Duration, notes[ids[e.ID]].Cents = e.Note.Duration, e.Note.Cents
		}
	}
	sortNotes(notes)
	return notes
}

// delaysOf returns, in order, how long after their onsets the notes of some
// pitches were told rightly, infinity where they were not.
func delaysOf(want []played, got []Note, lowest, highest int) (delays []float64) {
	for _, w := range want {
		if w.Part != "bass" || w.MIDI < lowest || w.MIDI > highest {
			continue
		}
		d := math.Inf(1)
		for _, g := range got {
			if g.Part == Bass && g.MIDI == w.MIDI && math.Abs(g.Onset-w.Onset) <= window {
				d = g.Told - w.Onset
			}
		}
		delays = append(delays, d)
	}
	sort.Float64s(delays)
	return delays
}

// named returns the settled notes of a take as hear does, Told being when each was first
// told with its pitch, however sure.
func named(t testing.TB, k take) []Note {
	t.Helper()
	a, err := New(k.rate)
	if err != nil {
		t.Fatal(err)
	}
	events := a.Flush(a.Push(k.samples, nil))
	told := map[int]float64{}
	for i, e := range events {
		switch e.Kind {
		case Began, Revised:
			told[e.ID] = e.Note.Told
		case Settled:
			events[i].Note.Told = told[e.ID]
		}
	}
	return settled(events)
}

// hear returns the settled notes of a take; watch, if any, sees all evidence.
func hear(t testing.TB, k take, watch *study) []Note {
	t.Helper()
	a, err := New(k.rate)
	if err != nil {
		t.Fatal(err)
	}
	a.study = watch
	var events []Event
	for i := 0; i < len(k.samples); i += 256 {
		events = a.Push(k.samples[i:min(i+256, len(k.samples))], events)
	}
	return settled(a.Flush(events))
}
