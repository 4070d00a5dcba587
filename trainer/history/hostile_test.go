package history_test

import (
	"context"
	"database/sql"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/guard/racetest"
	"footfall/trainer/history"
)

// endless is a query that gives rows for ever.
const endless = `WITH RECURSIVE n(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM n) SELECT `

// A file that would run without end, or do something while it is read or written, is
// refused before anything is asked of it: one that is imported, and one that lies in the
// history's own place.
func TestAFileThatWouldRunForEver(t *testing.T) {
	ctx := context.Background()
	for name, c := range map[string]struct{ does, says string }{
		"a view of answers": {`ALTER TABLE answers RENAME TO a; CREATE VIEW answers AS ` + endless +
			`x AS at, randomblob(16) AS id, 1 AS sitting, 1 AS item, 0 AS zone, 1 AS way, 1 AS verdict, 1 AS grade, 1 AS took, 0 AS string, 0 AS fret, '' AS given FROM n`,
			"it has a view answers"},
		"a view of sittings": {`ALTER TABLE sittings RENAME TO s; CREATE VIEW sittings AS ` + endless +
			`x AS n, randomblob(16) AS id, x AS began, x AS last, 0 AS zone, '' AS drill, '' AS tune FROM n`,
			"it has a view sittings"},
		"a trigger": {`CREATE TRIGGER more AFTER UPDATE ON items BEGIN INSERT INTO paces SELECT 1, '', x FROM (` + endless + `x FROM n); END`,
			"it has a trigger more"},
	} {
		path := place(t)
		s, err := history.Open(path, nil, nil)
		require.NoError(t, err)
		require.NoError(t, s.Close())
		db, err := sql.Open("sqlite", path)
		require.NoError(t, err)
		_, err = db.Exec(c.does)
		require.NoError(t, err, name)
		require.NoError(t, db.Close())

		_, err = open(t, place(t)).ImportFile(ctx, path)
		var fault *history.ImportError
		require.ErrorAs(t, err, &fault, name)
		assert.ErrorContains(t, err, c.says, name)
		for _, how := range []func() error{
			func() error { _, err := history.Open(path, nil, nil); return err },
			func() error { _, err := history.Read(path, nil, nil); return err },
		} {
			err := how()
			assert.Equal(t, history.Foreign, history.TroubleOf(err), "%s: %v", name, err)
			assert.ErrorContains(t, err, path)
		}
	}
}

// A history from elsewhere has the tables that this program makes, and no others in
// their place: without their bounds anything may stand in them.
func TestTablesOfOtherMaking(t *testing.T) {
	path := place(t)
	s, err := history.Open(path, nil, nil)
	require.NoError(t, err)
	require.NoError(t, s.Close())
	db, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	_, err = db.Exec(`CREATE TABLE mine (a); CREATE VIEW seen AS SELECT * FROM mine; DROP TABLE plans;
		CREATE TABLE plans (day, at, plan, more AS (printf('%.*c', 100000000, 'x')))`)
	require.NoError(t, err)
	require.NoError(t, db.Close())
	_, err = open(t, place(t)).ImportFile(context.Background(), path)
	assert.ErrorContains(t, err, "its table plans is not that of version")
}

// A record without an end is refused while it is read.
func TestARecordWithoutAnEnd(t *testing.T) {
	racetest.Alone(t)
	for name, begins := range map[string]string{
		"JSON":  `{"version":1,"sittings":[{"drill":"`,
		"a key": `{"`,
		"CSV":   "id,at,item,way,verdict,grade,took_ms,string,fret,given,sitting,began,last,drill,tune\n\"",
	} {
		s := open(t, place(t))
		_, err := s.Import(context.Background(), io.MultiReader(strings.NewReader(begins), xs{}))
		var fault *history.ImportError
		require.ErrorAs(t, err, &fault, name)
		assert.ErrorContains(t, err, "a record longer than 16 MB", name)
	}
}

type xs struct{}

func (xs) Read(b []byte) (int, error) {
	for i := range b {
		b[i] = 'x'
	}
	return len(b), nil
}

// However many records there are, each has room.
func TestManyLongRecords(t *testing.T) {
	racetest.Alone(t)
	s := open(t, place(t))
	var text strings.Builder
	text.WriteString(`{"version":1,"sittings":[`)
	for i := range 40 {
		if i > 0 {
			text.WriteByte(',')
		}
		fmt.Fprintf(&text, `{"id":"0192f0c1-0000-7000-8000-%012d","began":"2026-11-01T10:00:00.000Z","last":"2026-11-01T10:00:00.000Z","drill":"%s","tune":""}`,
			i, strings.Repeat("x", 1<<20))
	}
	text.WriteString(`]}`)
	merged, err := s.Import(context.Background(), strings.NewReader(text.String()))
	require.NoError(t, err)
	assert.Equal(t, 40, merged.Sittings)
}

// What does not fit is told without a name of Go's, however it does not.
func TestValuesThatDoNotFit(t *testing.T) {
	for _, text := range []string{
		`{"version":1e999999999}`, `{"version":"x"}`, `{"version":1,"sittings":[{"id":1}]}`, `{"version":1,"answers":[7]}`, `{"version":1,"takes":[{"events":{}}]}`, `{"version":1,"plans":[[]]}`,
	} {
		_, err := open(t, place(t)).Import(context.Background(), strings.NewReader(text))
		var fault *history.ImportError
		require.ErrorAs(t, err, &fault, text)
		assert.NotRegexp(t, "json|Go |struct|type ", err.Error(), text)
		assert.Less(t, len(err.Error()), 200, text)
	}
}

// What somebody wrote into the file by another program is told in plain words.
func TestAFileThatSomebodyChanged(t *testing.T) {
	for statement, says := range map[string]string{
		`UPDATE answers SET way = -1`: "a value in it is of another kind than its place",
		`DROP TABLE answers`:          "no such table: answers",
	} {
		path := place(t)
		s, err := history.Open(path, nil, nil)
		require.NoError(t, err)
		newPlayer(3).play(t, s, 3)
		require.NoError(t, s.Close())
		spoil(t, path, statement)
		s, err = history.Read(path, nil, nil)
		if err == nil {
			err = s.ExportJSON(context.Background(), io.Discard)
			require.NoError(t, s.Close())
		}
		require.Error(t, err, statement)
		assert.ErrorContains(t, err, path+" cannot be opened: "+says+". Choose", statement)
	}
}
