package take

import (
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestLiveMarks(t *testing.T) {
	expected := append(line(500*ms, 40, 43, 45, 47), strike(2000*ms, 0, 500*ms, 40, 55, 59))
	l := NewLive(DefaultSettings(), false)
	l.Add(expected[:2])
	l.Add(expected[2:])
	assert.Equal(t, LiveMark{Event: 0, Verdict: Matched, Offset: -10 * ms}, l.Hear(Played{Time: -10 * ms, MIDI: 40}))
	assert.Equal(t, -1, l.Hear(Played{Time: 5 * ms, MIDI: 40}).Event, "the same note twice")
	assert.Empty(t, l.Missed(400*ms))
	assert.Equal(t, LiveMark{Event: 1, Verdict: WrongOctave, Offset: 20 * ms}, l.Hear(Played{Time: 520 * ms, MIDI: 55}))
	assert.Equal(t, LiveMark{Event: 3, Verdict: WrongString, Offset: 0}, l.Hear(Played{Time: 1500 * ms, MIDI: 47, String: 5}))
	assert.Empty(t, l.Missed(1050*ms))
	assert.Equal(t, []int{2}, l.Missed(1051*ms))
	assert.Empty(t, l.Missed(1600*ms), "each once")
	assert.Equal(t, LiveMark{Event: 4, Verdict: Matched, Offset: 3 * ms}, l.Hear(Played{Time: 2003 * ms, MIDI: 40}))
	assert.Equal(t, LiveMark{Event: 4, Verdict: Matched, Offset: 30 * ms}, l.Hear(Played{Time: 2030 * ms, MIDI: 59}))
	assert.Equal(t, LiveMark{Event: 4, Verdict: WrongPitch, Offset: 31 * ms}, l.Hear(Played{Time: 2031 * ms, MIDI: 54}))
	assert.Empty(t, l.Missed(time.Hour))
}

// A player who is early or late all through, or a beat behind from somewhere on, is
// followed within two bars, and told of it once; what was marked before stays.
func TestLiveFollows(t *testing.T) {
	for name, late := range map[string]func(i int) time.Duration{
		"early":       func(int) time.Duration { return -150 * ms },
		"late":        func(int) time.Duration { return 130 * ms },
		"a beat late": func(i int) time.Duration { return time.Duration(min(1, i/16)) * 500 * ms },
	} {
		r := rand.New(rand.NewPCG(7, 7))
		expected := walked(r, 12, 500*ms, false)
		l := NewLive(DefaultSettings(), false)
		l.Add(expected[:4])
		moves, right := 0, make([]bool, len(expected))
		for i, e := range expected {
			if i%4 == 0 { // a bar ahead
				l.Add(expected[min(i+4, len(expected)):min(i+8, len(expected))])
				if shift, moved := l.Follow(); moved {
					moves++
					assert.InDelta(t, float64(late(i-1)), float64(shift), float64(15*ms), name)
				}
			}
			m := l.Hear(Played{Time: e.Time + late(i) + time.Duration(r.IntN(21)-10)*ms, MIDI: e.Notes[0].MIDI})
			right[i] = m.Event == i && m.Verdict == Matched
		}
		assert.LessOrEqual(t, moves, 2, name)
		assert.GreaterOrEqual(t, moves, 1, name)
		for i := 8; i < 48; i++ {
			if name != "a beat late" || i < 16 || i >= 28 {
				assert.True(t, right[i], "%s, note %d", name, i)
			}
		}
	}
}

// What was taken back neither takes a note nor is missed; what comes in its place does.
func TestLiveVoid(t *testing.T) {
	l := NewLive(DefaultSettings(), false)
	l.Add(line(500*ms, 40, 43))
	l.Void(1)
	l.Add([]Expected{line(500*ms, 40, 43)[1]})
	assert.Equal(t, LiveMark{Event: 2, Verdict: Matched}, l.Hear(Played{Time: 500 * ms, MIDI: 43}))
	assert.Equal(t, -1, l.Hear(Played{Time: 501 * ms, MIDI: 43}).Event)
	assert.Equal(t, []int{0}, l.Missed(time.Hour))
}

// Where a pass is played in time and without faults, what is marked live is what
// is graded in the end.
func TestLiveAgreesWithGrade(t *testing.T) {
	for seed := range 300 {
		r := rand.New(rand.NewPCG(uint64(seed), 6))
		expected := randomExpected(r)
		var played []Played
		for _, e := range expected {
			for _, w := range e.Notes {
				if r.IntN(8) > 0 {
					played = append(played, Played{Time: e.Time + time.Duration(r.IntN(10))*ms, MIDI: w.MIDI})
				}
			}
		}
		sc := Grade(expected, Heard{Notes: played}, DefaultSettings())
		l := NewLive(DefaultSettings(), false)
		l.Add(expected)
		live := make([]int, len(expected))
		for _, p := range sc.Played {
			m := l.Hear(p)
			require.GreaterOrEqual(t, m.Event, 0)
			if m.Verdict.Right() {
				live[m.Event]++
			}
		}
		for i, o := range sc.Outcomes {
			right := 0
			for _, m := range o.Notes {
				if m.Verdict.Right() {
					right++
				}
			}
			require.Equal(t, right, live[i], "seed %d event %d", seed, i)
		}
	}
}

// Budget: under 10 µs, of the 10 ms from note to mark.
func BenchmarkLive(b *testing.B) {
	expected, played := manyBars(1000)
	sc := Grade(expected, Heard{Notes: played}, DefaultSettings())
	fresh := func() *Live {
		l := NewLive(DefaultSettings(), false)
		l.Add(expected)
		return l
	}
	l := fresh()
	i := 0
	b.ReportAllocs()
	for b.Loop() {
		if i == len(sc.Played) {
			l, i = fresh(), 0
		}
		l.Hear(sc.Played[i])
		i++
	}
}
