package tunebook

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A lesson is kept under its file's name; a later version takes its place, and another lesson
// of the same file name gets a number.
func TestLessonsOfTheBook(t *testing.T) {
	b := In(filepath.Join(t.TempDir(), "not", "there"))
	own, errs := b.Lessons()
	assert.Empty(t, own)
	assert.Empty(t, errs)
	sameTitle := func(title string) func(string) bool {
		return func(kept string) bool { return strings.HasPrefix(kept, title) }
	}
	for _, c := range []struct{ title, text, as string }{
		{"thirds", "thirds, one", "week"}, {"thirds", "thirds, two", "week"}, {"fifths", "fifths, one", "week-2"},
		{"fifths", "fifths, one", "week-2"}, {"thirds", "thirds, three", "week"}, {"fifths", "fifths, two", "week-2"}, {"roots", "roots", "week-3"},
	} {
		as, err := b.KeepLesson("week", c.text, sameTitle(c.title))
		require.NoError(t, err)
		assert.Equal(t, c.as, as, c.text)
	}
	require.NoError(t, os.WriteFile(filepath.Join(b.LessonFolder(), "notes.txt"), []byte("x"), 0o600))
	require.NoError(t, os.Mkdir(filepath.Join(b.LessonFolder(), "folder.lesson"), 0o700))
	own, errs = b.Lessons()
	assert.Empty(t, errs)
	require.Len(t, own, 3)
	assert.Equal(t, []string{"week", "thirds, three"}, []string{own[0].Name, own[0].Text})
	assert.Equal(t, []string{"week-2", "fifths, two"}, []string{own[1].Name, own[1].Text})
	as, err := Book{}.KeepLesson("week", "x", nil)
	require.NoError(t, err)
	assert.Equal(t, "week", as)
	own, errs = Book{}.Lessons()
	assert.Empty(t, own)
	assert.Empty(t, errs)
}
