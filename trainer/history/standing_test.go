package history_test

import (
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/guard/racetest"
	"footfall/trainer/history"
)

// filesIn reads every file of a folder, those aside that are named.
func filesIn(t testing.TB, dir string, but ...string) map[string]string {
	t.Helper()
	files := map[string]string{}
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		if slices.Contains(but, e.Name()) {
			continue
		}
		text, err := os.ReadFile(filepath.Join(dir, e.Name()))
		require.NoError(t, err)
		files[e.Name()] = string(text)
	}
	return files
}

// leaveOpen makes a database as a program that was killed leaves it: what was written
// last lies beside it.
func leaveOpen(t testing.TB, path, mode string, statements ...string) {
	t.Helper()
	dir := t.TempDir()
	db, err := sql.Open("sqlite", "file:"+filepath.Join(dir, history.FileName)+"?_pragma=journal_mode("+mode+")")
	require.NoError(t, err)
	defer db.Close()
	db.SetMaxOpenConns(1)
	for _, statement := range statements {
		_, err := db.Exec(statement)
		require.NoError(t, err)
	}
	require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o700))
	for name, text := range filesIn(t, dir) {
		require.NoError(t, os.WriteFile(filepath.Join(filepath.Dir(path), name), []byte(text), 0o600))
	}
}

// What is no history of a version that this program knows is told, and left byte for
// byte as it was, with nothing new beside it.
func TestOtherFilesAreLeftAlone(t *testing.T) {
	notes := "CREATE TABLE notes (text)"
	for _, mode := range []string{"DELETE", "WAL"} {
		for _, c := range []struct {
			name    string
			make    []string
			trouble history.Trouble
		}{
			{"tables of another program", []string{notes}, history.Foreign},
			{"version 2 of another program", []string{notes, "PRAGMA user_version = 2"}, history.Foreign},
			{"version -1", []string{notes, "PRAGMA user_version = -1"}, history.Foreign},
			{"version 9999", []string{notes, "PRAGMA user_version = 9999"}, history.Foreign},
			{"another application", []string{notes, "PRAGMA application_id = 252006675"}, history.Foreign},
			{"ours of version -1", []string{notes, "PRAGMA application_id = 0x466f6f74", "PRAGMA user_version = -1"}, history.Foreign},
			{"ours of version 9999", []string{notes, "PRAGMA application_id = 0x466f6f74", "PRAGMA user_version = 9999"}, history.TooNew},
		} {
			t.Run(c.name+" "+mode, func(t *testing.T) {
				path := place(t)
				leaveOpen(t, path, mode, c.make...)
				before := filesIn(t, filepath.Dir(path))
				for _, open := range []func() error{
					func() error { _, err := history.Open(path, nil, nil); return err },
					func() error { _, err := history.Read(path, nil, nil); return err },
					func() error { _, _, err := history.Repair(ctx, path, nil); return err },
					func() error { _, err := open(t, place(t)).ImportFile(ctx, path); return err },
				} {
					err := open()
					assert.Equal(t, c.trouble, history.TroubleOf(err), "%v", err)
					assert.Equal(t, before, filesIn(t, filepath.Dir(path)))
				}
				k := keep(t, path, &clock{now: start})
				assert.Contains(t, k.Notice(), "left as it is")
				_, err := k.States(ctx)
				assert.Equal(t, c.trouble, history.TroubleOf(err), "nobody is taken for a new player")
				require.NoError(t, k.Close())
				assert.Equal(t, before, filesIn(t, filepath.Dir(path)))
			})
		}
	}
}

// A history that was never made is read as an empty one, and not made by that.
func TestReadingMakesNothing(t *testing.T) {
	path := filepath.Join(t.TempDir(), "data", history.FileName)
	s, err := history.Read(path, nil, nil)
	require.NoError(t, err)
	assert.Empty(t, allAnswers(t, s))
	require.NoError(t, s.Close())
	_, err = os.Stat(filepath.Dir(path))
	assert.ErrorIs(t, err, os.ErrNotExist)
}

// What lies in the write-ahead log of a program that was killed comes in too, and its
// files stay as they were.
func TestImportTakesTheWriteAheadLog(t *testing.T) {
	path := place(t)
	s := open(t, path)
	newPlayer(1).play(t, s, 25)
	want := exported(t, s)
	dir := t.TempDir() // as the kill leaves it
	for name, text := range filesIn(t, filepath.Dir(path)) {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
	}
	before := filesIn(t, dir)
	require.Greater(t, len(before[history.FileName+"-wal"]), len(before[history.FileName])/2)
	to := open(t, place(t))
	merged, err := to.ImportFile(ctx, filepath.Join(dir, history.FileName))
	require.NoError(t, err)
	assert.Equal(t, 25, merged.Answers)
	assert.Equal(t, want, exported(t, to))
	assert.Equal(t, before, filesIn(t, dir))
}

func TestABackupADay(t *testing.T) {
	path := place(t)
	c := &clock{now: start}
	for day := range 10 {
		k := keep(t, path, c)
		sit(t, k, newPlayer(uint64(day)), 3, history.Unknown)
		require.NoError(t, k.Close())
		k = keep(t, path, c) // a second sitting on the day
		require.NoError(t, k.Close())
		c.Move(24 * time.Hour)
	}
	kept, err := history.Backups(path)
	require.NoError(t, err)
	require.Len(t, kept, 7)
	for i, name := range kept {
		day := start.AddDate(0, 0, 3+i)
		assert.Equal(t, filepath.Join(filepath.Dir(path), "history-"+day.Format(time.DateOnly)+".db"), name)
		info, err := os.Stat(name)
		require.NoError(t, err)
		assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
		assert.GreaterOrEqual(t, len(allAnswers(t, open(t, name))), 3*(3+i))
	}
	leftOver, err := filepath.Glob(path[:len(path)-3] + "-*.db.*")
	require.NoError(t, err)
	assert.Empty(t, leftOver)
}

// Damaged indexes and tables that are worked out are made anew; no answer is lost.
func TestRepair(t *testing.T) {
	racetest.Alone(t)
	path := place(t)
	s := open(t, path)
	fill(t, s, 4, 400)
	want, wantDerived := exported(t, s), derived(t, s)
	require.NoError(t, s.Close())
	size := 4096
	for _, table := range []string{"answers_of_item", "takes_of_item", "item_states", "day_tallies"} {
		root := rowsOf(t, path, fmt.Sprintf("SELECT rootpage FROM sqlite_schema WHERE name = '%s'", table))
		require.Len(t, root, 1)
		var page int
		_, err := fmt.Sscan(root[0], &page)
		require.NoError(t, err)
		f, err := os.OpenFile(path, os.O_WRONLY, 0)
		require.NoError(t, err)
		_, err = f.WriteAt([]byte(strings.Repeat("\xff", size)), int64(size*(page-1)))
		require.NoError(t, err)
		require.NoError(t, f.Close())
	}
	damaged := filesIn(t, filepath.Dir(path))[history.FileName]

	checked, aside, err := history.Repair(ctx, path, nil)
	require.NoError(t, err)
	assert.Empty(t, checked.Faults)
	assert.True(t, checked.Rebuilt)
	assert.Equal(t, 400, checked.Answers)
	assert.Equal(t, damaged, filesIn(t, filepath.Dir(path))[filepath.Base(aside)], "it is kept as it was")
	s = open(t, path)
	assert.Equal(t, want, exported(t, s))
	assert.Equal(t, wantDerived, derived(t, s))
}

// A record with a value that fits no history is left out by a repair, and told; the rest
// is read out, and the file as it was is kept.
func TestRepairLeavesOutWhatFitsNoHistory(t *testing.T) {
	const first = ` WHERE at = (SELECT min(at) FROM answers)`
	for statement, left := range map[string]int{
		`UPDATE answers SET way = 300` + first:                               1,
		`UPDATE answers SET string = -9000000000000000000, way = -1` + first: 1,
		`UPDATE takes SET way = 300 WHERE n = 1`:                             1,
		`UPDATE answers SET way = 300`:                                       60,
		`UPDATE answers SET at = at + 9000000000000000, way = 300` + first:   1,
	} {
		t.Run(statement, func(t *testing.T) {
			path := place(t)
			s := open(t, path)
			fill(t, s, 5, 60)
			before, err := s.Check(ctx)
			require.NoError(t, err)
			require.NoError(t, s.Close())
			spoil(t, path, statement)
			c, aside, err := history.Repair(ctx, path, nil)
			require.NoError(t, err)
			assert.Empty(t, c.Faults)
			assert.Equal(t, left, c.LeftOut)
			assert.Equal(t, before.Sittings+before.Answers+before.Takes-left, c.Sittings+c.Answers+c.Takes)
			assert.FileExists(t, filepath.Join(filepath.Dir(path), filepath.Base(aside)))
		})
	}
}
