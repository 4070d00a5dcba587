package take

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"footfall/harmony/tune"
)

// walked is an invented line of so many bars of 4/4, with repeats, leaps and, if
// asked for, offbeats at 2:1 on every other beat.
func walked(r *rand.Rand, bars int, beat time.Duration, swung bool) (all []Expected) {
	midi := 40 + r.IntN(12)
	add := func(i int, off bool) {
		midi += []int{-5, -4, -3, -2, -1, 0, 0, 1, 2, 3, 4, 5}[r.IntN(12)]
		if midi < 40 || midi > 60 {
			midi = 45 + r.IntN(8)
		}
		e := line(beat, midi)[0]
		e.At, e.SectionBar, e.Time = tune.Position{Bar: i/4 + 1, Beat: i%4 + 1, Off: off}, i/4+1, time.Duration(i)*beat
		if off {
			e.Into = beat * 2 / 3
			e.Time += e.Into
		}
		all = append(all, e)
	}
	for i := range 4 * bars {
		add(i, false)
		if swung && i%2 == 1 {
			add(i, true)
		}
	}
	return all
}

// human plays what was asked for: each note late by chance, in the time that at gives.
// Where at says false the note is left out.
func human(r *rand.Rand, expected []Expected, sd time.Duration, at func(e Expected) (time.Duration, bool)) (played []Played) {
	for _, e := range expected {
		t, ok := at(e)
		if ok {
			late := time.Duration(r.NormFloat64() * float64(sd))
			played = append(played, Played{Time: t + late, MIDI: e.Notes[0].MIDI})
		}
	}
	return played
}

// cause is one thing that a take may have all through it.
type cause struct {
	name string
	at   func(e Expected, beat time.Duration, bars int) (time.Duration, bool)
	told func(sc *Score, bars int) string // what is wrong with what was told, "" for nothing
}

func beatOf(e Expected) int { return 4*(e.At.Bar-1) + e.At.Beat }

var causes = []cause{
	{"as asked", func(e Expected, _ time.Duration, _ int) (time.Duration, bool) { return e.Time, true },
		wants(0, 1, nil)},
	{"100 ms late", func(e Expected, _ time.Duration, _ int) (time.Duration, bool) { return e.Time + 100*ms, true },
		wants(100, 1, nil)},
	{"150 ms early", func(e Expected, _ time.Duration, _ int) (time.Duration, bool) { return e.Time - 150*ms, true },
		wants(-150, 1, nil)},
	{"2 % fast", func(e Expected, _ time.Duration, _ int) (time.Duration, bool) {
		return time.Duration(float64(e.Time) / 1.02), true
	}, wants(0, 1.02, nil)},
	{"3 % slow", func(e Expected, _ time.Duration, _ int) (time.Duration, bool) {
		return time.Duration(float64(e.Time) / 0.97), true
	}, wants(0, 0.97, nil)},
	{"a beat dropped in bar 5", func(e Expected, beat time.Duration, _ int) (time.Duration, bool) {
		switch n := beatOf(e); {
		case n == 4*4+3:
			return 0, false
		case n > 4*4+3:
			return e.Time - beat, true
		}
		return e.Time, true
	}, wants(0, 1, []Slip{{Bar: 5, Beats: -1}})},
	{"a beat late from bar 4", func(e Expected, beat time.Duration, _ int) (time.Duration, bool) {
		if e.At.Bar >= 4 {
			return e.Time + beat, true
		}
		return e.Time, true
	}, wants(0, 1, []Slip{{Bar: 4, Beats: 1}})},
	{"a bar late", func(e Expected, beat time.Duration, _ int) (time.Duration, bool) { return e.Time + 4*beat, true },
		wants(0, 1, []Slip{{Bar: 1, Beats: 4}})},
	{"stopped in the middle", func(e Expected, _ time.Duration, bars int) (time.Duration, bool) {
		return e.Time, e.At.Bar <= bars/2
	}, func(sc *Score, bars int) string {
		if sc.Fit.StoppedBar != bars/2 {
			return fmt.Sprintf("stopped after %d", sc.Fit.StoppedBar)
		}
		return ""
	}},
}

// wants checks a fit: the delay within 8 ms, the tempo within 0.4 %, the bar of a
// slip within one.
func wants(lateMS, ratio float64, slips []Slip) func(sc *Score, bars int) string {
	return func(sc *Score, _ int) string {
		f := sc.Fit
		off := math.Abs(float64(f.Offset)/1e6 - lateMS)
		if ratio != 1 {
			off /= 3 // the delay at the beginning is known less well where the tempo is not
		}
		if off > 8 || math.Abs(f.TempoRatio-ratio) > 0.004 || len(f.Slips) != len(slips) {
			return fmt.Sprintf("%+v", f)
		}
		for i, s := range slips {
			if f.Slips[i].Beats != s.Beats || max(f.Slips[i].Bar-s.Bar, s.Bar-f.Slips[i].Bar) > 1 {
				return fmt.Sprintf("%+v", f)
			}
		}
		return ""
	}
}

func TestOneCauseIsToldOnce(t *testing.T) {
	for _, c := range causes {
		for _, bars := range []int{8, 32} {
			var worst float64 = 1
			bad, wrong := 0, ""
			const takes = 200
			for seed := range takes {
				r := rand.New(rand.NewPCG(uint64(seed), uint64(bars)))
				beat := time.Duration(60e9 / (60 + 140*r.Float64()))
				expected := walked(r, bars, beat, seed%3 == 0)
				played := human(r, expected, 15*ms, func(e Expected) (time.Duration, bool) { return c.at(e, beat, bars) })
				sc := Grade(expected, Heard{Notes: played}, DefaultSettings())
				right := float64(sc.Matched) / float64(len(played))
				worst = min(worst, right)
				if said := c.told(sc, bars); said != "" || right < 0.95 {
					bad++
					wrong = fmt.Sprintf("seed %d %.3f %s at %.0f", seed, right, said, 60/beat.Seconds())
				}
			}
			t.Logf("%s, %d bars: worst %.3f, bad %d of %d %s", c.name, bars, worst, bad, takes, wrong)
			assert.LessOrEqual(t, bad, 0)
		}
	}
}
