package history_test

import (
	"database/sql"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/history"
)

func keep(t testing.TB, path string, c *clock) *history.Keeper {
	t.Helper()
	k, err := history.Keep(path, c.Now, nil)
	require.NoError(t, err)
	return k
}

// sit begins a sitting and answers, wanting each answer kept or not.
func sit(t testing.TB, k *history.Keeper, p *player, answers int, want history.Trouble) {
	t.Helper()
	if p.sitting == [16]byte{} {
		s, err := k.Begin(ctx, history.Sitting{Began: p.at})
		require.Equal(t, want, history.TroubleOf(err))
		p.sitting = s.ID
	}
	for range answers {
		_, err := k.Append(ctx, p.answer())
		require.Equal(t, want, history.TroubleOf(err), "%v", err)
	}
}

func wantKept(t testing.TB, path string, answers int) {
	t.Helper()
	s := open(t, path)
	assert.Len(t, allAnswers(t, s), answers)
	checked, err := s.Check(ctx)
	require.NoError(t, err)
	assert.Empty(t, checked.Faults)
}

func TestLockedHistory(t *testing.T) {
	t.Parallel()
	path := place(t)
	newPlayer(1).play(t, open(t, path), 5)
	lock, err := sql.Open("sqlite", "file:"+path)
	require.NoError(t, err)
	defer lock.Close()
	lock.SetMaxOpenConns(1)
	_, err = lock.Exec("BEGIN IMMEDIATE")
	require.NoError(t, err)

	c := &clock{now: start}
	k := keep(t, path, c)
	p := newPlayer(2)
	sit(t, k, p, 1, history.Locked)
	assert.Contains(t, k.Notice(), "held by another program")
	sit(t, k, p, 3, history.Locked)
	_, err = lock.Exec("ROLLBACK")
	require.NoError(t, err)
	c.Move(3 * time.Second)
	sit(t, k, p, 1, history.Unknown)
	assert.Contains(t, k.Notice(), "nothing is lost")
	sit(t, k, p, 1, history.Unknown)
	assert.Empty(t, k.Notice())
	require.NoError(t, k.Close())
	wantKept(t, path, 11)
}

func TestFullDiskUntilTheEnd(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("TMPDIR", dir)
	// A file where the folder should be: nothing can ever be written there.
	require.NoError(t, os.WriteFile(filepath.Join(dir, "data"), nil, 0o600))
	path := filepath.Join(dir, "data", history.FileName)
	k, err := history.Keep(path, (&clock{now: start}).Now, nil)
	require.NoError(t, err)
	assert.Contains(t, k.Notice(), "is kept in memory")
	p := newPlayer(1)
	s, err := k.Begin(ctx, history.Sitting{Began: p.at})
	require.Error(t, err)
	p.sitting = s.ID
	for range 7 {
		_, err := k.Append(ctx, p.answer())
		require.Error(t, err)
	}
	err = k.Close()
	require.ErrorContains(t, err, "7 answers could not be written")
	require.ErrorContains(t, err, "footfall log import")

	kept, err := filepath.Glob(filepath.Join(dir, "footfall-kept-*.json"))
	require.NoError(t, err)
	require.Len(t, kept, 1)
	f, err := os.Open(kept[0])
	require.NoError(t, err)
	defer f.Close()
	elsewhere := open(t, place(t))
	merged, err := elsewhere.Import(ctx, f)
	require.NoError(t, err)
	assert.Equal(t, 7, merged.Answers)

	// Another sitting that ends within the same second loses nothing either.
	k, err = history.Keep(path, (&clock{now: start}).Now, nil)
	require.NoError(t, err)
	s, err = k.Begin(ctx, history.Sitting{Began: p.at})
	require.Error(t, err)
	p.sitting = s.ID
	_, err = k.Append(ctx, p.answer())
	require.Error(t, err)
	require.ErrorContains(t, k.Close(), "1 answer could not be written, but lie")
	kept, err = filepath.Glob(filepath.Join(dir, "footfall-kept-*.json"))
	require.NoError(t, err)
	assert.Len(t, kept, 2)
}

func TestDamagedFileIsKeptBeside(t *testing.T) {
	for name, damage := range map[string]func(path string){
		"not a database": func(path string) {
			require.NoError(t, os.WriteFile(path, []byte(strings.Repeat("not a database at all\n", 500)), 0o600))
		},
		"broken first page": func(path string) {
			f, err := os.OpenFile(path, os.O_WRONLY, 0)
			require.NoError(t, err)
			_, err = f.WriteAt([]byte(strings.Repeat("\xff", 3000)), 100)
			require.NoError(t, err)
			require.NoError(t, f.Close())
		},
	} {
		t.Run(name, func(t *testing.T) {
			path := place(t)
			s := open(t, path)
			newPlayer(1).play(t, s, 40)
			require.NoError(t, s.Close())
			damage(path)
			before, err := os.ReadFile(path)
			require.NoError(t, err)

			_, err = history.Open(path, nil, nil)
			require.Equal(t, history.Damaged, history.TroubleOf(err), "%v", err)
			k := keep(t, path, &clock{now: start})
			notice := k.Notice()
			require.Contains(t, notice, "It is kept as")
			sit(t, k, newPlayer(2), 5, history.Unknown)
			require.NoError(t, k.Close())
			wantKept(t, path, 5)
			aside, err := filepath.Glob(path + ".damaged-*")
			require.NoError(t, err)
			require.NotEmpty(t, aside)
			after, err := os.ReadFile(aside[0])
			require.NoError(t, err)
			require.Equal(t, before, after, "the damaged file is as it was")
			require.Contains(t, notice, aside[0])
		})
	}
}

func TestDamagedTwiceInOneSecond(t *testing.T) {
	path := place(t)
	require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o700))
	for _, text := range []string{"first damaged file", "second damaged file"} {
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
		k := keep(t, path, &clock{now: start})
		require.NoError(t, k.Close())
	}
	aside, err := filepath.Glob(path + ".damaged-*")
	require.NoError(t, err)
	assert.Len(t, aside, 2, "neither overwrote the other")
}

func TestDamageInTheMidstOfASitting(t *testing.T) {
	path := place(t)
	k := keep(t, path, &clock{now: start})
	p := newPlayer(1)
	sit(t, k, p, 30, history.Unknown)
	spoil(t, path, "PRAGMA wal_checkpoint(TRUNCATE)")
	info, err := os.Stat(path)
	require.NoError(t, err)
	f, err := os.OpenFile(path, os.O_WRONLY, 0)
	require.NoError(t, err)
	_, err = f.WriteAt([]byte(strings.Repeat("\xff", int(info.Size())-4096)), 4096)
	require.NoError(t, err)
	require.NoError(t, f.Close())

	sit(t, k, p, 1, history.Unknown)
	assert.Contains(t, k.Notice(), "was damaged")
	sit(t, k, p, 4, history.Unknown)
	require.NoError(t, k.Close())
	aside, err := filepath.Glob(path + ".damaged-*")
	require.NoError(t, err)
	assert.Len(t, aside, 1)
	wantKept(t, path, 35)
}

func TestLaterVersionAndForeignFilesAreLeftAlone(t *testing.T) {
	path := place(t)
	s := open(t, path)
	require.NoError(t, s.Close())
	spoil(t, path, "PRAGMA user_version = 99")
	k, err := history.Keep(path, (&clock{now: start}).Now, nil)
	require.NoError(t, err)
	assert.Contains(t, k.Notice(), "later version")
	require.NoError(t, k.Close(), "nothing was answered, nothing is lost")
	aside, err := filepath.Glob(path + ".damaged-*")
	require.NoError(t, err)
	assert.Empty(t, aside)
}
