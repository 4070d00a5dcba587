package content_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/drills"
	"footfall/drills/lesson"
	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/harmony/tune"
)

// taught reads all lessons in their order.
func taught(t *testing.T) (all []*lesson.Lesson) {
	t.Helper()
	for _, name := range content.LessonNames() {
		text, ok := content.LessonText(name)
		require.True(t, ok)
		l, faults := lesson.Read(name, text, content.Tune)
		require.Empty(t, faults, name)
		all = append(all, l)
	}
	return all
}

// music is the tune of a passage or of a drill; nil where the drill has chords alone.
func music(t *testing.T, l *lesson.Lesson, name string) *tune.Tune {
	t.Helper()
	if name == lesson.OwnName(l.Name) {
		return l.Own
	}
	if name == "" {
		return nil
	}
	tn, ok := content.Tune(name)
	require.True(t, ok, name)
	return tn
}

// passages are those of a lesson.
func passages(l *lesson.Lesson) (all []*lesson.Passage) {
	for _, task := range l.Tasks {
		if task.Passage != nil {
			all = append(all, task.Passage)
		}
	}
	return all
}

func TestLessons(t *testing.T) {
	all := taught(t)
	require.GreaterOrEqual(t, len(all), 30)
	titles := map[string]bool{}
	for _, l := range all {
		assert.False(t, titles[l.Title], "%s: a second %q", l.Name, l.Title)
		titles[l.Title] = true
		assert.GreaterOrEqual(t, len(l.Text), 3, l.Name)
		assert.True(t, strings.HasPrefix(l.Text[0], "At the end of this lesson "), "%s: the first sentence says what the player will be able to do", l.Name)
		for _, task := range l.Tasks {
			if task.Drill != nil {
				n := questions(t, l, *task.Drill)
				assert.GreaterOrEqual(t, n, 2, "%s: %s asks too little", l.Name, task.Says())
				if task.Drill.Kind != memory.Line {
					// A thing is asked six times at most in a step of a day.
					assert.GreaterOrEqual(t, 3*n, task.Drill.Of, "%s: %s: %d things give no %d answers", l.Name, task.Says(), n, task.Drill.Of)
				}
			}
		}
	}
	assert.Equal(t, "what-a-degree-is", all[0].Name)
	assert.Equal(t, "a-line-of-your-own", all[len(all)-1].Name)
	_, ok := content.LessonText("no such lesson")
	assert.False(t, ok)
	byPlace, ok := content.LessonText("01-what-a-degree-is")
	assert.True(t, ok)
	byName, _ := content.LessonText("what-a-degree-is")
	assert.Equal(t, byName, byPlace)
}

// questions counts what a lesson's drill can ask.
func questions(t *testing.T, l *lesson.Lesson, d lesson.Drill) int {
	t.Helper()
	var m drills.Material
	if tn := music(t, l, d.Tune); tn != nil {
		m = drills.OfTune(d.Tune, tn, fretboard.StandardNeck())
	} else {
		var err error
		m, err = drills.OfSymbols(d.Chords, d.Chords, d.Chords, fretboard.StandardNeck())
		require.NoError(t, err)
	}
	faults, err := lesson.Task{Drill: &d}.Unasked(m)
	require.NoError(t, err)
	assert.Empty(t, faults, "%s: %v", l.Name, d)
	qs, err := d.Questions(m)
	require.NoError(t, err)
	return len(qs)
}

// Every passage has what its lesson promises of it; every lesson that plays promises
// something.
func TestPassagesKeepTheirPromises(t *testing.T) {
	for _, l := range taught(t) {
		promised := len(passages(l)) == 0
		for _, p := range passages(l) {
			broken, err := p.Broken(music(t, l, p.Tune), fretboard.StandardNeck(), fretboard.DefaultHand())
			require.NoError(t, err, "%s: %s", l.Name, p.Title)
			assert.Empty(t, broken, "%s: %s", l.Name, p.Title)
			promised = promised || len(p.Promises) > 0
		}
		assert.True(t, promised, "%s promises nothing of what it plays", l.Name)
	}
}

// Lessons ask only for what was taught before: by what they say they need, and by what
// their passages ask of a player as they are arranged.
func TestLessonsAskWhatWasTaughtBefore(t *testing.T) {
	known := map[string]string{}
	for _, l := range taught(t) {
		for _, need := range l.Needs {
			assert.NotEmpty(t, known[need], "%s needs %q, which no lesson before it teaches", l.Name, need)
		}
		for _, skill := range l.Teaches {
			assert.Empty(t, known[skill], "%s teaches %q, which is taught already", l.Name, skill)
			known[skill] = l.Name
		}
		for _, p := range passages(l) {
			for skill, bar := range asked(t, music(t, l, p.Tune), *p) {
				assert.NotEmpty(t, known[skill], "%s: bar %d of %s asks for %q, which is not taught by then", l.Name, bar, p.Title, skill)
			}
		}
	}
}

// asked is what a passage asks of a player, each with the first bar that does.
func asked(t *testing.T, tn *tune.Tune, p lesson.Passage) map[string]int {
	t.Helper()
	skills := map[string]int{}
	ask := func(skill string, bar int) {
		if skills[skill] == 0 {
			skills[skill] = bar
		}
	}
	layer, school := tune.Bass, fretboard.Mixed
	if p.Layer == memory.FreeLayer {
		ask("free walking", 1)
	} else {
		var err error
		layer, err = tune.ParseLayer(p.Layer)
		require.NoError(t, err)
	}
	if p.School != "" {
		var err error
		school, err = fretboard.ParseSchool(p.School)
		require.NoError(t, err)
	}
	a, err := fretboard.Arrange(tn, fretboard.StandardNeck(), fretboard.DefaultHand(), layer, fretboard.InSchool(school))
	require.NoError(t, err)
	bars := tn.Unroll()
	degrees := map[string]string{"1": "roots", "5": "fifths", "3": "thirds", "b3": "thirds", "7": "sevenths", "b7": "sevenths"}
	for i, e := range a.Events {
		bar := bars[e.At.Bar-1]
		if p.Section != "" && bar.Section != p.Section {
			continue
		}
		chord := e.Chord.Quality().Name()
		if chord == "m7b5" {
			ask("half-diminished", bar.SectionBar)
		}
		if strings.HasPrefix(chord, "dim") && e.Kind == fretboard.ShapeEvent {
			ask("diminished", bar.SectionBar)
		}
		if e.Chord.Bass != e.Chord.Root {
			ask("slash chords", bar.SectionBar)
		}
		switch m := bar.Meter; {
		case m.Upper == 5 || m.Upper == 7:
			ask("fives and sevens", bar.SectionBar)
		case m.Upper%3 == 0:
			ask("threes", bar.SectionBar)
		}
		if e.Kind != fretboard.ShapeEvent {
			if p.Layer == memory.FreeLayer {
				continue
			}
			skill, plain := degrees[e.Degree.String()]
			if !plain {
				skill = "passing notes"
			}
			ask(skill, bar.SectionBar)
			if i > 0 && e.Halves == 2 && skill != "roots" && skill != "fifths" && e.Chord.Identity() == a.Events[i-1].Chord.Identity() {
				ask("walking", bar.SectionBar)
			}
			if e.At.Off && tn.Swing.Straight() {
				ask("straight eighths", bar.SectionBar)
			}
			continue
		}
		switch school {
		case fretboard.Shells:
			ask("shells", bar.SectionBar)
		case fretboard.Drop2s:
			ask("drop two", bar.SectionBar)
		case fretboard.Drop3s:
			ask("drop three", bar.SectionBar)
		default:
			ask("four-note shapes", bar.SectionBar)
		}
		switch e.Hit {
		case tune.HitPush:
			ask("pushes", bar.SectionBar)
		case tune.HitAnd, tune.HitBoth:
			ask("offbeats", bar.SectionBar)
		}
		if e.Hit != tune.HitOn && tn.Swing.Straight() {
			ask("straight eighths", bar.SectionBar)
		}
		if len(bar.Bar.Chords) == 1 && e.At.Beat > 1 && e.Hit == tune.HitOn {
			ask("two hits a bar", bar.SectionBar)
			if layer == tune.BassHalves && e.Degree.Number != 1 && e.Degree.Number != 5 {
				ask("mid-bar shapes", bar.SectionBar)
			}
		}
	}
	return skills
}

// The lines that lessons bring with them stay on the two strings from open to fret 15,
// and are written in the canonical text.
func TestOwnTunesOfLessons(t *testing.T) {
	brought := 0
	for _, l := range taught(t) {
		if l.Own == nil {
			continue
		}
		brought++
		_, there := content.Tune(lesson.OwnName(l.Name))
		assert.False(t, there)
		text, _ := content.LessonText(l.Name)
		_, own, _ := strings.Cut(text, "[tune]\n")
		assert.Equal(t, tune.Write(l.Own), own, "%s: its tune is not in canonical form", l.Name)
		_, faults := tune.Check(own, tune.Within(40, 60))
		assert.Empty(t, faults, l.Name)
	}
	assert.GreaterOrEqual(t, brought, 6)
}

// Every built-in tune stands in a lesson.
func TestEveryTuneStandsInALesson(t *testing.T) {
	var named []string
	for _, l := range taught(t) {
		for _, task := range l.Tasks {
			if task.Drill != nil {
				named = append(named, task.Drill.Tune)
			} else {
				named = append(named, task.Passage.Tune)
			}
		}
	}
	for _, name := range content.TuneNames() {
		assert.True(t, slices.Contains(named, name), name)
	}
}
