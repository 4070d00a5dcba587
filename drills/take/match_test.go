package take

import (
	"encoding/json"
	"math/rand/v2"
	"os"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/fretboard"
	"footfall/harmony/tune"
)

// maximumMatching is the slow and plain oracle: augmenting paths (Kuhn 1955) over
// the graph that mir_eval defines, an expected and a played note being joined
// where the pitch is the same and the time within the window.
func maximumMatching(slots []slot, played []Played) int {
	edges := make([][]int, len(slots))
	for i, s := range slots {
		for j, p := range played {
			if p.MIDI == s.want.MIDI && p.Time >= s.lo && p.Time <= s.hi {
				edges[i] = append(edges[i], j)
			}
		}
	}
	of := make([]int, len(played))
	for j := range of {
		of[j] = -1
	}
	var augment func(i int, seen map[int]bool) bool
	augment = func(i int, seen map[int]bool) bool {
		for _, j := range edges[i] {
			if seen[j] {
				continue
			}
			seen[j] = true
			if of[j] < 0 || augment(of[j], seen) {
				of[j] = i
				return true
			}
		}
		return false
	}
	n := 0
	for i := range slots {
		if augment(i, map[int]bool{}) {
			n++
		}
	}
	return n
}

// Against another program's maximum matching: testdata/matching.py.
func TestMatchingByNetworkX(t *testing.T) {
	text, err := os.ReadFile("testdata/matching.json")
	require.NoError(t, err)
	var cases []struct {
		Beat, Window     int
		Expected, Played [][2]int
		Matched          int
	}
	require.NoError(t, json.Unmarshal(text, &cases))
	require.Len(t, cases, 250)
	for i, c := range cases {
		var expected []Expected
		for _, n := range c.Expected {
			e := line(time.Duration(c.Beat)*ms, n[1])[0]
			e.Time = time.Duration(n[0]) * ms
			expected = append(expected, e)
		}
		var played []Played
		for _, n := range c.Played {
			played = append(played, Played{Time: time.Duration(n[0]) * ms, MIDI: n[1]})
		}
		s := DefaultSettings()
		s.Window, s.BeatShare = time.Duration(c.Window)*ms, 0
		assert.Equal(t, c.Matched, gradeAsAsked(expected, Heard{Notes: played}, s).Matched, "case %d", i)
	}
}

// 10,000 random performances against the maximum bipartite matching (mir_eval,
// Raffel et al. 2014, "note onset matching"): the number of right notes is the
// maximum, whatever was done to them, and the counts add up.
func TestNeverWorseThanMaximumMatching(t *testing.T) {
	n := 10_000
	if testing.Short() {
		n = 1_000
	}
	for seed := range n {
		r := rand.New(rand.NewPCG(uint64(seed), 5))
		expected := randomExpected(r)
		onlyTime := seed%2 == 0
		played := perform(r, expected, onlyTime)
		s := DefaultSettings()
		s.Window = time.Duration(10+r.IntN(140)) * ms
		sc := gradeAsAsked(expected, Heard{Notes: played}, s)

		notes, _, _ := s.slots(expected, asAsked(expected), false)
		right, wrong, late := 0, 0, 0
		used := map[int]bool{}
		for i, o := range sc.Outcomes {
			for k, m := range o.Notes {
				if m.Played < 0 {
					continue
				}
				require.False(t, used[m.Played], "seed %d: note %d counts twice", seed, m.Played)
				used[m.Played] = true
				if m.Verdict.Right() {
					right++
					require.Equal(t, expected[i].Notes[k].MIDI, sc.Played[m.Played].MIDI)
				} else {
					wrong++
				}
			}
			if o.Outside != 0 {
				late++ // one fault, and so not extra
			}
			for _, m := range o.Free {
				if m.Played >= 0 {
					require.False(t, used[m.Played])
					used[m.Played] = true
				}
			}
		}
		require.Equal(t, maximumMatching(notes, sc.Played), right, "seed %d", seed)
		require.Equal(t, len(played), len(used)+late+sc.Extra, "seed %d", seed)
		require.Equal(t, len(expected), sc.Matched+sc.Missed+sc.Wrong+sc.NotHeard, "seed %d", seed)
		if !slices.ContainsFunc(expected, func(e Expected) bool { return e.Kind == fretboard.ShapeEvent }) {
			require.Equal(t, right, sc.Matched, "seed %d", seed)
			require.Equal(t, wrong, sc.Wrong, "seed %d", seed)
		}
	}
}

// randomExpected makes up to eight bars of a narrow range of pitches, with
// offbeats, and strikes in half of the cases.
func randomExpected(r *rand.Rand) []Expected {
	beat := time.Duration(200+r.IntN(1800)) * ms
	off := time.Duration(float64(beat) * (0.5 + 0.28*r.Float64()))
	strikes := r.IntN(2) == 0
	var all []Expected
	for b := range 4 + r.IntN(28) {
		at := time.Duration(b) * beat
		note := line(beat, 40+r.IntN(6))[0]
		note.Time, note.At = at, tune.Position{Bar: b/4 + 1, Beat: b%4 + 1}
		all = append(all, note)
		if strikes && r.IntN(2) == 0 {
			all = append(all, strike(at, 0, beat, note.Notes[0].MIDI, 43+r.IntN(3), 47+r.IntN(3), 52))
		}
		if r.IntN(4) == 0 {
			if strikes && r.IntN(2) == 0 {
				all = append(all, strike(at+off, off, beat, 40, 43+r.IntN(3), 47+r.IntN(3)))
			} else {
				note := line(beat, 40+r.IntN(6))[0]
				note.Time, note.Into, note.At = at+off, off, tune.Position{Bar: b/4 + 1, Beat: b%4 + 1, Off: true}
				all = append(all, note)
			}
		}
	}
	return all
}

// perform plays what is expected with its times disturbed and, unless only the
// time is to be, with notes left out, changed, doubled and added.
func perform(r *rand.Rand, expected []Expected, onlyTime bool) []Played {
	var played []Played
	spread := r.Float64() * 80
	for _, e := range expected {
		for _, w := range e.Notes {
			p := Played{Time: e.Time + time.Duration(r.NormFloat64()*spread*float64(ms)), MIDI: w.MIDI}
			if !onlyTime {
				switch r.IntN(10) {
				case 0:
					continue
				case 1:
					p.MIDI += 12 * (1 - 2*r.IntN(2))
				case 2:
					p.MIDI += r.IntN(5) - 2
				case 3:
					played = append(played, p)
				}
				p.String = r.IntN(7)
			}
			played = append(played, p)
		}
	}
	if !onlyTime {
		for range r.IntN(8) {
			played = append(played, Played{Time: time.Duration(r.Int64N(int64(expected[len(expected)-1].Time) + 1)), MIDI: 38 + r.IntN(20)})
		}
	}
	return played
}

// gradeAsAsked is Grade without a fit: the definition of what is right in its window.
func gradeAsAsked(expected []Expected, heard Heard, s Settings) *Score {
	heard.Notes = inTime(heard.Notes)
	return grade(expected, heard, s, asAsked(expected))
}
