package ramp_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/drills/ramp"
	"footfall/harmony"
)

func TestParse(t *testing.T) {
	for text, want := range map[string]ramp.Ramp{
		"60:120+4":         {Floor: 60, Target: 120, Step: 4, Mode: ramp.Up, Rungs: 3},
		"60:120":           {Floor: 60, Target: 120, Step: 4, Mode: ramp.Up, Rungs: 3},
		"60:120+2.5,up":    {Floor: 60, Target: 120, Step: 2.5, Mode: ramp.Up, Rungs: 3},
		"60:120+4,ladder":  {Floor: 60, Target: 120, Step: 4, Mode: ramp.Ladder, Rungs: 3},
		"60:120+4,ladder2": {Floor: 60, Target: 120, Step: 4, Mode: ramp.Ladder, Rungs: 2},
		"60:120,alternate": {Floor: 60, Target: 120, Step: 4, Mode: ramp.Alternate, Rungs: 3},
		"120":              {Floor: 120, Target: 120, Step: 4, Mode: ramp.Target, Rungs: 3},
		"60:120,target":    {Floor: 120, Target: 120, Step: 4, Mode: ramp.Target, Rungs: 3},
		"90:90+1":          {Floor: 90, Target: 90, Step: 1, Mode: ramp.Up, Rungs: 3},
	} {
		got, err := ramp.Parse(text)
		require.NoError(t, err, text)
		assert.Equal(t, want, got, text)
	}
}

func TestParseFaults(t *testing.T) {
	for _, c := range []struct {
		text   string
		column int
		says   string
	}{
		{"", 1, "found the end; want a tempo of 30 to 300"},
		{"fast", 1, `found "fast"`},
		{"20:120+4", 1, "want a tempo of 30 to 300"},
		{"60:900", 4, "want a tempo of 30 to 300"},
		{"60:NaN", 4, "want a tempo"},
		{"120:60+4", 5, "want a target of 120 or more"},
		{"60:120+", 8, "found the end; want a step"},
		{"60:120+0", 8, "want a step"},
		{"60:120+-4", 8, "want a step"},
		{"60:120+4,stairs", 10, `found "stairs"; want up, ladder3, alternate or target`},
		{"60:120+4,ladder0", 16, "1 to 9"},
		{"60:120+4,", 10, "found the end; want up"},
		{"120,ladder", 4, "60:120+4"},
	} {
		_, err := ramp.Parse(c.text)
		var fault harmony.Fault
		require.True(t, errors.As(err, &fault), c.text)
		assert.Equal(t, c.column, fault.Column, c.text)
		assert.ErrorContains(t, err, c.says, c.text)
	}
}

func TestModes(t *testing.T) {
	for _, c := range []struct {
		text  string
		clean []bool
		want  []float64
	}{
		{"60:72+5", []bool{true, false, true, true}, []float64{60, 65, 65, 70, 72}},
		{"60:80+5", []bool{true, true, false, false, false, false, true, false}, []float64{60, 65, 70, 70, 65, 65, 60, 65, 65}},
		{"60:70+4,ladder2", []bool{true, true, true, false, true, true, true, true, true, true, false, false, false, false},
			[]float64{60, 60, 64, 64, 60, 60, 64, 64, 68, 68, 70, 66, 62, 60, 60}},
		{"60:120,alternate", []bool{true, false, true}, []float64{60, 120, 60, 120}},
		{"120", []bool{false, true}, []float64{120, 120, 120}},
	} {
		r, err := ramp.Parse(c.text)
		require.NoError(t, err)
		p := r.Start()
		got := []float64{p.Tempo}
		for _, clean := range c.clean {
			p = p.After(clean)
			got = append(got, p.Tempo)
		}
		assert.Equal(t, c.want, got, c.text)
	}
	r, err := ramp.Parse("60:72+4")
	require.NoError(t, err)
	assert.Equal(t, []float64{60, 64, 68, 72, 72}, r.Start().Plan(5))
	assert.Equal(t, "68:72+4", r.Start().After(true).After(true).Rest().String())

	// Run counts the clean passes since the tempo last moved.
	p := r.Start().After(true)
	assert.Equal(t, 0, p.Run)
	p = p.After(true).After(true).After(true).After(true)
	assert.Equal(t, []int{5, 2}, []int{p.Pass, p.Run}, "at the target it moves no more")
	assert.Equal(t, -1, p.After(false).Run, "those that failed are counted below 0")

	// A late word that a pass failed takes back the step that it was given.
	p = r.Start().Unjudged()
	assert.Equal(t, []float64{64, 60, 64}, []float64{p.Tempo, p.Said(false).Tempo, p.Said(true).Tempo})
	for range 5 {
		p = p.Unjudged()
	}
	assert.Equal(t, 72.0, p.Said(false).Tempo, "none was given at the end")
}

func anyRamp(t *rapid.T) ramp.Ramp {
	floor := float64(rapid.IntRange(300, 3000).Draw(t, "floor")) / 10
	target := float64(rapid.IntRange(int(floor*10), 3000).Draw(t, "target")) / 10
	r := ramp.Ramp{
		Floor: floor, Target: max(floor, target), Step: float64(rapid.IntRange(1, 400).Draw(t, "step")) / 10,
		Mode: ramp.Mode(rapid.IntRange(0, 3).Draw(t, "mode")), Rungs: ramp.DefaultRungs,
	}
	switch r.Mode {
	case ramp.Ladder:
		r.Rungs = rapid.IntRange(1, 9).Draw(t, "rungs")
	case ramp.Target:
		r.Floor, r.Step = r.Target, ramp.DefaultStep
	}
	return r
}

func TestPassesToTheEndOfARamp(t *testing.T) {
	for text, want := range map[string]int{
		"60:80+4": 6, "60:82+4": 7, "60:60+4": 1, "60:68+4,ladder2": 6, "60:120,alternate": 2, "90:120,target": 1,
	} {
		r, err := ramp.Parse(text)
		require.NoError(t, err)
		assert.Equal(t, want, r.Passes(), text)
		if plan := r.Start().Plan(want); r.Mode != ramp.Target {
			assert.Equal(t, r.Target, plan[want-1], text)
		}
	}
}

func TestNeverPastTheTargetNorBelowTheFloor(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyRamp(t)
		back, err := ramp.Parse(r.String())
		require.NoError(t, err)
		require.Equal(t, r, back)
		p := r.Start()
		for range rapid.IntRange(0, 80).Draw(t, "passes") {
			require.GreaterOrEqual(t, p.Tempo, r.Floor)
			require.LessOrEqual(t, p.Tempo, r.Target)
			next := p.After(rapid.Bool().Draw(t, "clean"))
			if r.Mode != ramp.Alternate {
				require.LessOrEqual(t, math.Abs(next.Tempo-p.Tempo), r.Step+1e-9, "one step at a time")
			}
			p = next
			kept, err := ramp.ParseProgress(p.String())
			require.NoError(t, err)
			require.Equal(t, p, kept)
		}
	})
}

func TestParseProgressFaults(t *testing.T) {
	for _, text := range []string{"", "60:120+4", "60:120+4 at 40 pass 1 run 0", "60:120+4 at 130 pass 1 run 0",
		"60:120+4 at 70 pass -1 run 0", "60:120+4 at 70 pass 1 run x", "x at 70 pass 1 run 0", "60:120+4 at NaN pass 1 run 0"} {
		_, err := ramp.ParseProgress(text)
		assert.Error(t, err, text)
	}
}

// TestLadderSettles plays ladders with a player whose chance of a clean pass
// falls with tempo. Source of the shares 71, 79 and 84 %: computed, 0.5^(1/k),
// where going up and going down are equally likely.
func TestLadderSettles(t *testing.T) {
	for k, share := range map[int]float64{2: 0.71, 3: 0.79, 4: 0.84} {
		chance := rand.New(rand.NewPCG(uint64(k), 1))
		p := ramp.Ramp{Floor: 30, Target: 300, Step: 0.5, Mode: ramp.Ladder, Rungs: k}.Start()
		const settling, passes = 5_000, 200_000
		clean := 0
		for i := range passes {
			ok := chance.Float64() < 1/(1+math.Exp((p.Tempo-160)/12))
			if ok && i >= settling {
				clean++
			}
			p = p.After(ok)
		}
		assert.InDelta(t, share, float64(clean)/(passes-settling), 0.01, "k = %d", k)
	}
}

// On one day a ramp climbs three steps at most, from where it was left or a step below
// what failed; the others are as they are.
func TestARampForADay(t *testing.T) {
	climb := func(text string, at float64, last float64, failed bool, clean ...bool) []float64 {
		r, err := ramp.Parse(text)
		require.NoError(t, err)
		p := r.Start()
		p.Tempo = at
		p = p.ForADay(last, failed)
		tempos := []float64{p.Tempo}
		for _, c := range clean {
			p = p.After(c)
			tempos = append(tempos, p.Tempo)
		}
		return tempos
	}
	yes := []bool{true, true, true, true, true}
	assert.Equal(t, []float64{60, 64, 68, 72, 72, 72}, climb("60:104+4", 60, 0, false, yes...))
	assert.Equal(t, []float64{72, 76, 80, 84, 84, 84}, climb("60:104+4", 72, 72, false, yes...))
	assert.Equal(t, []float64{68, 72, 76, 80, 80, 80}, climb("60:104+4", 76, 72, true, yes...), "a step below what failed")
	assert.Equal(t, []float64{60, 64}, climb("60:104+4", 64, 60, true, true), "not below the floor")
	assert.Equal(t, []float64{96, 100, 104, 104}, climb("60:104+4", 96, 96, false, true, true, true), "the target is the end")
	assert.Equal(t, []float64{60, 62, 64, 66, 66}, climb("60:104+2,ladder1", 60, 0, false, true, true, true, true))
	assert.Equal(t, []float64{60, 62, 60, 60}, climb("60:104+2,ladder1", 60, 0, false, true, false, false))
	assert.Equal(t, []float64{60, 104, 60}, climb("60:104+4,alternate", 60, 60, true, true, true))
	assert.Equal(t, []float64{104, 104}, climb("104", 104, 104, true, true))
}
