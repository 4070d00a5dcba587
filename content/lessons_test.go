package content_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/drills"
	"footfall/drills/lesson"
	"footfall/fretboard"
)

func TestLessons(t *testing.T) {
	names := content.LessonNames()
	require.GreaterOrEqual(t, len(names), 12)
	titles := map[string]bool{}
	for _, name := range names {
		text, ok := content.LessonText(name)
		require.True(t, ok)
		l, faults := lesson.Read(name, text, content.Tune)
		require.Empty(t, faults, name)
		assert.False(t, titles[l.Title], "%s: a second %q", name, l.Title)
		titles[l.Title] = true
		assert.GreaterOrEqual(t, len(l.Text), 3, name)
		for _, task := range l.Tasks {
			if task.Drill != nil {
				assert.NotZero(t, questions(t, *task.Drill), "%s: %+v asks nothing", name, *task.Drill)
			}
		}
	}
	assert.True(t, titles["What a degree is"])
	_, ok := content.LessonText("no such lesson")
	assert.False(t, ok)
}

// questions counts what a lesson's drill can ask.
func questions(t *testing.T, d lesson.Drill) int {
	t.Helper()
	var m drills.Material
	if d.Tune != "" {
		tn, ok := content.Tune(d.Tune)
		require.True(t, ok)
		m = drills.OfTune(d.Tune, tn, fretboard.StandardNeck())
	} else {
		var err error
		m, err = drills.OfSymbols(d.Chords, d.Chords, d.Chords, fretboard.StandardNeck())
		require.NoError(t, err)
	}
	qs, err := d.Questions(m)
	require.NoError(t, err)
	return len(qs)
}
