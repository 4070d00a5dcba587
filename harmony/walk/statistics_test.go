package walk

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// shares counts what figures of transcribed lines count.
type shares struct {
	changes, roots, fifths, thirds int
	arrivals                       int
	approach                       map[int]int
	beats, tones                   [5]int
	moves, turns, turnable         int
	steps                          map[int]int
}

func (s *shares) add(notes []Note, beats int) {
	for i, n := range notes {
		on := n.At.Beat
		if beats == 4 && !n.At.Off {
			s.beats[on]++
			for _, d := range n.Chord.Degrees {
				if d.Number <= 7 && n.Chord.Note(d).Semitone() == n.Pitch.Semitone() {
					s.tones[on]++
				}
			}
		}
		if i == 0 {
			continue
		}
		by := n.Pitch.MIDI() - notes[i-1].Pitch.MIDI()
		s.moves++
		s.steps[by]++
		if i > 1 {
			if before := notes[i-1].Pitch.MIDI() - notes[i-2].Pitch.MIDI(); before != 0 && by != 0 {
				s.turnable++
				if (before > 0) != (by > 0) {
					s.turns++
				}
			}
		}
		if sameChord(n.Chord, notes[i-1].Chord) {
			continue
		}
		s.changes++
		switch n.Degree.Number {
		case 5:
			s.fifths++
		case 3:
			s.thirds++
		}
		if n.Pitch.Semitone() == n.Chord.Root.Semitone() {
			s.roots++
			s.approach[by]++
		}
	}
}

func (s *shares) String() string {
	pc := func(a, b int) float64 { return 100 * float64(a) / float64(max(b, 1)) }
	half := s.approach[1] + s.approach[-1]
	out := fmt.Sprintf("root on change %.1f (68) fifth %.1f (7-17) third %.1f (6-8) n=%d\n", pc(s.roots, s.changes), pc(s.fifths, s.changes), pc(s.thirds, s.changes), s.changes)
	out += fmt.Sprintf("half step into root %.1f (53, 39): below %.1f (31, 19) above %.1f (22, 20) whole above %.1f (14, 9) 4th below %.1f (11,11) 5th above %.1f (6, 11) whole below %.1f (3.5, 3)\n",
		pc(half, s.roots), pc(s.approach[1], s.roots), pc(s.approach[-1], s.roots), pc(s.approach[-2], s.roots), pc(s.approach[5], s.roots), pc(s.approach[-7], s.roots), pc(s.approach[2], s.roots))
	out += fmt.Sprintf("chord tones on 1-4: %.1f %.1f %.1f %.1f (81 60 63 54)\n", pc(s.tones[1], s.beats[1]), pc(s.tones[2], s.beats[2]), pc(s.tones[3], s.beats[3]), pc(s.tones[4], s.beats[4]))
	out += fmt.Sprintf("turns %.1f (57-59)\n", pc(s.turns, s.turnable))
	out += fmt.Sprintf("steps +1 %.2f (.20) -1 %.2f (.15) -2 %.2f (.13) +2 %.2f (.07) +5 %.2f (.06) 0 %.2f\n", pc(s.steps[1], s.moves)/100, pc(s.steps[-1], s.moves)/100, pc(s.steps[-2], s.moves)/100, pc(s.steps[2], s.moves)/100, pc(s.steps[5], s.moves)/100, pc(s.steps[0], s.moves)/100)
	return out
}

func newShares() *shares { return &shares{approach: map[int]int{}, steps: map[int]int{}} }

func TestShares(t *testing.T) {
	all := newShares()
	zero := newShares()
	for _, name := range content.TuneNames() {
		tn, _ := content.Tune(name)
		for f := -6; f <= 5; f += 2 {
			key, err := harmony.ParseKey(tn.Key.String())
			require.NoError(t, err)
			_ = key
			moved := transposed(t, tn, f)
			for seed := uint64(0); seed <= 4; seed++ {
				l, err := Compose(moved, Options{Low: 40, High: 60, Seed: seed})
				require.NoError(t, err)
				if seed == 0 {
					zero.add(l.Notes, tn.Meter.Beats())
				} else {
					all.add(l.Notes, tn.Meter.Beats())
				}
			}
		}
	}
	t.Log("\n" + all.String())
	t.Log("\n" + zero.String())
}

func transposed(t *testing.T, tn *tune.Tune, semis int) *tune.Tune {
	keys := []string{"C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B"}
	if tn.Key.Minor {
		keys = []string{"Cm", "C#m", "Dm", "Ebm", "Em", "Fm", "F#m", "Gm", "G#m", "Am", "Bbm", "Bm"}
	}
	to, err := harmony.ParseKey(keys[((tn.Key.Tonic.Semitone()+semis)%12+12)%12])
	require.NoError(t, err)
	out := *tn
	out.Key = to
	out.Sections = nil
	for _, s := range tn.Sections {
		bars := make([]tune.Bar, len(s.Bars))
		for i, b := range s.Bars {
			bars[i] = b
			bars[i].Chords = nil
			for _, c := range b.Chords {
				c.Chord = c.Chord.Transpose(tn.Key, to)
				bars[i].Chords = append(bars[i].Chords, c)
			}
		}
		out.Sections = append(out.Sections, tune.Section{Name: s.Name, Bars: bars})
	}
	return &out
}
