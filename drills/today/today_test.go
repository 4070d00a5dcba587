package today_test

import (
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/content"
	"footfall/drills"
	"footfall/drills/lesson"
	"footfall/drills/memory"
	"footfall/drills/ramp"
	"footfall/drills/today"
	"footfall/fretboard"
)

const day = memory.Day(20700)

var works = func() map[string]today.Work {
	all := map[string]today.Work{}
	for _, name := range []string{"tin-kettle-blues", "lantern-street", "third-floor-waltz", "short-ladder"} {
		t, _ := content.Tune(name)
		w, err := today.WorkOf(drills.OfTune(name, t, fretboard.StandardNeck()))
		if err != nil {
			panic(err)
		}
		all[name] = w
	}
	return all
}()

func anyRequest(t *rapid.T) today.Request {
	r := today.Request{
		Day: day, Minutes: rapid.IntRange(1, 150).Draw(t, "minutes"), Seed: rapid.Uint64().Draw(t, "seed"),
		Known: map[memory.Item]memory.State{}, Left: map[memory.Item]today.Left{},
	}
	for _, name := range rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"tin-kettle-blues", "lantern-street", "third-floor-waltz", "short-ladder"}),
		0, 3, rapid.ID[string]).Draw(t, "tunes") {
		r.Work = append(r.Work, works[name])
	}
	chance := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "history"), 1))
	some := rapid.IntRange(0, 40).Draw(t, "known, of 40")
	for _, w := range r.Work {
		for _, it := range w.Items {
			if chance.IntN(40) < some {
				r.Known[it] = memory.State{}.After(day-memory.Day(chance.IntN(30)), memory.Grade(1+chance.IntN(4)))
			}
		}
		for _, s := range w.Sections {
			if chance.IntN(2) == 0 {
				p := ramp.Ramp{Floor: 50, Target: 90, Step: 5, Rungs: 3}.Start()
				for range chance.IntN(14) {
					p = p.After(true)
				}
				it := memory.Item{Kind: memory.Passage, Tune: w.Name, Section: s.Section, Layer: "bass"}
				r.Left[it] = today.Left{Ramp: p.String(), Tempo: p.Tempo, Clean: chance.IntN(2) == 0}
				r.Known[it] = memory.State{}.After(day-memory.Day(chance.IntN(9)), memory.Good)
			}
		}
	}
	if rapid.IntRange(0, 4).Draw(t, "lesson") == 0 {
		names := content.LessonNames()
		text, _ := content.LessonText(names[rapid.IntRange(0, len(names)-1).Draw(t, "which")])
		r.Lesson, _ = lesson.Read(text, content.Tune)
	}
	return r
}

func TestPlanKeepsItsRules(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyRequest(t)
		p := today.Lay(r)
		require.Equal(t, p, today.Lay(r), "the same request, the same plan")

		require.LessOrEqual(t, p.Total(), r.Minutes, "the plan fits the minutes")
		require.GreaterOrEqual(t, 10*(p.Total()+today.BreakMinutes), 8*min(r.Minutes, 60), "and fills them: %+v", p)
		run := 0
		var last memory.Item
		sawNew := false
		var fresh []memory.Item
		for i, s := range p.Steps {
			require.Positive(t, s.Minutes)
			require.NotEmpty(t, s.Text)
			run += s.Minutes
			switch s.Kind {
			case today.Break:
				run = 0
			case today.New:
				sawNew = true
				fresh = s.Items
			case today.WarmUp:
				require.False(t, sawNew, "due items come before new ones")
			case today.Joy:
				for _, later := range p.Steps[i+1:] {
					require.Contains(t, []today.Kind{today.Break, today.Joy}, later.Kind, "joy comes last")
				}
			case today.Passage:
				progress, err := ramp.ParseProgress(s.Ramp)
				require.NoError(t, err)
				require.Equal(t, progress.Tempo, s.Tempo)
				if s.Task == nil {
					left, played := r.Left[memory.Item{Kind: memory.Passage, Tune: s.Tune, Section: s.Section, Layer: s.Layer}]
					require.Equal(t, played, s.Ramp == left.Ramp, "the ramp goes on where it was left")
				}
			}
			require.LessOrEqual(t, run, today.BreakAfter, "no longer without a break")
			for _, it := range s.Items {
				require.False(t, memory.Alike(last, it), "look-alikes together: %s, %s", last.Text(), it.Text())
				last = it
			}
			if s.Kind != today.WarmUp {
				last = memory.Item{}
			}
		}
		due := map[memory.Item]bool{}
		for it, s := range r.Known {
			if it.Kind != memory.Passage && s.Due() <= day {
				due[it] = true
			}
		}
		for _, s := range p.Steps {
			if s.Kind == today.WarmUp {
				for _, it := range s.Items {
					require.True(t, due[it], "only what is due warms up")
					delete(due, it)
				}
			}
		}
		if sawNew {
			require.Empty(t, due, "nothing new while something due finds no room")
		}
		for i, it := range fresh {
			require.True(t, r.Known[it].New())
			for _, other := range fresh[:i] {
				require.False(t, memory.Alike(it, other))
			}
			for known, s := range r.Known {
				require.False(t, s.First == day && memory.Alike(known, it), "not with what was new today")
			}
		}
	})
}

func TestFirstDay(t *testing.T) {
	p := today.Lay(today.Request{Day: day, Work: []today.Work{works["tin-kettle-blues"]}})
	var kinds []today.Kind
	for _, s := range p.Steps {
		kinds = append(kinds, s.Kind)
	}
	assert.Equal(t, []today.Kind{today.Placing, today.New, today.Passage, today.Passage, today.Passage, today.Joy}, kinds)
	assert.Equal(t, 20, p.Total())
	assert.Equal(t, 2, p.Steps[0].Minutes)
	assert.Equal(t, "A", p.Steps[2].Section)
	assert.Equal(t, 67.0, p.Steps[2].Tempo, "60 % of the tune's 112")
}

func TestLayerFollowsTheRamp(t *testing.T) {
	r := today.Request{Day: day, Work: []today.Work{works["short-ladder"]}, Known: map[memory.Item]memory.State{}, Left: map[memory.Item]today.Left{}}
	it := memory.Item{Kind: memory.Passage, Tune: "short-ladder", Section: "A", Layer: "bass"}
	end := ramp.Ramp{Floor: 60, Target: 132, Step: 40, Rungs: 3}.Start().After(true).After(true).After(true)
	r.Left[it] = today.Left{Ramp: end.String(), Tempo: 132, Clean: true}
	layers := map[string]string{}
	for _, s := range today.Lay(r).Steps {
		if s.Kind == today.Passage {
			layers[s.Section] = s.Layer
		}
	}
	assert.Equal(t, map[string]string{"A": "bass+changes", "B": "bass"}, layers)
}

func TestPlanIsChanged(t *testing.T) {
	p := today.Lay(today.Request{Day: day, Work: []today.Work{works["tin-kettle-blues"]}})
	before := len(p.Steps)
	q := p.Without(1)
	assert.Len(t, q.Steps, before-1)
	assert.Len(t, p.Steps, before, "the plan it came from is as it was")
	_, err := p.Stretched(2, 1)
	require.ErrorContains(t, err, "all taken")
	q, err = q.Stretched(1, 2)
	require.NoError(t, err)
	assert.Equal(t, p.Total()-p.Steps[1].Minutes+2, q.Total())
	_, err = p.Stretched(0, -2)
	require.Error(t, err)
	q, moved := p.Later(2)
	assert.True(t, moved)
	assert.Equal(t, p.Steps[2], q.Steps[3])
	_, moved = p.Later(before - 1)
	assert.False(t, moved)
}

func TestNeedFollowsTheLine(t *testing.T) {
	w := works["tin-kettle-blues"]
	require.NotEmpty(t, w.Items)
	assert.Equal(t, "1", w.Items[0].Degree)
	assert.Equal(t, "F", w.Items[0].Root, "what the line plays first is needed first")
}

func TestChooserAsksOnlyWhatItIsGiven(t *testing.T) {
	w := works["lantern-street"]
	var only []memory.Item
	for i := 0; i < len(w.Items); i += len(w.Items) / 8 {
		only = append(only, w.Items[i])
	}
	choose := today.Chooser(nil, day, today.Only(only))
	chance := rand.New(rand.NewPCG(1, 1))
	var past []drills.Answer
	seen := map[memory.Item]bool{}
	for range 30 {
		it := w.Items[choose(w.Items, past, chance)]
		require.Contains(t, only, it)
		seen[it] = true
		past = append(past, drills.Answer{Item: it, Verdict: memory.Sure, Grade: memory.Good, Took: 2 * time.Second})
	}
	assert.Greater(t, len(seen), 3)
}

// BenchmarkLay lays out a day of 20 minutes with every item of two tunes known.
func BenchmarkLay(b *testing.B) {
	r := today.Request{Day: day, Work: []today.Work{works["lantern-street"], works["tin-kettle-blues"]}, Known: map[memory.Item]memory.State{}}
	for i, w := range r.Work {
		for j, it := range w.Items {
			r.Known[it] = memory.State{}.After(day-memory.Day((i+j)%20), memory.Good)
		}
	}
	for b.Loop() {
		today.Lay(r)
	}
}
