package tunebook

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const small = "tune x\nkey C\nmeter 4/4\ntempo 60\n[A]\nchords | C |\n"

func TestTunesOfTheBook(t *testing.T) {
	own, errs := Book{}.Tunes()
	assert.Empty(t, own)
	assert.Empty(t, errs)
	b := In(filepath.Join(t.TempDir(), "not", "there"))
	own, errs = b.Tunes()
	assert.Empty(t, own)
	assert.Empty(t, errs)
	for name, text := range map[string]string{"zoo": small, "aunt": small, "broken": "tune\n"} {
		f, err := Read(b.Path(name))
		require.NoError(t, err)
		require.NoError(t, f.Replace(text))
	}
	own, errs = b.Tunes()
	require.Len(t, own, 2)
	assert.Equal(t, "aunt", own[0].Name)
	assert.Equal(t, b.Path("zoo"), own[1].Path)
	require.Len(t, errs, 1)
	assert.ErrorContains(t, errs[0], "broken.tune is no tune yet: line 1")
}

func TestAFileIsReplacedWholeAndKeepsItsModeAndLinks(t *testing.T) {
	dir := t.TempDir()
	path, link := filepath.Join(dir, "a.tune"), filepath.Join(dir, "link.tune")
	require.NoError(t, os.WriteFile(path, []byte("old"), 0o640))
	require.NoError(t, os.Symlink(path, link))
	f, err := Read(link)
	require.NoError(t, err)
	assert.Equal(t, "old", f.Text())
	require.NoError(t, f.Replace("new"))
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "new", string(data))
	info, err := os.Lstat(link)
	require.NoError(t, err)
	assert.NotZero(t, info.Mode()&os.ModeSymlink)
	info, err = os.Stat(path)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o640), info.Mode())
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, entries, 2, "nothing is left beside it")
}

func TestAFileThatAnotherProgramChangedIsNotReplacedUnasked(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.tune")
	f, err := Read(path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, []byte("theirs"), 0o600))
	require.ErrorIs(t, f.Replace("mine"), ErrChanged)
	data, _ := os.ReadFile(path)
	assert.Equal(t, "theirs", string(data))
	require.NoError(t, f.Replace("mine"))
	require.NoError(t, f.Replace("mine, later"))
}

func TestAFolderThatIsNoneFailsInOneLineAndChangesNothing(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, []byte("x"), 0o600))
	f := &File{path: filepath.Join(file, "a.tune")}
	err := f.Replace("new")
	require.Error(t, err)
	assert.NotContains(t, err.Error(), "\n")
	data, _ := os.ReadFile(file)
	assert.Equal(t, "x", string(data))
}

func TestDrafts(t *testing.T) {
	b := In(t.TempDir())
	d := b.Draft("/somewhere/a.tune")
	_, _, ok, err := d.Found()
	require.NoError(t, err)
	assert.False(t, ok)
	require.NoError(t, d.Keep(2, "two"))
	require.NoError(t, d.Keep(1, "one"))
	text, at, ok, err := b.Draft("/somewhere/a.tune").Found()
	require.NoError(t, err)
	assert.True(t, ok)
	assert.Equal(t, "two", text, "an older version comes too late")
	assert.False(t, at.IsZero())
	_, _, ok, _ = b.Draft("/elsewhere/a.tune").Found()
	assert.False(t, ok, "a tune of the same name in another folder has a draft of its own")
	require.NoError(t, d.Keep(3, ""))
	_, _, ok, _ = d.Found()
	assert.False(t, ok)
	require.NoError(t, Book{}.Draft("x").Keep(1, "x"))
}
