package command

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/today"
	"footfall/trainer/clock"
	"footfall/trainer/session"
	"footfall/trainer/settings"
)

// opened is a desk at a moment, and its day.
func opened(t *testing.T, dir string, at time.Time) (*session.Desk, *session.Agenda) {
	t.Helper()
	c, err := clock.Set(at.Format(time.RFC3339), time.UTC)
	require.NoError(t, err)
	d, err := session.Open(session.Options{Data: dir, Settings: settings.Default(), Clock: c, Scripted: true, Tell: func(says string) { t.Error(says) }})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, d.Close()) })
	a, err := d.Agenda(session.Day{})
	require.NoError(t, err)
	return d, a
}

const givenLesson = `lesson  TITLE
goal    Play one bar
[text]
At the end of this lesson you have played a bar.
[practice]
play | tune here | layer bass | ramp 280:300+20 | done 1 clean at 300
has  | bars 1 | bass 1 3 5
[tune]
tune   One Bar
key    C
meter  4/4
tempo  300
swing  2:1

[A]
chords | C          |
bass   | 1 /3 /5 \3 |
`

// A teacher's lesson is there without its file from the day on which it was given, and with
// its ticks; a later version takes its place, another lesson of the same file name does not.
func TestATeachersLessonStays(t *testing.T) {
	dir, out := t.TempDir(), t.TempDir()
	at := time.Date(2026, 12, 1, 18, 0, 0, 0, time.UTC)
	file := filepath.Join(out, "Week 1.lesson")
	give := func(text string, day int) {
		require.NoError(t, os.WriteFile(file, []byte(text), 0o600))
		sitInFor(t, sure, at.AddDate(0, 0, day).Format(time.RFC3339), "today", "--lesson", file, "--events", "--data", dir)
	}
	one := strings.Replace(givenLesson, "TITLE", "One bar", 1)
	give(one, 0)
	require.NoError(t, os.Remove(file))
	d, a := opened(t, dir, at.AddDate(0, 0, 1))
	first := d.Lessons()[0]
	assert.Equal(t, []string{"teacher-week-1", "One bar"}, []string{first.Name, first.Title})
	assert.True(t, a.Met(first.Name, 1))
	tune, err := d.Tune("lesson-teacher-week-1")
	require.NoError(t, err)
	assert.Equal(t, "One Bar", tune.Tune.Title)

	give(strings.Replace(one, "you have played", "you will have played", 1), 2)
	give(strings.Replace(givenLesson, "TITLE", "Another bar", 1), 2)
	d, a = opened(t, dir, at.AddDate(0, 0, 3))
	require.Len(t, d.Taught, 2)
	assert.Contains(t, d.Taught[0].Text[0], "you will have played")
	assert.Equal(t, "Another bar", d.Taught[1].Title)
	assert.True(t, a.Met(d.Taught[0].Name, 1))
	assert.True(t, a.Met(d.Taught[1].Name, 1))
	for _, name := range []string{"teacher-week-1", "week-1"} { // by its name, without a file
		outText, errs, code := runOn(nil, "today", "--lesson", name, "--json", "--data", dir)
		require.Zero(t, code, errs)
		assert.Contains(t, outText, "One bar")
	}
	_, errs, code := runOn(nil, "today", "--lesson", "week-11", "--data", dir)
	assert.Equal(t, 2, code)
	assert.Contains(t, errs, "neither a lesson nor a file")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "lessons", "broken.lesson"), []byte("lesson\n"), 0o600))
	_, errs, code = runOn(nil, "today", "--data", dir)
	assert.Zero(t, code)
	assert.Contains(t, errs, "broken.lesson is no lesson now: ")
}

// What a teacher gave comes into the plan on the next day and says whose it is, its tasks one
// after the other; the program's own lessons go on once all of them are met.
func TestATeachersLessonComesBeforeTheLadder(t *testing.T) {
	dir := t.TempDir()
	at := time.Date(2026, 12, 1, 18, 0, 0, 0, time.UTC)
	day := func(n int) string { return at.AddDate(0, 0, n).Format(time.RFC3339) }
	lessonOf := func(p *player) (name, why string) {
		for _, s := range p.all("plan")[0]["steps"].([]any) {
			if s := s.(map[string]any); s["kind"] == "lesson" {
				return s["lesson"].(string), s["why"].(string)
			}
		}
		return "", ""
	}
	skip := func(e told) string { return `{"skip":true}` }
	name, _ := lessonOf(sitInFor(t, skip, day(0), "today", "--events", "--data", dir))
	assert.Equal(t, "what-a-degree-is", name)
	file := filepath.Join(t.TempDir(), "chalk.lesson")
	text := strings.Replace(givenLesson, "[practice]\n", "[practice]\ndrill | find | chords Dm7 | degrees b3 | done 1 of 2\n", 1)
	require.NoError(t, os.WriteFile(file, []byte(text), 0o600))
	sitInFor(t, skip, day(0), "today", "--lesson", file, "--events", "--data", dir)
	require.NoError(t, os.Remove(file))
	for n := 1; n <= 8; n++ {
		p := sitInFor(t, sure, day(n), "today", "--events", "--data", dir)
		name, why := lessonOf(p)
		if n == 1 {
			require.Equal(t, "teacher-chalk", name)
			assert.Contains(t, why, "from your teacher, task 1 of 2")
		}
		if name != "teacher-chalk" {
			assert.Greater(t, n, 1)
			_, a := opened(t, dir, at.AddDate(0, 0, n))
			assert.True(t, a.Met("teacher-chalk", 1) && a.Met("teacher-chalk", 2))
			return
		}
	}
	t.Error("the ladder did not go on in 8 days")
}

// A lesson is taken by its title too, in any case, and a title that is nearly one is told. One
// with a drill that its chords do not have is told by its lines, and not kept.
func TestLessonsByTheirTitles(t *testing.T) {
	dir := t.TempDir()
	for _, title := range []string{"The two sevenths", "the TWO sevenths", "the-two-sevenths", "05-the-two-sevenths"} {
		out, errs, code := runOn(nil, "today", "--lesson", title, "--json", "--data", dir)
		require.Zero(t, code, errs)
		assert.Contains(t, out, `"lesson":"The two sevenths"`)
	}
	_, errs, code := runOn(nil, "today", "--lesson", "The two seventh", "--data", dir)
	assert.Equal(t, 2, code)
	assert.Contains(t, errs, `did you mean "The two sevenths", which is the-two-sevenths?`)

	file := filepath.Join(t.TempDir(), "chalk.lesson")
	text := strings.Replace(givenLesson, "[practice]\n", "[practice]\ndrill | find | chords Dm7 | degrees 3 | done 1 of 2\n", 1)
	require.NoError(t, os.WriteFile(file, []byte(text), 0o600))
	_, errs, code = runOn(nil, "today", "--lesson", file, "--data", dir)
	assert.Equal(t, 2, code)
	assert.Contains(t, errs, `line 6, column 29: found "3"; want degrees that these chords are asked with: Dm7 1 b3 5 b7`)
	assert.NoFileExists(t, filepath.Join(dir, "lessons", "chalk.lesson"))
}

// What was ticked off on two machines is ticked off on both once each has taken in the
// other's history, on days of their own and on the same day, in whichever order.
func TestTicksOfTwoMachinesAreMerged(t *testing.T) {
	at := func(day int) time.Time { return time.Date(2026, 12, 1+day, 18, 0, 0, 0, time.UTC) }
	for _, days := range [][2]int{{0, 1}, {1, 0}, {0, 0}} {
		var dirs, exports [2]string
		for i, name := range []string{"first", "second"} {
			dirs[i] = t.TempDir()
			file := filepath.Join(t.TempDir(), name+".lesson")
			require.NoError(t, os.WriteFile(file, []byte(strings.Replace(givenLesson, "TITLE", "The "+name, 1)), 0o600))
			sitInFor(t, sure, at(days[i]).Add(time.Duration(i)*time.Minute).Format(time.RFC3339), "today", "--lesson", file, "--events", "--data", dirs[i])
		}
		for i := range dirs {
			text, errs, code := runOn(nil, "log", "export", "--data", dirs[i])
			require.Zero(t, code, errs)
			exports[i] = filepath.Join(t.TempDir(), "history.json")
			require.NoError(t, os.WriteFile(exports[i], []byte(text), 0o600))
		}
		for i := range dirs {
			for range 2 { // the second time it brings nothing
				_, errs, code := runOn(nil, "log", "import", exports[1-i], "--data", dirs[i])
				require.Zero(t, code, errs)
			}
			_, a := opened(t, dirs[i], at(2))
			for _, name := range []string{"first", "second"} {
				assert.True(t, a.Met("teacher-"+name, 1), "days %v, machine %d, the %s", days, i+1, name)
			}
			assert.False(t, a.Met("what-a-degree-is", 1))
		}
	}
}

// Who is right at once in the level check begins where the lessons teach something new, and
// is told; who is not begins with the first. Nothing is lost: the lessons passed over can be
// taken, and their ticks are their own.
func TestTheLevelCheckPassesLessonsOver(t *testing.T) {
	at := time.Date(2026, 12, 1, 18, 0, 0, 0, time.UTC)
	for _, share := range []float64{1, 0} {
		dir := t.TempDir()
		right := learner(1, share)
		level := true
		p := sitInFor(t, func(e told) string {
			switch {
			case e["event"] == "step" && e["kind"] != string(today.Level):
				level = false
				return `{"skip":true}`
			case e["event"] == "step":
				return `{"start":true}`
			case level && share == 1:
				return sure(e)
			}
			return right(e)
		}, at.Format(time.RFC3339), "today", "--events", "--data", dir)
		d, a := opened(t, dir, at.Add(time.Hour))
		names := []string{}
		for _, l := range d.Lessons() {
			if a.Known(l.Name) {
				names = append(names, l.Name)
			}
		}
		var lesson today.Step
		for _, s := range a.Plan().Steps {
			if s.Kind == today.Lesson {
				lesson = s
			}
		}
		if share == 0 {
			assert.Empty(t, names)
			assert.Equal(t, "what-a-degree-is", lesson.Lesson)
			continue
		}
		assert.Equal(t, []string{"what-a-degree-is", "roots-on-two-strings", "the-fifth-next-door", "major-or-minor", "the-two-sevenths"}, names)
		assert.Equal(t, "shells-on-two-strings", lesson.Lesson)
		assert.Contains(t, lesson.Why, "lessons 1 to 5 you know already, and the list of lessons has them")
		for _, e := range p.all("step_end") {
			if e["n"] == 1.0 {
				assert.Contains(t, e["found"], "You know what lessons 1 to 5 teach, so they are passed over; they stand in the list of lessons, if you want one.")
			}
		}
		assert.False(t, a.Met("what-a-degree-is", 1), "passed over is not met")
		n, err := a.Take("what-a-degree-is", 1)
		require.NoError(t, err)
		assert.Positive(t, n)
		_, tomorrow := opened(t, dir, at.AddDate(0, 0, 1))
		for _, s := range tomorrow.Plan().Steps {
			if s.Kind == today.Lesson {
				assert.Equal(t, "shells-on-two-strings", s.Lesson, "and stays so")
			}
		}
	}
}
