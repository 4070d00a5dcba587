package gate

import (
	"bufio"
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/iotest"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/guard"
)

// text is some hundred kilobytes that differ everywhere.
func text(n int) []byte {
	b := make([]byte, n)
	for i := range b {
		b[i] = byte(i ^ i>>8 ^ i>>16)
	}
	return b
}

func file(t *testing.T, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(path, data, 0o600))
	return path
}

func TestAFileIsReadWhole(t *testing.T) {
	for _, n := range []int{0, 1, 511, pieceSize - 1, pieceSize, pieceSize + 1, 3*pieceSize + 17} {
		data := text(n)
		f, err := Open(file(t, data))
		require.NoError(t, err)
		begins, err := f.Peek(512)
		require.NoError(t, err)
		assert.Equal(t, data[:min(n, 512)], begins)
		got, err := f.All(1 << 20)
		require.NoError(t, err)
		assert.True(t, bytes.Equal(data, got), "%d bytes", n)
		require.NoError(t, f.Close())

		got, err = From("standard input", iotest.HalfReader(bytes.NewReader(data))).All(1 << 20)
		require.NoError(t, err)
		assert.True(t, bytes.Equal(data, got), "a stream of %d bytes", n)

		f, err = Open(file(t, data))
		require.NoError(t, err)
		require.NoError(t, iotest.TestReader(f, data))
		require.NoError(t, f.Close())
	}
}

// What is longer than it may be is refused: a file before it is read, a stream, which
// may have no end, as soon as it shows.
func TestTooLong(t *testing.T) {
	path := file(t, nil)
	require.NoError(t, os.Truncate(path, 1<<40))
	_, err := Read(path, 4<<20)
	require.EqualError(t, err, path+" is longer than 4 MB")
	f, err := Open(path)
	require.NoError(t, err)
	defer f.Close()
	_, err = f.All(1 << 50)
	require.EqualError(t, err, path+" is longer than 64 MB")
	_, err = f.Seekable(1 << 30)
	require.EqualError(t, err, path+" is longer than 1024 MB")
	_, err = From("standard input", endless{}).All(4 << 20)
	require.EqualError(t, err, "standard input is longer than 4 MB")
	_, err = From("standard input", endless{}).All(64 << 10)
	require.EqualError(t, err, "standard input is longer than 64 kB")
	_, err = From("standard input", endless{}).Seekable(10 << 20)
	require.EqualError(t, err, "standard input is longer than 10 MB")
}

type endless struct{}

func (endless) Read(b []byte) (int, error) { return len(b), nil }

// A stream can be read twice, whether it fits in memory or not, and leaves nothing
// behind.
func TestAStreamIsReadTwice(t *testing.T) {
	folder := t.TempDir()
	t.Setenv("TMPDIR", folder)
	for _, n := range []int{0, 100, keptInMemory - 1, keptInMemory, keptInMemory + 100_000} {
		data := text(n)
		in := From("standard input", bytes.NewReader(data))
		_, err := in.Peek(12)
		require.NoError(t, err)
		s, err := in.Seekable(1 << 30)
		require.NoError(t, err)
		for range 2 {
			got, err := io.ReadAll(s)
			require.NoError(t, err)
			assert.True(t, bytes.Equal(data, got), "%d bytes", n)
			_, err = s.Seek(0, io.SeekStart)
			require.NoError(t, err)
		}
		if n > 50 {
			_, err = s.Seek(50, io.SeekStart)
			require.NoError(t, err)
			piece := make([]byte, 10)
			_, err = io.ReadFull(s, piece)
			require.NoError(t, err)
			assert.Equal(t, data[50:60], piece)
			at, err := s.Seek(-5, io.SeekCurrent)
			require.NoError(t, err)
			assert.EqualValues(t, 55, at)
		}
		require.NoError(t, s.Close())
		left, err := os.ReadDir(folder)
		require.NoError(t, err)
		assert.Empty(t, left)
	}
}

func TestWhatIsNoFile(t *testing.T) {
	dir := t.TempDir()
	_, err := Open(dir)
	assert.True(t, Folder(err))
	assert.EqualError(t, err, dir+" is a folder, not a file")
	_, err = Open(filepath.Join(dir, "none"))
	assert.ErrorIs(t, err, os.ErrNotExist)
	assert.False(t, Folder(err))
}

// A disk that does not answer in the midst of a file is given up.
func TestADiskThatStopsAnswering(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		back := make(chan struct{})
		f := &File{path: "on a disk", from: io.MultiReader(strings.NewReader("begins"), stuck(back)), watched: true}
		began := time.Now()
		_, err := f.All(1 << 20)
		require.ErrorIs(t, err, guard.ErrSilent)
		assert.EqualError(t, err, "on a disk does not answer")
		assert.Equal(t, readTime, time.Since(began))
		_, again := f.Read(make([]byte, 1))
		assert.Equal(t, err, again)
		close(back)
		synctest.Wait()
	})
}

type stuck chan struct{}

func (s stuck) Read(b []byte) (int, error) {
	<-s
	return copy(b, "late"), nil
}

// What a program that was killed left is removed by the next; what may be in use is not.
func TestWhatWasLeftIsSwept(t *testing.T) {
	folder := t.TempDir()
	t.Setenv("TMPDIR", folder)
	for name, age := range map[string]time.Duration{temporary + "1": 25 * time.Hour, temporary + "2": time.Hour, "other": 1000 * time.Hour} {
		path := filepath.Join(folder, name)
		require.NoError(t, os.Mkdir(path, 0o700))
		require.NoError(t, os.WriteFile(filepath.Join(path, "history.db"), nil, 0o600))
		at := time.Now().Add(-age)
		require.NoError(t, os.Chtimes(path, at, at))
	}
	path, remove, err := Temporary()
	require.NoError(t, err)
	require.DirExists(t, path)
	remove()
	left, err := os.ReadDir(folder)
	require.NoError(t, err)
	var names []string
	for _, e := range left {
		names = append(names, e.Name())
	}
	assert.Equal(t, []string{temporary + "2", "other"}, names)
}

func TestAnErrorOfAStreamIsTold(t *testing.T) {
	broken := errors.New("broken")
	f := From("standard input", iotest.ErrReader(broken))
	_, err := f.Peek(12)
	assert.ErrorIs(t, err, broken)
	_, err = f.All(1 << 20)
	assert.ErrorIs(t, err, broken)
}

// A line without an end takes no more room than its beginning.
func TestALineWithoutAnEnd(t *testing.T) {
	r := bufio.NewReaderSize(io.MultiReader(strings.NewReader("one\n"), strings.NewReader(strings.Repeat("x", 1<<20)), strings.NewReader("\ntwo")), 16)
	for _, want := range []struct {
		line string
		cut  bool
		err  error
	}{{"one\n", false, nil}, {strings.Repeat("x", 16), true, nil}, {"two", false, io.EOF}} {
		line, cut, err := Line(r)
		assert.Equal(t, want.line, string(line))
		assert.Equal(t, want.cut, cut)
		assert.Equal(t, want.err, err)
	}
}
