package history

import (
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// schema is the statements that made the tables of a database, by their names.
func schema(db *sql.DB) (map[string]string, error) {
	rows, err := db.Query(`SELECT name, sql FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%'`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	made := map[string]string{}
	for rows.Next() {
		var name, statement string
		if err := rows.Scan(&name, &statement); err != nil {
			return nil, err
		}
		made[name] = strings.Join(strings.Fields(statement), " ")
	}
	return made, rows.Err()
}

// tablesAt is the schema of a history of some version.
func tablesAt(version int) (map[string]string, error) {
	db, err := sql.Open("sqlite", "file::memory:?")
	if err != nil {
		return nil, err
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	for _, name := range migrationNames()[:version] {
		text, err := migrations.ReadFile(name)
		if err == nil {
			_, err = db.Exec(string(text))
		}
		if err != nil {
			return nil, err
		}
	}
	return schema(db)
}

// checkTables says what of a database would do something while it is read or written: a
// view in a table's place, or a trigger, may run without end. Other views and tables of
// the player's own are left in peace.
func checkTables(db *sql.DB) error {
	var kind, name string
	err := db.QueryRow(`SELECT type, name FROM sqlite_schema WHERE type = 'trigger' OR type = 'view' AND name IN
		('sittings', 'items', 'answers', 'item_states', 'paces', 'takes', 'take_events', 'day_tallies', 'degree_tallies',
		'place_tallies', 'identity', 'misdated', 'plans')`).Scan(&kind, &name)
	if errors.Is(err, sql.ErrNoRows) {
		return nil
	}
	if err != nil {
		return err
	}
	return &Fault{Trouble: Foreign, Err: fmt.Errorf("it has a %s %s", kind, name)}
}

// checkElsewhere says which table of a history from elsewhere is not as this program
// makes it: what it would let in, or do, nobody knows.
func checkElsewhere(path string, version int) error {
	from, err := openReadOnly(path)
	if err != nil {
		return err
	}
	defer from.Close()
	made, err := schema(from.db)
	if err != nil {
		return fault(path, err)
	}
	if version == 0 && len(made) == 0 {
		return nil
	}
	want, err := tablesAt(version)
	if err != nil {
		return err
	}
	names := []string{}
	for name, statement := range want {
		if made[name] != statement {
			names = append(names, name)
		}
	}
	if len(names) == 0 {
		return nil
	}
	return &Fault{Foreign, path, fmt.Errorf("its table %s is not that of version %d", slices.Min(names), version)}
}
