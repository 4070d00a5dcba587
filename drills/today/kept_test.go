package today_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/drills"
	"footfall/drills/lesson"
	"footfall/drills/memory"
	"footfall/drills/today"
)

// lessonOf reads a lesson that comes with the program, its drills asking the items given.
func lessonOf(t testing.TB, name string, task int, items []memory.Item) *today.Taught {
	t.Helper()
	text, ok := content.LessonText(name)
	require.True(t, ok, name)
	l, faults := lesson.Read(name, text, content.Tune)
	require.Empty(t, faults)
	taught := &today.Taught{Lesson: l, Items: make([][]memory.Item, len(l.Tasks)), Task: min(task, len(l.Tasks)-1)}
	for i := range l.Tasks {
		if l.Tasks[i].Drill != nil {
			taught.Items[i] = items
		}
	}
	return taught
}

// lately is a request of a player who has answered and played on the last days: right is
// how many of ten answers were.
func lately(t testing.TB, minutes, right int, next *today.Taught) today.Request {
	t.Helper()
	w := works["tin-kettle-blues"]
	r := today.Request{Day: day, Minutes: minutes, Seed: 5, Work: []today.Work{w}, Known: map[memory.Item]memory.State{},
		Left: map[memory.Item]today.Left{}, Next: next}
	for i, it := range w.Items[:min(30, len(w.Items))] {
		ok := i%10 < right
		s := memory.State{}.After(day-3, memory.Good)
		if !ok {
			s = s.After(day-1, memory.Again)
		}
		r.Known[it] = s
		for range 3 {
			r.Recent = append(r.Recent, today.Recent{Item: it, Day: day - 1, Right: ok, Seconds: 2})
		}
	}
	for i, s := range w.Sections {
		it := memory.Item{Kind: memory.Passage, Tune: w.Name, Section: s.Section, Layer: "bass"}
		r.Left[it] = today.Left{Ramp: "60:112+4 at 80 pass 5 run 1", Tempo: 80, Clean: i%2 == 0, Day: day - memory.Day(2+6*i)}
		r.Known[it] = memory.State{}.After(day-8, memory.Good)
	}
	return r
}

// Each step says why, with figures from the last days.
func TestWhySaysWhatHappened(t *testing.T) {
	var all []string
	for _, right := range []int{3, 8, 10} {
		for _, minutes := range []int{5, 12, 30, 60} {
			for _, name := range content.LessonNames()[:3] {
				for task := range 2 {
					r := lately(t, minutes, right, lessonOf(t, name, task, works["tin-kettle-blues"].Items[20:40]))
					p := today.Lay(r)
					require.LessOrEqual(t, p.Total(), minutes)
					for _, s := range p.Steps {
						require.NotEmpty(t, s.Why)
						all = append(all, s.Why)
					}
				}
			}
		}
	}
	says := strings.Join(all, "\n")
	for _, want := range []string{"of 3 yesterday", "new for Tin Kettle Blues", "task 1 of", "clean on ", "today; its tempo is 112", "days ago"} {
		assert.Contains(t, says, want)
	}
}

// The worse the last days went, the fewer things are new.
func TestNewThingsByHowItWent(t *testing.T) {
	fresh := func(right, minutes int) int {
		n := 0
		for _, s := range today.Lay(lately(t, minutes, right, nil)).Steps {
			if s.Kind == today.New {
				n += len(s.Items)
			}
		}
		return n
	}
	for _, minutes := range []int{20, 40} {
		assert.Less(t, fresh(5, minutes), fresh(10, minutes))
		assert.LessOrEqual(t, fresh(7, minutes), fresh(8, minutes))
		assert.LessOrEqual(t, fresh(10, minutes), 8)
		assert.GreaterOrEqual(t, fresh(5, minutes), 3)
	}
}

// A plan is read back as it stood, and one that is laid anew keeps what was done.
func TestAPlanIsKept(t *testing.T) {
	next := lessonOf(t, content.LessonNames()[0], 0, works["tin-kettle-blues"].Items[:12])
	p := today.Lay(lately(t, 60, 8, next))
	p.Usual, p.BreakAfter, p.Tune, p.Last, p.LastRight = 20, 25, "tin-kettle-blues", "find:7:1:C:5", true
	p.Course = today.Course{}.With("roots-on-two-strings", 2).With("what-a-degree-is", 1)
	for i := range p.Steps {
		s := &p.Steps[i]
		if len(s.Items) > 1 {
			s.Tries = map[string]today.Try{s.Items[0].Key(): {Asked: 5, Right: 5, Sure: 3, Alone: 2}, s.Items[1].Key(): {Asked: 1}}
		}
		s.Spent, s.Asked, s.Right, s.Played = 30, 6, 5, 1
	}
	p.Steps[0].Done = true
	text, err := p.Written()
	require.NoError(t, err)
	back, err := today.Read(text, func(name string) *lesson.Lesson {
		if name == next.Lesson.Name {
			return next.Lesson
		}
		return nil
	})
	require.NoError(t, err)
	for i := range back.Steps { // the keys are written beside the things themselves
		back.Steps[i].Keys = p.Steps[i].Keys
	}
	again, err := back.Written()
	require.NoError(t, err)
	assert.Equal(t, string(text), string(again))
	_, err = today.Read([]byte("{"), nil)
	assert.ErrorContains(t, err, "cannot be read")

	done, minutes := p.Finished()
	require.Len(t, done, 1)
	assert.Equal(t, p.Steps[0].Minutes, minutes)
	rest := today.Lay(lately(t, 10, 8, nil))
	relaid := p.Relaid(rest, 70)
	assert.Equal(t, p.Steps[0].Text, relaid.Steps[0].Text)
	assert.Equal(t, 70, relaid.Minutes)
	for i, s := range relaid.Numbered() {
		assert.Equal(t, i+1, s.N)
		assert.NotEqual(t, today.Break, s.Kind)
	}
	left := p.Unfinished(day + 1)
	for _, it := range left {
		assert.True(t, it.Known())
	}
	assert.NotEmpty(t, left)
	assert.Empty(t, p.Unfinished(day+30))
	assert.Equal(t, time.Duration(p.Steps[0].Minutes)*time.Minute-30*time.Second, p.Steps[0].Left())
}

// The day's last line counts what stands, what comes back and what was played.
func TestTheDayIsSummedUp(t *testing.T) {
	it, other := works["tin-kettle-blues"].Items[0], works["tin-kettle-blues"].Items[1]
	p := today.Plan{Steps: []today.Step{{Kind: today.New, Items: []memory.Item{it, other}, Asked: 9, Right: 8, Played: 2,
		Tries: map[string]today.Try{it.Key(): {Sure: 3, Alone: 2}, other.Key(): {Asked: 1}}}}}
	known := map[memory.Item]memory.State{it: memory.State{}.After(day, memory.Again)}
	says := p.Says(day, known, "Fifths")
	assert.Equal(t, "Today: 1 new thing learned, 1 comes back tomorrow, 8 right of 9, 2 passes played. Tomorrow: 1 thing is due, and the lesson Fifths.", says)
	assert.Contains(t, today.Plan{}.Says(day, nil, ""), "Today: nothing yet. Tomorrow: 0 things are due.")
}

// What was left open until the level was found is picked when its step begins.
func TestPickedOnceTheLevelIsFound(t *testing.T) {
	r := today.Request{Day: day, Minutes: 20, Work: []today.Work{works["tin-kettle-blues"]}}
	p := today.Lay(r)
	r.Known = map[memory.Item]memory.State{}
	for _, it := range works["tin-kettle-blues"].Items[:6] {
		r.Known[it] = memory.State{}.After(day, memory.Good)
	}
	for _, s := range p.Numbered() {
		picked := today.Pick(p, s.N, r)
		if s.Kind == today.New {
			assert.NotEmpty(t, picked.Items)
		} else {
			assert.Equal(t, s.Kind, picked.Kind)
		}
	}
}

func TestAnswersAreCountedOnToWhatWas(t *testing.T) {
	it := works["tin-kettle-blues"].Items[0]
	before := map[string]today.Try{it.Key(): {Asked: 2, Right: 1, Led: 1, Found: 1}}
	tries := today.Tried(before, []drills.Answer{{Exchange: &drills.Exchange{Item: it}, Verdict: memory.Sure}, {Exchange: &drills.Exchange{Item: it}, Verdict: memory.Missed}})
	assert.Equal(t, today.Try{Asked: 4, Right: 2, Led: 1, Found: 1}, tries[it.Key()])
	assert.Equal(t, 2, before[it.Key()].Asked, "what was is left alone")
}

// What a lesson asks for is counted over days, by its latest answers.
func TestALessonIsCountedOverDays(t *testing.T) {
	c := today.Course{}
	assert.Empty(t, c.SaysSoFar("fifths", 1))
	one := c.Tried("fifths", 1, []bool{true, false, true}, 4)
	assert.Equal(t, "2 right of the last 3 so far", one.SaysSoFar("fifths", 1))
	two := one.Tried("fifths", 1, []bool{true, true}, 4)
	assert.Equal(t, "3 right of the last 4 so far", two.SaysSoFar("fifths", 1))
	assert.Empty(t, two.SaysSoFar("fifths", 2))
	assert.Empty(t, two.With("fifths", 1).SaysSoFar("fifths", 1), "it is met")
	assert.Equal(t, "2 right of the last 3 so far", one.SaysSoFar("fifths", 1), "what was is left alone")
}

// A line is given the time that a slow player takes to walk it: it has to come to its end.
func TestALineHasTheTimeItTakes(t *testing.T) {
	for i, task := range lessonOf(t, "four-to-the-bar", 0, nil).Lesson.Tasks {
		s := lessonOf(t, "four-to-the-bar", i, nil).Step(i, 2, nil)
		if task.Drill != nil {
			assert.Equal(t, 7, s.Minutes, "48 notes at 8 seconds")
		} else {
			assert.Equal(t, 2, s.Minutes)
		}
	}
}

// However much else a tune asks about, half of what is new on a day are degrees that are found
// or named, as long as there are any, and of what is asked beside them.
func TestDegreesKeepTheirShare(t *testing.T) {
	for _, minutes := range []int{8, 20, 40} {
		r := lately(t, minutes, 9, nil)
		for i, it := range works["tin-kettle-blues"].Items {
			if i%3 == 0 {
				r.Known[it] = memory.State{}.After(day-1, memory.Easy) // known well, of every kind
			}
		}
		p := today.Lay(r)
		i := slices.IndexFunc(p.Steps, func(s today.Step) bool { return s.Kind == today.New })
		require.GreaterOrEqual(t, i, 0)
		degrees := func(items []memory.Item) (n int) {
			for _, it := range items {
				if slices.Contains([]memory.Kind{memory.Find, memory.Name, memory.Spell}, it.Kind) {
					n++
				}
			}
			return n
		}
		s := p.Steps[i]
		assert.GreaterOrEqual(t, 2*degrees(s.Items), len(s.Items), "%d minutes: %s", minutes, s.Text)
		assert.Less(t, degrees(s.Items), len(s.Items), "%d minutes: other things come too", minutes)
		assert.GreaterOrEqual(t, 2*degrees(s.Beside), len(s.Beside), "%d minutes", minutes)
	}
}

// What was never asked is new, though the step that had it the day before was left out.
func TestWhatWasNeverAskedIsNew(t *testing.T) {
	r := lately(t, 20, 9, nil)
	var never, begun memory.Item
	for _, it := range works["tin-kettle-blues"].Items {
		switch {
		case !r.Known[it].New():
		case never == (memory.Item{}):
			never = it
		case !memory.Alike(never, it) && begun == (memory.Item{}):
			begun = it
		}
	}
	r.Known[begun] = memory.State{}.After(day-1, memory.Again)
	r.Unfinished = []memory.Item{never, begun}
	p := today.Lay(r)
	i := slices.IndexFunc(p.Steps, func(s today.Step) bool { return s.Kind == today.New })
	require.GreaterOrEqual(t, i, 0)
	fresh, again, both := strings.Cut(p.Steps[i].Text, "Not firm yet: ")
	require.True(t, both, p.Steps[i].Text)
	assert.Contains(t, fresh, never.Text())
	assert.Equal(t, begun.Text(), again)
	assert.Contains(t, p.Steps[i].Why, "1 thing from last time")
}
