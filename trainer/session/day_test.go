package session_test

import (
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/drills/lesson"
	"footfall/drills/memory"
	"footfall/drills/ramp"
	"footfall/drills/today"
	"footfall/trainer/history"
	"footfall/trainer/session"
)

func stepsOf(p today.Plan, kind today.Kind) []today.Step {
	return slices.DeleteFunc(slices.Clone(p.Steps), func(s today.Step) bool { return s.Kind != kind })
}

// Three days of one player: what was practised on one comes back on the next.
func TestDaysFollowEachOther(t *testing.T) {
	c := woundTo(time.Date(2026, 3, 1, 18, 0, 0, 0, time.UTC))
	d, k := desk(t, filepath.Join(t.TempDir(), "history.db"), c)
	defer k.Close()
	plan, err := d.Today(session.Day{Tune: "tin-kettle-blues"})
	require.NoError(t, err)
	require.Equal(t, today.Level, plan.Steps[0].Kind)
	asked := map[memory.Item]bool{}
	for _, s := range plan.Steps {
		choice, isDrill, err := d.StepChoice(s)
		require.NoError(t, err)
		if !isDrill {
			continue
		}
		choice.Drill, choice.Questions = "find", 12
		choice.Only = nil
		for _, a := range sit(t, d, c, choice) {
			asked[a.Item] = true
		}
	}
	passage := stepsOf(plan, today.Passage)[0]
	progress, err := ramp.ParseProgress(passage.Ramp)
	require.NoError(t, err)
	begun, err := k.Begin(t.Context(), history.Sitting{Tune: passage.Tune})
	require.NoError(t, err)
	_, err = k.AppendTake(t.Context(), history.Take{
		Sitting: begun.ID, Item: memory.Item{Kind: memory.Passage, Tune: passage.Tune, Section: passage.Section, Layer: passage.Layer},
		Tempo: progress.Tempo, Clean: true, Ramp: progress.After(true).String(), Expected: 4, Matched: 4,
	})
	require.NoError(t, err)

	c.set(c.now().AddDate(0, 0, 9))
	plan, err = d.Today(session.Day{})
	require.NoError(t, err)
	again, err := d.Today(session.Day{})
	require.NoError(t, err)
	assert.Equal(t, plan, again)
	warm := stepsOf(plan, today.Due)
	require.Len(t, warm, 1, "%+v", plan)
	for _, it := range warm[0].Items {
		assert.True(t, asked[it], "%s is due since it was asked", it.Text())
	}
	var left []string
	for _, s := range stepsOf(plan, today.Passage) {
		left = append(left, s.Ramp)
	}
	assert.Contains(t, left, progress.After(true).String(), "the ramp goes on where it was left, of the tune in work")

	choice, isDrill, err := d.StepChoice(warm[0])
	require.NoError(t, err)
	require.True(t, isDrill)
	var seen []memory.Item
	for _, a := range sit(t, d, c, choice) {
		assert.Contains(t, warm[0].Items, a.Item)
		seen = append(seen, a.Item)
	}
	for _, it := range warm[0].Items {
		assert.Contains(t, seen, it, "all that is due is asked")
	}
	again, err = d.Today(session.Day{})
	require.NoError(t, err)
	assert.Equal(t, plan, again, "the plan stands all day")
	plan, err = d.Today(session.Day{Minutes: plan.Minutes + 1})
	require.NoError(t, err)
	assert.Empty(t, stepsOf(plan, today.Due), "and nothing is due again on the same day")
}

func TestLessonsCanBeTaken(t *testing.T) {
	c := woundTo(time.Date(2026, 3, 1, 18, 0, 0, 0, time.UTC))
	d, k := desk(t, filepath.Join(t.TempDir(), "history.db"), c)
	defer k.Close()
	for _, name := range content.LessonNames() {
		text, _ := content.LessonText(name)
		l, faults := lesson.Read(name, text, content.Tune)
		require.Empty(t, faults)
		plan, err := d.Today(session.Day{Lesson: l, Minutes: 30})
		require.NoError(t, err)
		for _, s := range plan.Steps {
			choice, isDrill, err := d.StepChoice(s)
			require.NoError(t, err)
			if isDrill {
				_, err := d.Begin(choice)
				require.NoError(t, err, "%s: %s", name, s.Text)
			}
		}
	}
}

// A built-in lesson that is asked for becomes the day's own plan: what was done stays
// before it, and it stands there after a restart without being asked for again.
func TestALessonAskedForBelongsToTheDay(t *testing.T) {
	c := woundTo(time.Date(2026, 3, 1, 18, 0, 0, 0, time.UTC))
	path := filepath.Join(t.TempDir(), "history.db")
	d, k := desk(t, path, c)
	a, err := d.Agenda(session.Day{})
	require.NoError(t, err)
	first := a.Plan().Numbered()[0]
	_, err = a.Ended(first.N, true)
	require.NoError(t, err)
	name := content.LessonNames()[2]
	l := d.Lesson(name)
	require.NotNil(t, l)
	ask := session.Day{Lesson: l}
	taken, err := d.Today(ask)
	require.NoError(t, err)
	assert.Equal(t, first.Text, taken.Steps[0].Text)
	assert.True(t, taken.Steps[0].Done)
	tasks := 0
	for _, s := range taken.Steps {
		if s.Lesson == name {
			tasks++
			assert.NotNil(t, s.Task)
		}
	}
	assert.Equal(t, len(l.Tasks), tasks)
	assert.LessOrEqual(t, taken.Total(), taken.Minutes)
	k.Close()

	d, k = desk(t, path, c)
	defer k.Close()
	for _, ask := range []session.Day{{}, ask} {
		again, err := d.Today(ask)
		require.NoError(t, err)
		assert.Equal(t, taken, again)
	}
	own := *l
	own.Name = "a-teachers"
	beside, err := d.Today(session.Day{Lesson: &own})
	require.NoError(t, err)
	assert.NotEqual(t, taken.Steps, beside.Steps, "a teacher's lesson is laid beside the day")
	again, err := d.Today(session.Day{})
	require.NoError(t, err)
	assert.Equal(t, taken, again)
}

func TestReviewOfTheDesk(t *testing.T) {
	c := woundTo(time.Date(2026, 3, 1, 18, 0, 0, 0, time.UTC))
	d, k := desk(t, filepath.Join(t.TempDir(), "history.db"), c)
	defer k.Close()
	answers := sit(t, d, c, session.Choice{Drill: "find", Chords: "first"})
	v, err := d.Review(0)
	require.NoError(t, err)
	assert.Equal(t, len(answers), v.Asked)
	require.Len(t, v.Days, 1)
	assert.Equal(t, "2026-03-01", v.Days[0].Span)
	v, err = d.Review(memory.DayOf(c.now()) + 1)
	require.NoError(t, err)
	assert.Zero(t, v.Asked)
}
