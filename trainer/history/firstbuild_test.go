package history_test

import (
	"compress/gzip"
	"database/sql"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/memory"
	"footfall/trainer/history"
)

// firstBuild unpacks the history that the first build kept (see testdata/README.md).
func firstBuild(t testing.TB) string {
	t.Helper()
	f, err := os.Open("testdata/first-build.db.gz")
	require.NoError(t, err)
	defer f.Close()
	z, err := gzip.NewReader(f)
	require.NoError(t, err)
	text, err := io.ReadAll(z)
	require.NoError(t, err)
	path := place(t)
	require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o700))
	require.NoError(t, os.WriteFile(path, text, 0o600))
	return path
}

// rowsOf reads a column of a file with no help from the program.
func rowsOf(t testing.TB, path, query string) (texts []string) {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+path+"?mode=ro&immutable=1")
	require.NoError(t, err)
	defer db.Close()
	rows, err := db.Query(query)
	require.NoError(t, err)
	defer rows.Close()
	for rows.Next() {
		var text string
		require.NoError(t, rows.Scan(&text))
		texts = append(texts, text)
	}
	require.NoError(t, rows.Err())
	return texts
}

const allButItems = `SELECT hex(id) || at || verdict || grade || took || string || fret || given FROM answers
	UNION ALL SELECT hex(id) || at || tempo || length || clean || ramp || grade FROM takes ORDER BY 1`

func TestFirstBuildsHistoryOpensWithOneItemAFact(t *testing.T) {
	path := firstBuild(t)
	before := rowsOf(t, path, allButItems)
	require.GreaterOrEqual(t, len(before), 270)
	require.Len(t, rowsOf(t, path, `SELECT DISTINCT kind FROM items`), 8, "seven kinds of question, and passages")
	s := open(t, path)
	whole := exported(t, s)
	checked, err := s.Check(ctx)
	require.NoError(t, err)
	assert.Empty(t, checked.Faults, "states are worked out from the answers")
	assert.Zero(t, checked.UnknownItems)
	require.NoError(t, s.Close())

	assert.Equal(t, before, rowsOf(t, path, allButItems), "every answer and pass is there")
	keys := rowsOf(t, path, `SELECT key FROM items`)
	prose := regexp.MustCompile(`position|inversion |shape |chord|bass|itself|the |[ø^()]|min|dom`)
	for _, key := range keys {
		if it, err := memory.ParseKey(key); assert.NoError(t, err) && it.Tune == "" {
			assert.NotRegexp(t, prose, key)
		}
	}
	// D-7, Dmin7, Dmi7 and Dm7; C^7, CM7 and Cmaj7; B-7b5 and Bm7b5 are one each.
	for _, want := range []string{"find:m7:1:D:6", "find:m7:5:D:5", "find:maj7:1:C:5", "find:maj7:3:C:5", "find:m7b5:1:B:6", "find:7b9:5:A:6", "build:m7:b3:D:6", "shape:degrees:3 7 9 5"} {
		assert.Contains(t, keys, want)
	}
	assert.Contains(t, rowsOf(t, path[:len(path)-3]+"-version-3.db", `SELECT key FROM items`), "find:-7:1:D:6", "the file as it was is kept")

	again := open(t, place(t))
	merged, err := again.ImportFile(ctx, firstBuild(t))
	require.NoError(t, err)
	assert.Equal(t, len(before), merged.Answers+merged.Takes)
	assert.Equal(t, whole, exported(t, again), "imported it is the same")
}

// A shape of the first build is never asked; the first shape with its degrees that is
// answered goes on from its state, and only the first.
func TestShapesOfTheFirstBuildLendTheirStates(t *testing.T) {
	at := time.Date(2026, 12, 20, 18, 0, 0, 0, time.UTC)
	s, err := history.Open(firstBuild(t), (&clock{now: at.AddDate(0, 0, 1)}).Now, nil)
	require.NoError(t, err)
	defer s.Close()
	states, err := s.States(ctx)
	require.NoError(t, err)
	lender, err := memory.ParseKey("shape:degrees:3 7 9 5")
	require.NoError(t, err)
	old := states[lender]
	require.Positive(t, old.Asked)
	require.False(t, lender.Known())

	var heirs []memory.Item
	for _, key := range []string{"shape:degrees:maj7:3:x 0 2 0 1 x", "shape:degrees:maj9:3:x 0 2 0 1 x"} {
		heir, err := memory.ParseKey(key)
		require.NoError(t, err)
		from, ok := heir.Lender()
		require.True(t, ok)
		require.Equal(t, lender, from)
		heirs = append(heirs, heir)
	}
	sit, err := s.Begin(ctx, history.Sitting{Began: at})
	require.NoError(t, err)
	for i := range 4 {
		_, err := s.Append(ctx, history.Answer{Sitting: sit.ID, At: at.Add(time.Duration(i) * time.Minute), Item: heirs[i%2], Took: time.Second})
		require.NoError(t, err)
	}
	states, err = s.States(ctx)
	require.NoError(t, err)
	assert.Equal(t, []int{old.Asked + 2, 2, old.Asked}, []int{states[heirs[0]].Asked, states[heirs[1]].Asked, states[lender].Asked})
	assert.Equal(t, old.First, states[heirs[0]].First)
	checked, err := s.Check(ctx)
	require.NoError(t, err)
	assert.Empty(t, checked.Faults)

	// What comes in later, but was before, has the first claim.
	early, err := s.Begin(ctx, history.Sitting{Began: at.AddDate(0, 0, -1)})
	require.NoError(t, err)
	_, err = s.Append(ctx, history.Answer{Sitting: early.ID, At: at.AddDate(0, 0, -1), Item: heirs[1], Took: time.Second})
	require.NoError(t, err)
	states, err = s.States(ctx)
	require.NoError(t, err)
	assert.Equal(t, []int{2, old.Asked + 3}, []int{states[heirs[0]].Asked, states[heirs[1]].Asked})
	checked, err = s.Check(ctx)
	require.NoError(t, err)
	assert.Empty(t, checked.Faults)
}
