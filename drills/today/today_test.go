package today_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

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
	"footfall/harmony"
	"footfall/harmony/tune"
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
				r.Left[it] = today.Left{Ramp: p.String(), Tempo: p.Tempo, Judged: chance.IntN(3) > 0, Clean: chance.IntN(2) == 0}
				r.Known[it] = memory.State{}.After(day-memory.Day(chance.IntN(9)), memory.Good)
			}
		}
	}
	if rapid.IntRange(0, 4).Draw(t, "lesson") == 0 {
		names := content.LessonNames()
		name := names[rapid.IntRange(0, len(names)-1).Draw(t, "which")]
		text, _ := content.LessonText(name)
		l, _ := lesson.Read(name, text, content.Tune)
		r.Lesson = &today.Taught{Lesson: l, Items: make([][]memory.Item, len(l.Tasks))}
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
			case today.Due:
				require.False(t, sawNew, "due items come before new ones")
			case today.Play:
				for _, later := range p.Steps[i+1:] {
					require.Contains(t, []today.Kind{today.Break, today.Play}, later.Kind, "joy comes last")
				}
			case today.Passage:
				progress, err := ramp.ParseProgress(s.Ramp)
				require.NoError(t, err)
				require.Equal(t, progress.Tempo, s.Tempo)
				if s.Task == nil {
					left, played := r.Left[memory.Item{Kind: memory.Passage, Tune: s.Tune, Section: s.Section, Layer: s.Layer}]
					if failed := left.Judged && !left.Clean; !failed {
						was, err := ramp.ParseProgress(left.Ramp)
						require.Equal(t, played, err == nil && was.Tempo == s.Tempo && was.Pass == progress.Pass && was.Run == progress.Run, "the ramp goes on where it was left")
					} else if was, err := ramp.ParseProgress(left.Ramp); err == nil {
						require.Less(t, s.Tempo, max(left.Tempo, was.Ramp.Floor+1), "what failed is begun slower")
					}
					require.GreaterOrEqual(t, progress.Ramp.Target, math.Round(works[s.Tune].Tempo), "towards the tune's tempo")
					require.LessOrEqual(t, max(s.Most-s.Tempo, 0), 3*progress.Ramp.Step, "three steps a day")
					require.True(t, s.Most > 0 || progress.Ramp.Target-s.Tempo <= 3*progress.Ramp.Step, "or up to the target")
				}
			}
			require.LessOrEqual(t, run, today.BreakAfter, "no longer without a break")
			for _, it := range s.Items {
				require.False(t, memory.Alike(last, it), "look-alikes together: %s, %s", last.Text(), it.Text())
				last = it
			}
			if s.Kind != today.Due {
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
			if s.Kind == today.Due {
				for _, it := range s.Items {
					require.True(t, due[it], "only what is due warms up")
					delete(due, it)
				}
			}
		}
		parts := memory.EstimateOf(r.Known)
		for it := range due {
			if parts.Sure(it, day) {
				delete(due, it) // those are only sampled
			}
		}
		if sawNew {
			require.True(t, len(due) == 0 || len(fresh) <= 3, "little that is new while something due finds no room")
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
	assert.Equal(t, []today.Kind{today.Level, today.New, today.Passage, today.Passage, today.Play}, kinds)
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

// What is left to climb of a step's ramp, and the tempo of one that has none.
func TestClimb(t *testing.T) {
	r := ramp.Ramp{Floor: 60, Target: 72, Step: 4, Rungs: 3, Mode: ramp.Up}.Start()
	assert.Equal(t, "60:72+4", today.Step{Ramp: r.String(), Tempo: r.Tempo}.Climb())
	r = r.After(true).After(true)
	assert.Equal(t, "68:72+4", today.Step{Ramp: r.String(), Tempo: r.Tempo}.Climb())
	assert.Equal(t, "87.5", today.Step{Tempo: 87.5}.Climb())
	_, err := ramp.Parse(today.Step{Tempo: 87.5}.Climb())
	assert.NoError(t, err)
}

func TestNothingNewBeforeTheWarmUp(t *testing.T) {
	p := today.Plan{Minutes: 9, Steps: []today.Step{{Kind: today.Due, Minutes: 3}, {Kind: today.New, Minutes: 3}, {Kind: today.Play, Minutes: 3}}}
	same, moved := p.Later(0)
	assert.False(t, moved)
	assert.Equal(t, p, same)
	_, err := p.Stretched(0, -3)
	assert.EqualError(t, err, "a step takes a minute at least; leave it out instead")
	_, err = p.Stretched(0, 1)
	assert.EqualError(t, err, "the day has 9 minutes and they are all taken; shorten another step first")
	assert.Equal(t, 3, p.Steps[0].Minutes)
}

// Over the symbols that a step's items name, each can be asked: the chord has
// its degree over its root.
func TestSymbolsHaveTheDegreesAskedFor(t *testing.T) {
	for _, d := range harmony.Degrees {
		for _, root := range []string{"C", "Db", "F#", "Bb"} {
			symbol := today.Symbols([]memory.Item{{Kind: memory.Spell, Degree: d.String(), Root: root}}, nil)
			if symbol == "" {
				continue
			}
			c, err := harmony.ParseChord(symbol)
			require.NoError(t, err)
			assert.Equal(t, root, c.Root.String())
			assert.Contains(t, c.Degrees, d, "%s of %s over %s", d, root, symbol)
		}
	}
	find := memory.Item{Kind: memory.Find, Quality: "m7", Degree: "b7", Root: "D", String: 5}
	dm7, err := harmony.ParseChord("Dm7")
	require.NoError(t, err)
	g7, err := harmony.ParseChord("G7")
	require.NoError(t, err)
	shape := memory.Item{Kind: memory.Shape, About: memory.AboutUse, Quality: "7", Bass: "3", Frets: "x 0 1 0 1 x"}
	assert.Equal(t, "Dm7", today.Symbols([]memory.Item{find, find}, []harmony.Chord{g7}), "once, and no more than is named")
	assert.Equal(t, "Dm7 G7", today.Symbols([]memory.Item{find, shape}, []harmony.Chord{dm7, g7}), "a shape names no chord: those of the tunes serve")
	approach := memory.Item{Kind: memory.Approach, Degree: "b2", Quality: "m7", Next: "4", Root: "D"}
	leading := memory.Item{Kind: memory.Leading, Quality: "7", Next: "4", To: "maj7", Root: "G"}
	assert.Equal(t, "Dm7 G7 G7 Cmaj7", today.Symbols([]memory.Item{approach, leading}, nil), "a change is asked over its two chords")
	m, err := drills.OfSymbols("", "", "Dm7 G7 G7 Cmaj7", fretboard.StandardNeck())
	require.NoError(t, err)
	var asked []memory.Item
	for _, name := range []string{"approach", "leading"} {
		ks, err := drills.KindsNamed(name)
		require.NoError(t, err)
		qs, err := ks[0].Draw(m)
		require.NoError(t, err)
		for _, q := range qs {
			asked = append(asked, q.Item())
		}
	}
	assert.Contains(t, asked, approach)
	assert.Contains(t, asked, leading)
	for _, it := range []memory.Item{{Kind: memory.Spell, Degree: "b2", Root: "C"}, {Kind: memory.Find, Root: "H"}, {Kind: memory.Passage, Tune: "x"}} {
		assert.Empty(t, today.Symbols([]memory.Item{it}, nil), it.Text())
	}
}

// The last pass is of a tune that was played clean, at the slowest tempo it was;
// where minutes are few, of one of its sections, or of anything.
func TestJoy(t *testing.T) {
	left := map[memory.Item]today.Left{
		{Kind: memory.Passage, Tune: "short-ladder", Section: "A", Layer: "bass"}:     {Tempo: 96, Clean: true},
		{Kind: memory.Passage, Tune: "short-ladder", Section: "B", Layer: "bass"}:     {Tempo: 88, Clean: true},
		{Kind: memory.Passage, Tune: "tin-kettle-blues", Section: "A", Layer: "bass"}: {Tempo: 70},
	}
	joyOf := func(r today.Request) today.Step {
		steps := today.Lay(r).Steps
		return steps[len(steps)-1]
	}
	r := today.Request{Day: day, Work: []today.Work{works["tin-kettle-blues"], works["short-ladder"]}, Left: left}
	s := joyOf(r)
	assert.Equal(t, today.Play, s.Kind)
	assert.Equal(t, "short-ladder", s.Tune)
	assert.Equal(t, 88.0, s.Tempo)
	assert.Empty(t, s.Section)
	assert.Contains(t, s.Text, "once through at 88, just to play")

	assert.Equal(t, 1, s.Passes, "once is once, whatever the time")

	r.Day++
	assert.Equal(t, "bass", joyOf(r).Layer, "no line is made up before one was taught")
	r.OwnLine = true
	s = joyOf(r)
	assert.Equal(t, memory.FreeLayer, s.Layer, "every other day a clean tune is walked freely")
	assert.Equal(t, 88.0, s.Tempo)
	assert.Contains(t, s.Text, "with a line of your own: roots alone will do")

	long := works["short-ladder"]
	long.Whole.Quarters = 2000
	r = today.Request{Day: day, Work: []today.Work{long}, Left: left}
	s = joyOf(r)
	assert.Equal(t, "A", s.Section, "the whole does not fit")
	assert.Contains(t, s.Text, ", section A, once through at 88")
	for i := range long.Sections {
		long.Sections = slices.Clone(long.Sections)
		long.Sections[i].Quarters = 2000
	}
	r.Work = []today.Work{long}
	assert.Equal(t, today.Mixed, joyOf(r).Kind, "no pass goes into the time: questions do")
	r.Minutes = 3
	for _, s := range today.Lay(r).Steps {
		assert.NotEqual(t, today.Play, s.Kind, "three minutes have no room for it")
	}
}

// Of more that is due than there is room for, what is forgotten soonest warms up.
func TestWarmUpTakesWhatIsForgottenSoonest(t *testing.T) {
	r := today.Request{Day: day, Minutes: 3, Known: map[memory.Item]memory.State{}}
	late := map[memory.Item]bool{}
	for i, root := range []string{"C", "D", "E", "F", "G", "A", "B"} {
		for j, degree := range []string{"b7", "3"} {
			it := memory.Item{Kind: memory.Find, Quality: "7", Degree: degree, Root: root, String: 5}
			ago := memory.Day(11 + (i+j)%2*20)
			r.Known[it] = memory.State{Stability: 10, Difficulty: 5, Last: day - ago, Asked: 1}
			late[it] = ago > 11
		}
	}
	p := today.Lay(r)
	require.Equal(t, today.Due, p.Steps[0].Kind)
	require.Len(t, p.Steps[0].Items, 7, "eight seconds each of one minute")
	for _, it := range p.Steps[0].Items {
		assert.True(t, late[it], it.Text())
	}
	require.Len(t, p.Notes, 1)
	assert.Contains(t, p.Notes[0], "7 ")
}

// A layer is done once its last pass was clean at the target.
func TestALayerEndsWithACleanPass(t *testing.T) {
	top := ramp.Ramp{Floor: 120, Target: 120, Step: 4, Rungs: 3, Mode: ramp.Target}.Start().After(true)
	layerAfter := func(left today.Left) string {
		r := today.Request{Day: day, Work: []today.Work{made("A")}, Left: map[memory.Item]today.Left{passageOf("A", fretboard.Bass): left}}
		for _, s := range today.Lay(r).Steps {
			if s.Kind == today.Passage {
				return s.Layer
			}
		}
		return ""
	}
	assert.Equal(t, "bass+changes", layerAfter(today.Left{Ramp: top.String(), Tempo: 120, Clean: true}))
	assert.Equal(t, "bass", layerAfter(today.Left{Ramp: top.String(), Tempo: 120}), "not clean")
	assert.Equal(t, "bass", layerAfter(today.Left{Ramp: top.String(), Tempo: 116, Clean: true}), "not at the target")
	assert.Equal(t, "bass", layerAfter(today.Left{Ramp: "?", Tempo: 120, Clean: true}), "of no ramp that can be read")
}

// A pass at one tempo, or a lesson's ramp that ends below the tune's tempo, is no goal: the
// passage goes on from there towards the tune's.
func TestTheGoalIsTheTunesTempo(t *testing.T) {
	for text, want := range map[string]string{
		"48 at 48 pass 2 run 2": "48:120+4 at 48 pass 2 run 0", "90 at 90 pass 1 run 1": "72:120+4 at 90 pass 1 run 0",
		"60:80+4 at 80 pass 9 run 1": "60:120+4 at 80 pass 9 run 1", "60:132+4 at 80 pass 9 run 1": "60:132+4 at 80 pass 9 run 1",
	} {
		was, err := ramp.ParseProgress(text)
		require.NoError(t, err)
		r := today.Request{Day: day, Work: []today.Work{made("A")}, Left: map[memory.Item]today.Left{passageOf("A", fretboard.Bass): {Ramp: text, Tempo: was.Tempo, Clean: true, Judged: true}}}
		i := slices.IndexFunc(today.Lay(r).Steps, func(s today.Step) bool { return s.Kind == today.Passage })
		require.GreaterOrEqual(t, i, 0)
		assert.Equal(t, want, today.Lay(r).Steps[i].Ramp, text)
		assert.Contains(t, today.Lay(r).Steps[i].Why, "its tempo is 1", text)
	}
}

// Four bars and a bar of count-in at 60 take 20 seconds: three passes a minute.
func TestPassesOfAStep(t *testing.T) {
	at60 := ramp.Ramp{Floor: 60, Target: 60, Step: 4, Rungs: 3, Mode: ramp.Target}.Start()
	slow := made("A")
	slow.Tempo = 60
	r := today.Request{Day: day, Work: []today.Work{slow}, Left: map[memory.Item]today.Left{passageOf("A", fretboard.Bass): {Ramp: at60.String(), Tempo: 60}}}
	for _, s := range today.Lay(r).Steps {
		if s.Kind == today.Passage {
			assert.Equal(t, 3*s.Minutes, s.Passes)
			return
		}
	}
	t.Fatal("no passage")
}

// More minutes than a day plans, and none at all, are put right.
func TestMinutes(t *testing.T) {
	r := today.Request{Day: day, Work: []today.Work{works["short-ladder"]}}
	assert.Equal(t, today.DefaultMinutes, today.Lay(r).Minutes)
	r.Minutes = 1000
	assert.Equal(t, today.MostMinutes, today.Lay(r).Minutes)
	r.Minutes = -1
	assert.Equal(t, 1, today.Lay(r).Minutes)
}

// A tune whose line leaves the bass strings cannot be worked at; its drills can
// be asked in any order.
func TestALineOffTheNeck(t *testing.T) {
	text, _ := content.TuneText("short-ladder")
	tn, faults := tune.Read(text)
	require.Empty(t, faults)
	rising := tune.BassBeat{First: tune.BassToken{Kind: tune.BassNote, Degree: harmony.Degree{Number: 1}, Direction: tune.Rise}}
	tn.Sections[0].Bars[0].Bass = slices.Repeat([]tune.BassBeat{rising}, tn.Meter.Beats())
	tn.Sections[0].Bars[1].Bass = tn.Sections[0].Bars[0].Bass
	m := drills.OfTune("x", tn, fretboard.StandardNeck())
	_, err := today.WorkOf(m)
	var off *tune.LineError
	require.ErrorAs(t, err, &off)
	assert.Equal(t, tn.Sections[0].Name, off.Section)
	assert.LessOrEqual(t, off.SectionBar, 2)
	items := works["lantern-street"].Items
	assert.Equal(t, items, today.Needed(m)(items))
	m.Tune = nil
	assert.Equal(t, items, today.Needed(m)(items))
}

// Needed puts first what the line plays first, and keeps all else as it is.
func TestNeeded(t *testing.T) {
	tn, _ := content.Tune("tin-kettle-blues")
	m := drills.OfTune("tin-kettle-blues", tn, fretboard.StandardNeck())
	pool := slices.Clone(works["tin-kettle-blues"].Items)
	slices.Reverse(pool)
	before := slices.Clone(pool)
	got := today.Needed(m)(pool)
	assert.Equal(t, before, pool, "the pool is not changed")
	assert.ElementsMatch(t, pool, got)
	line, err := tn.Line(m.Neck.BassRange())
	require.NoError(t, err)
	assert.Equal(t, line[0].Degree.String(), got[0].Degree)
	assert.Equal(t, line[0].Chord.Root.String(), got[0].Root)
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

// One thing is due and there is room for one new thing: whichever it is, the new
// one is not its look-alike.
func TestTheOneNewThingIsNoLookAlikeOfTheOneDue(t *testing.T) {
	w := works["tin-kettle-blues"]
	for _, due := range w.Items {
		known := map[memory.Item]memory.State{due: memory.State{}.After(day-20, memory.Good)}
		p := today.Lay(today.Request{Day: day, Minutes: 7, Seed: 67, Work: []today.Work{w}, Known: known, Left: map[memory.Item]today.Left{}})
		for _, s := range p.Steps {
			if s.Kind == today.New && s.Items != nil {
				require.False(t, memory.Alike(due, s.Items[0]), "%s, %s", due.Text(), s.Items[0].Text())
			}
		}
	}
}
