package session_test

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/memory"
	"footfall/drills/today"
	"footfall/fretboard"
	"footfall/harmony/walk"
	"footfall/trainer/history"
	"footfall/trainer/session"
)

// practise answers rightly what a step of the day asks, and plays its passes clean, to
// its end.
func practise(t *testing.T, d *session.Desk, a *session.Agenda, n int) {
	t.Helper()
	s := d.DayOf(a, false)
	told := s.Begin()
	for len(told) > 0 {
		var next session.Command
		for _, e := range told {
			switch e := e.Event.(type) {
			case session.Step:
				next = session.Skip{}
				if e.N == n {
					next = session.Start{}
				}
			case session.Question:
				text, err := json.Marshal(e.Right[0])
				require.NoError(t, err)
				next = session.ReadCommand([]byte(`{"after_s":2,"answer":` + string(text) + `}`))
			case session.Pass:
				if e.Clean == nil {
					next = session.Clean{Clean: true}
				}
			case session.Fault:
				t.Fatal(e.Says)
			}
		}
		if next == nil {
			return
		}
		told = s.Do(next)
	}
}

// A task that is begun from its lesson's page is a step of the day from then on; its
// tick is kept, and the lesson that comes next goes by it.
func TestATaskOfALessonIsTaken(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.db")
	c := clockAt(t, time.Date(2026, 12, 1, 18, 0, 0, 0, time.UTC))
	d, k := standing(t, path, c)
	a, err := d.Agenda(session.Day{})
	require.NoError(t, err)
	before := len(a.Plan().Steps)
	name, last := "what-a-degree-is", len(d.Lesson("what-a-degree-is").Tasks)
	for task := 1; task <= last; task++ {
		for try := 0; !a.Met(name, task); try++ {
			require.Less(t, try, 4, "task %d is not met", task)
			n, err := a.Take(name, task)
			require.NoError(t, err)
			practise(t, d, a, n)
		}
	}
	assert.LessOrEqual(t, len(a.Plan().Steps), before+last, "a task is one step, however often it is taken up")
	_, err = a.Take(name, last+1)
	require.Error(t, err)

	// One that is left at once is no step of the day.
	before = len(a.Plan().Steps)
	n, err := a.Take("roots-on-two-strings", 1)
	require.NoError(t, err)
	s, asks, err := a.Questions(n, false)
	require.NoError(t, err)
	require.True(t, asks)
	s.Begin()
	s.Do(session.Leave{})
	for _, step := range a.Plan().Steps {
		assert.False(t, step.N == n && step.Own, "the day keeps %+v", step)
	}
	assert.LessOrEqual(t, len(a.Plan().Steps), before)
	_, err = a.Take("no-such-lesson", 1)
	require.Error(t, err)
	require.NoError(t, k.Close())

	d, k = standing(t, path, clockAt(t, time.Date(2026, 12, 2, 18, 0, 0, 0, time.UTC)))
	defer k.Close()
	plan, err := d.Today(session.Day{})
	require.NoError(t, err)
	for task := 1; task <= last; task++ {
		assert.True(t, plan.Course.Has(name, task))
	}
	steps := stepsOf(plan, today.Lesson)
	require.Len(t, steps, 1)
	assert.Equal(t, d.Lessons()[1].Name, steps[0].Lesson)
}

// Plans of the time in which lessons were counted say as much as those that name them.
func TestACourseThatWasCountedIsNamed(t *testing.T) {
	c := clockAt(t, time.Date(2026, 12, 1, 18, 0, 0, 0, time.UTC))
	d, k := standing(t, filepath.Join(t.TempDir(), "history.db"), c)
	defer k.Close()
	yesterday := memory.DayOf(c.Now()) - 1
	require.NoError(t, k.KeepPlan(t.Context(), history.Plan{Day: yesterday, At: c.Now().AddDate(0, 0, -1),
		Text: json.RawMessage(`{"day":"2026-11-30","minutes":20,"seed":1,"steps":[],"course":{"lesson":2,"task":1}}`)}))
	plan, err := d.Today(session.Day{})
	require.NoError(t, err)
	for _, name := range []string{"what-a-degree-is", "roots-on-two-strings"} {
		for task := range d.Lesson(name).Tasks {
			assert.True(t, plan.Course.Has(name, task+1), "%s %d", name, task+1)
		}
	}
	assert.True(t, plan.Course.Has("the-fifth-next-door", 1))
	assert.False(t, plan.Course.Has("the-fifth-next-door", 2))
	assert.False(t, plan.Course.Has("major-or-minor", 1))
}

// The judge has no grave remark on the lines that lessons bring with them, which the hand
// walks at the tempo their ramps lead to.
func TestTheJudgeAcceptsTheLinesOfLessons(t *testing.T) {
	neck := fretboard.StandardNeck()
	critic := walk.Critic{Range: neck.BassRange(), Hand: session.WalkingHand(neck)}
	d, k := standing(t, filepath.Join(t.TempDir(), "history.db"), clockAt(t, time.Date(2026, 12, 1, 18, 0, 0, 0, time.UTC)))
	defer k.Close()
	own := 0
	for _, l := range d.Lessons() {
		if l.Own == nil {
			continue
		}
		own++
		for _, r := range walk.Criticise(l.Own, critic) {
			assert.False(t, r.Rule.Grave, "%s bar %d beat %d: %s", l.Name, r.At.Bar, r.At.Beat, r.Says)
			if !r.Rule.Good {
				t.Logf("%s bar %d beat %d: %s", l.Name, r.At.Bar, r.At.Beat, r.Says)
			}
		}
	}
	assert.GreaterOrEqual(t, own, 6)
}

// The words that are said on passes after they ended count towards a lesson's task as
// those said at once do, each pass once.
func TestWordsSaidLaterMeetALesson(t *testing.T) {
	d, k := standing(t, filepath.Join(t.TempDir(), "history.db"), clockAt(t, time.Date(2026, 12, 1, 18, 0, 0, 0, time.UTC)))
	defer k.Close()
	a, err := d.Agenda(session.Day{})
	require.NoError(t, err)
	name, task := "a-blues-with-shells", 1
	passage := d.Lesson(name).Tasks[task-1].Passage
	require.Equal(t, 2, passage.Clean)
	n, err := a.Take(name, task)
	require.NoError(t, err)
	pass := func(tempo float64, judged, clean bool) session.Result {
		return session.Result{Tempo: tempo, Judged: judged, Clean: clean, Length: time.Second}
	}
	f := a.Follow(n)
	results := []session.Result{pass(passage.At, false, false)}
	take := func() bool {
		done, err := f.Take(results)
		require.NoError(t, err)
		return done
	}
	assert.False(t, take())
	results[0] = pass(passage.At, true, true)
	assert.False(t, take(), "one of two")
	assert.False(t, take(), "and no more by looking again")
	results = append(results, pass(passage.At-4, true, true), pass(passage.At, true, false), pass(passage.At, false, false))
	assert.False(t, take(), "too slow, not clean, no word yet")
	assert.False(t, a.Met(name, task))
	results[3] = pass(passage.At, true, true)
	assert.True(t, take())
	assert.True(t, a.Met(name, task))
}

// A new player plays basses until shells are taught, then changes in shells; the next tune
// comes when all there is to play of the first is at its tempo.
func TestTunesFollowTheLessons(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.db")
	c := clockAt(t, time.Date(2026, 12, 10, 18, 0, 0, 0, time.UTC))
	d, k := standing(t, path, c)
	defer k.Close()
	sitting, err := k.Begin(t.Context(), history.Sitting{Began: c.Now().AddDate(0, 0, -2), Drill: "play", Tune: d.Tunes[0].Name})
	require.NoError(t, err)
	for i, section := range d.Tunes[0].Tune.Sections {
		tempo := d.Tunes[0].Tune.Tempo
		_, err := k.AppendTake(t.Context(), history.Take{Sitting: sitting.ID, At: c.Now().AddDate(0, 0, -2).Add(time.Duration(i) * time.Minute), Tempo: tempo, Length: time.Minute,
			Judged: true, Clean: true, Ramp: fmt.Sprintf("%g:%g+4 at %g pass 9 run 1", tempo-20, tempo, tempo),
			Item: memory.Item{Kind: memory.Passage, Tune: d.Tunes[0].Name, Section: section.Name, Layer: "bass"}})
		require.NoError(t, err)
	}
	taught := func(lessons int) (played []string) {
		course := today.Course{}
		for _, l := range d.Lessons()[:lessons] {
			for task := range l.Tasks {
				course = course.With(l.Name, task+1)
			}
		}
		text, err := today.Plan{Day: (memory.DayOf(c.Now()) - 1).String(), Steps: []today.Step{}, Course: course}.Written()
		require.NoError(t, err)
		require.NoError(t, k.KeepPlan(t.Context(), history.Plan{Day: memory.DayOf(c.Now()) - 1, At: c.Now(), Text: text}))
		seed := uint64(lessons)
		plan, err := d.Today(session.Day{Seed: &seed, Minutes: 60})
		require.NoError(t, err)
		for _, s := range stepsOf(plan, today.Passage) {
			if s.Task == nil {
				played = append(played, s.Tune+" "+s.Layer+" "+s.School)
			}
		}
		return played
	}
	first, second := d.Tunes[0].Name, d.Tunes[1].Name
	played := taught(5)
	assert.Contains(t, played, second+" bass ")
	for _, p := range played {
		assert.Contains(t, p, " bass ", "no shapes before they are taught")
	}
	played = taught(6)
	assert.Contains(t, played, first+" bass+changes shells")
	assert.NotContains(t, strings.Join(played, ","), second, "the first has more to play now")
	assert.Contains(t, taught(17), first+" bass+changes ", "and any shapes once four notes are taught")
}
