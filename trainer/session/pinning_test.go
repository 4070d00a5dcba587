package session_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/harmony/tune"
	"footfall/trainer/session"
	"footfall/trainer/tunebook"
)

// A shape that is pinned on a tune that comes with the program makes a file among the
// player's own, and undoing it takes the file away again, unless it was changed since.
func TestPinningOnABuiltInTune(t *testing.T) {
	built, ok := content.Tune("lantern-street")
	require.True(t, ok)
	d := &session.Desk{Tunes: []session.Tune{{Name: "lantern-street", Tune: built}}}
	book := tunebook.In(t.TempDir())
	path := book.Path("lantern-street")
	row := func() []tune.ShapeToken {
		now, err := d.Tune("lantern-street")
		require.NoError(t, err)
		return now.Tune.Sections[0].Bars[0].Shapes
	}
	p, err := d.Pin(book, "lantern-street", "A", 1, 1, "x-1-3-2-3-x")
	require.NoError(t, err)
	assert.Equal(t, []int{-1, 1, 3, 2, 3, -1}, row()[0].Frets)
	require.FileExists(t, path)
	second, err := d.Pin(book, "lantern-street", "A", 1, 3, "3-x-3-4-3-x")
	require.NoError(t, err)
	assert.ErrorContains(t, p.Undo(), "changed since", "the last one comes first")
	require.NoError(t, second.Undo())
	require.NoError(t, p.Undo())
	assert.NoFileExists(t, path)
	assert.Nil(t, row())

	for _, c := range []struct {
		section   string
		bar, beat int
		frets     string
		says      string
	}{
		{"Z", 1, 1, "x-1-3-2-3-x", "no section Z"},
		{"A", 1, 1, "x-1-3", ""},
		{"A", 1, 2, "x-1-3-2-3-x", ""}, // that beat rests
	} {
		_, err := d.Pin(book, "lantern-street", c.section, c.bar, c.beat, c.frets)
		assert.ErrorContains(t, err, c.says)
		assert.NoFileExists(t, path)
	}
	_, err = d.Pin(tunebook.Book{}, "lantern-street", "A", 1, 1, "x-1-3-2-3-x")
	assert.ErrorContains(t, err, "no folder")

	require.NoError(t, book.Draft(path).Keep(1, tune.Write(built)+"\n# work\n"))
	_, err = d.Pin(book, "lantern-street", "A", 1, 1, "x-1-3-2-3-x")
	assert.ErrorContains(t, err, "not saved yet")
	assert.NoFileExists(t, path)
	require.NoError(t, book.Draft(path).Keep(2, tune.Write(built)))
	_, err = d.Pin(book, "lantern-street", "A", 1, 1, "x-1-3-2-3-x")
	assert.NoError(t, err, "a draft that says the same is no work")
}
