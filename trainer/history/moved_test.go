package history_test

import (
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/history"
)

// A history that is deleted, or in whose place something else is put, while the
// program runs is noticed at the next answer. What was there comes back where it was
// deleted; what was done since the start goes into what is there now.
func TestHistoryIsFollowed(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("Windows does not let an open file go")
	}
	copied := func(t *testing.T, from, to string) {
		text, err := os.ReadFile(from)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(to, text, 0o600))
	}
	for _, c := range []struct {
		name   string
		do     func(t *testing.T, path, other, older string)
		says   string
		before int // of the answers before the program started, or of the other file
	}{
		{"deleted", func(t *testing.T, path, _, _ string) { require.NoError(t, os.Remove(path)) }, "was deleted", 20},
		{"deleted with all beside it", func(t *testing.T, path, _, _ string) {
			for _, end := range []string{"", "-wal", "-shm"} {
				require.NoError(t, os.Remove(path+end))
			}
		}, "was deleted", 20},
		{"deleted with its folder", func(t *testing.T, path, _, _ string) { require.NoError(t, os.RemoveAll(filepath.Dir(path))) }, "was deleted", 20},
		{"moved away", func(t *testing.T, path, _, _ string) {
			require.NoError(t, os.Rename(path, path+".elsewhere"))
			t.Cleanup(func() { assert.Len(t, allAnswers(t, open(t, path+".elsewhere")), 25) })
		}, "was deleted", 20},
		{"another history moved there", func(t *testing.T, path, other, _ string) { require.NoError(t, os.Rename(other, path)) }, "Another file", 7},
		{"another history copied over it", func(t *testing.T, path, other, _ string) { copied(t, other, path) }, "Another file", 7},
		{"a backup of its own copied over it", func(t *testing.T, path, _, older string) { copied(t, older, path) }, "Another file", 10},
		{"its log deleted", func(t *testing.T, path, _, _ string) { require.NoError(t, os.Remove(path+"-wal")) }, "Another file", 20},
		{"text copied over it", func(t *testing.T, path, _, _ string) {
			require.NoError(t, os.WriteFile(path, []byte("shopping: strings, picks"), 0o600))
		}, "was damaged", 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			path, other, older := place(t), filepath.Join(t.TempDir(), "other.db"), filepath.Join(t.TempDir(), "older.db")
			s := open(t, other)
			newPlayer(9).play(t, s, 7)
			require.NoError(t, s.Close())
			s = open(t, path)
			p := newPlayer(1)
			p.play(t, s, 10)
			require.NoError(t, s.Backup(ctx, older))
			p.play(t, s, 10)
			require.NoError(t, s.Close())

			k := keep(t, path, &clock{now: start})
			p = newPlayer(2)
			sit(t, k, p, 5, history.Unknown)
			require.Empty(t, k.Notice())
			c.do(t, path, other, older)
			sit(t, k, p, 1, history.Unknown)
			assert.Contains(t, k.Notice(), c.says)
			sit(t, k, p, 2, history.Unknown)
			assert.Empty(t, k.Notice())
			require.NoError(t, k.Close())
			wantKept(t, path, c.before+8)
		})
	}
}

// What goes into the file that lies there now is whole: it is what was kept before.
func TestWhatGoesIntoAnotherFileIsWhole(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("Windows does not let an open file go")
	}
	path := place(t)
	k, p := keep(t, path, &clock{now: start}), newPlayer(3)
	var kept []history.Answer
	for range 3 {
		begun, err := k.Begin(ctx, history.Sitting{Began: p.at})
		require.NoError(t, err)
		for range 40 {
			a := p.answer()
			a.Sitting = begun.ID
			a, err = k.Append(ctx, a)
			require.NoError(t, err)
			kept = append(kept, a)
		}
	}
	require.NoError(t, k.Withdraw(ctx, kept[len(kept)-1]))
	kept = kept[:len(kept)-1]
	other := place(t)
	require.NoError(t, open(t, other).Close())
	require.NoError(t, os.Rename(other, path))
	p.sitting = kept[0].Sitting
	sit(t, k, p, 1, history.Unknown)
	require.NoError(t, k.Close())
	now := allAnswers(t, open(t, path))
	require.Len(t, now, len(kept)+1)
	for i, a := range kept {
		assert.True(t, a.At.Equal(now[i].At) && a.At.Format(time.RFC3339) == now[i].At.Format(time.RFC3339), "%v is %v", a.At, now[i].At)
		a.At = now[i].At
		assert.Equal(t, a, now[i])
	}
}

// Where the new place cannot be written to, this program's answers are kept.
func TestAForeignFileInItsPlaceIsLeftAlone(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	path := place(t)
	k := keep(t, path, &clock{now: start})
	p := newPlayer(2)
	sit(t, k, p, 5, history.Unknown)
	other := place(t)
	leaveOpen(t, other, "DELETE", "CREATE TABLE notes (text)")
	require.NoError(t, os.Rename(other, path))
	before, err := os.ReadFile(path)
	require.NoError(t, err)
	sit(t, k, p, 2, history.Foreign)
	assert.Contains(t, k.Notice(), "left as it is")
	require.ErrorContains(t, k.Close(), "7 answers could not be written, but lie in")
	after, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, before, after)
}

// Other programs that write to the same history are not taken for a change of file.
func TestOtherProgramsAreNoChange(t *testing.T) {
	path := place(t)
	k := keep(t, path, &clock{now: start})
	p := newPlayer(2)
	sit(t, k, p, 3, history.Unknown)
	other := open(t, path)
	newPlayer(5).play(t, other, 50)
	spoil(t, path, "PRAGMA wal_checkpoint(TRUNCATE)")
	sit(t, k, p, 3, history.Unknown)
	fill(t, other, 6, 3000)
	require.NoError(t, other.Close())
	sit(t, k, p, 3, history.Unknown)
	assert.Empty(t, k.Notice())
	require.NoError(t, k.Close())
	wantKept(t, path, 3059)
}
