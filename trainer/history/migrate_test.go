package history_test

import (
	"database/sql"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/guard/racetest"
)

// TestMigrationFromEveryOlderVersion makes a history as each older version left
// it, with answers in it, and brings it up to date.
func TestMigrationFromEveryOlderVersion(t *testing.T) {
	racetest.Alone(t)
	names, err := filepath.Glob("migrations/*.sql")
	require.NoError(t, err)
	slices.Sort(names)
	require.NotEmpty(t, names)
	whole := open(t, place(t))
	newPlayer(4).play(t, whole, 90)
	want, wantDerived := exported(t, whole), derived(t, whole)

	for version := 1; version <= len(names); version++ {
		path := place(t)
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o700))
		db, err := sql.Open("sqlite", "file:"+path)
		require.NoError(t, err)
		db.SetMaxOpenConns(1)
		for _, name := range names[:version] {
			text, err := os.ReadFile(name)
			require.NoError(t, err)
			_, err = db.Exec(string(text))
			require.NoError(t, err)
		}
		columns := "item, stability, difficulty, first, last, asked, slow, missed"
		if version >= 5 {
			columns += ", days"
		}
		for _, statement := range []string{
			"PRAGMA user_version = " + strconv.Itoa(version),
			"ATTACH '" + whole.File() + "' AS whole",
			"INSERT INTO sittings SELECT * FROM whole.sittings",
			"INSERT INTO items SELECT * FROM whole.items",
			"INSERT INTO answers SELECT * FROM whole.answers",
			"INSERT INTO item_states SELECT " + columns + " FROM whole.item_states",
			"INSERT INTO paces SELECT * FROM whole.paces",
		} {
			_, err = db.Exec(statement)
			require.NoError(t, err, statement)
		}
		if version == len(names) {
			for _, table := range []string{"day_tallies", "degree_tallies", "place_tallies"} {
				_, err = db.Exec("INSERT INTO " + table + " SELECT * FROM whole." + table)
				require.NoError(t, err)
			}
		}
		require.NoError(t, db.Close())

		s := open(t, path)
		assert.Equal(t, want, exported(t, s), "version %d", version)
		assert.Equal(t, wantDerived, derived(t, s), "version %d", version)
		checked, err := s.Check(ctx)
		require.NoError(t, err)
		assert.Empty(t, checked.Faults)
		assert.False(t, checked.Rebuilt)
	}
}
