package tunebook

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const (
	oldTune = "tune Old\nkey C\nmeter 4/4\ntempo 100\n[A]\nchords | C | F |\nhits | on . . . | % |\n"
	newTune = "tune   Old\nkey    C\nmeter  4/4\ntempo  100\nswing  1:1\n\n[A]\nchords | C        | F |\nhits   | on * * * | % |\n"
	noHits  = "tune Plain\nkey C\nmeter 4/4\ntempo 100\n[A]\nchords | C |\n"
	broken  = "tune Broken\n[A]\nchords | H |\nhits | . on . . |\n"
)

// Tunes and drafts of the first build are rewritten once, with a copy; what has no
// hits and what is no tune yet is left as it looks, and nothing is done twice.
func TestOldTunesAreConvertedOnce(t *testing.T) {
	dir := t.TempDir()
	write := func(text string, path ...string) {
		name := filepath.Join(append([]string{dir}, path...)...)
		require.NoError(t, os.MkdirAll(filepath.Dir(name), 0o700))
		require.NoError(t, os.WriteFile(name, []byte(text), 0o600))
	}
	text := func(path ...string) string {
		data, err := os.ReadFile(filepath.Join(append([]string{dir}, path...)...))
		require.NoError(t, err)
		return string(data)
	}
	write(oldTune, "tunes", "old.tune")
	write(noHits, "tunes", "plain.tune")
	write(broken, "tunes", "broken.tune")
	write(oldTune, "tunes", "notes.txt")
	write(oldTune, "drafts", "old-1.tune")
	// What broke off in the middle goes on: one has its copy and was rewritten, the
	// other not yet.
	write(oldTune, "tunes", "first-build", "done.tune")
	write("tune Done", "tunes", "done.tune")
	write(oldTune, "tunes", "first-build", "half.tune")
	write(oldTune, "tunes", "half.tune")

	book := In(dir)
	n, kept, err := book.Convert()
	require.NoError(t, err)
	assert.Equal(t, 4, n)
	assert.Equal(t, []string{filepath.Join(dir, "tunes", "first-build"), filepath.Join(dir, "drafts", "first-build")}, kept)
	assert.Equal(t, newTune, text("tunes", "old.tune"))
	assert.Equal(t, oldTune, text("tunes", "first-build", "old.tune"))
	assert.Equal(t, newTune, text("tunes", "half.tune"))
	assert.Equal(t, "tune Done", text("tunes", "done.tune"))
	assert.Equal(t, noHits, text("tunes", "plain.tune"))
	assert.Equal(t, "tune Broken\n[A]\nchords | H |\nhits | * on * * |\n", text("tunes", "broken.tune"))
	assert.Equal(t, oldTune, text("tunes", "notes.txt"))
	assert.Equal(t, newTune, text("drafts", "old-1.tune"))

	write(oldTune, "tunes", "later.tune") // written today, its . rests
	n, _, err = book.Convert()
	require.NoError(t, err)
	assert.Zero(t, n)
	assert.Equal(t, oldTune, text("tunes", "later.tune"))
	own, _ := book.Tunes()
	assert.Len(t, own, 4, "the copies are no tunes of the book")
}

// Without a data folder nothing is made; in a new one whatever is saved is of today.
func TestABookThatIsNewIsNotConverted(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "data")
	book := In(dir)
	n, _, err := book.Convert()
	require.NoError(t, err)
	assert.Zero(t, n)
	assert.NoDirExists(t, dir)
	require.NoError(t, os.Mkdir(dir, 0o700))
	n, _, err = book.Convert()
	require.NoError(t, err)
	assert.Zero(t, n)
	f, err := Read(book.Path("mine"))
	require.NoError(t, err)
	require.NoError(t, f.Replace(oldTune))
	require.NoError(t, book.Draft(book.Path("mine")).Keep(1, oldTune))
	n, _, err = In(dir).Convert()
	require.NoError(t, err)
	assert.Zero(t, n)
	assert.Equal(t, oldTune, f.Text())
}

// A tune that is saved before anything else is there rests where it says so for good.
func TestTheFirstTuneSavedIsOfToday(t *testing.T) {
	book := In(filepath.Join(t.TempDir(), "not", "there", "yet"))
	require.NoError(t, book.Begin())
	f, err := Read(book.Path("old"))
	require.NoError(t, err)
	require.NoError(t, f.Replace(oldTune))
	require.NoError(t, book.Begin())
	n, _, err := book.Convert()
	require.NoError(t, err)
	assert.Zero(t, n)
	f, err = Read(book.Path("old"))
	require.NoError(t, err)
	assert.Equal(t, oldTune, f.Text())
}

func TestATuneThatCannotBeConvertedIsTriedAgain(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.MkdirAll(filepath.Join(dir, "tunes", "huge.tune"), 0o700))
	path := filepath.Join(dir, "tunes", "long.tune")
	require.NoError(t, os.WriteFile(path, make([]byte, maxBytes+1), 0o600))
	_, _, err := In(dir).Convert()
	require.ErrorContains(t, err, "is longer than")
	require.NoError(t, os.WriteFile(path, []byte(oldTune), 0o600))
	n, _, err := In(dir).Convert()
	require.NoError(t, err)
	assert.Equal(t, 1, n)
}
