package history

import (
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"maps"
	"slices"

	"footfall/drills/memory"
)

//go:embed migrations/*.sql
var migrations embed.FS

// migrationNames are the migrations in order: the first makes version 1.
func migrationNames() []string {
	entries, err := migrations.ReadDir("migrations")
	if err != nil {
		panic(err) // they are in the program
	}
	var names []string
	for _, e := range entries {
		names = append(names, "migrations/"+e.Name())
	}
	return names
}

// migrate runs the migrations that the file has not seen, in one transaction.
func (s *Store) migrate() error {
	names := migrationNames()
	version, err := versionOf(s.db)
	if err != nil {
		return err
	}
	if version == len(names) {
		if err := s.relearn(); err != nil {
			return err
		}
		return s.settleNow()
	}
	tx, err := s.db.Begin()
	if err != nil {
		return err
	}
	defer tx.Rollback()
	// Another program may have done so in the meantime.
	if version, err = versionOf(tx); err != nil {
		return err
	}
	if version > len(names) || version < 0 {
		return &Fault{Trouble: TooNew, Path: s.path, Err: fmt.Errorf("version %d, this program knows %d", version, len(names))}
	}
	for _, name := range names[version:] {
		text, err := migrations.ReadFile(name)
		if err != nil {
			return err
		}
		if _, err := tx.Exec(string(text)); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
	}
	if _, err := tx.Exec(fmt.Sprintf("PRAGMA user_version = %d", len(names))); err != nil {
		return err
	}
	if version > 0 {
		if err := upgradeKeys(tx); err != nil {
			return err
		}
		if err := rebuild(tx); err != nil {
			return err
		}
	}
	if err := tx.Commit(); err != nil {
		return err
	}
	// The file alone tells from now on whose it is.
	if _, err := s.db.Exec("PRAGMA wal_checkpoint(TRUNCATE)"); err != nil {
		return err
	}
	return s.settleNow()
}

func versionOf(db interface {
	QueryRow(string, ...any) *sql.Row
}) (version int, err error) {
	err = db.QueryRow("PRAGMA user_version").Scan(&version)
	return version, err
}

// upgraded is the key that an item's key of any version is written as now.
func upgraded(key string) string {
	key, _ = memory.Upgrade(key)
	return key
}

// upgradeKeys gives every item the key that is written now. Items whose keys become
// the same become one, with the answers and takes of all.
func upgradeKeys(tx *sql.Tx) error {
	items, err := itemsByNumber(tx)
	if err != nil {
		return err
	}
	for _, n := range slices.Sorted(maps.Keys(items)) {
		was := items[n].Key()
		key := upgraded(was)
		if key == was {
			continue
		}
		var other int64
		err := tx.QueryRow(`SELECT n FROM items WHERE key = ?`, key).Scan(&other)
		if errors.Is(err, sql.ErrNoRows) {
			if _, err := tx.Exec(`UPDATE items SET key = ? WHERE n = ?`, key, n); err != nil {
				return err
			}
			continue
		}
		if err != nil {
			return err
		}
		for _, statement := range []string{
			`UPDATE answers SET item = ?1 WHERE item = ?2`,
			`UPDATE takes SET item = ?1 WHERE item = ?2`,
			`DELETE FROM item_states WHERE item != ?1 AND item = ?2`,
			`DELETE FROM items WHERE n != ?1 AND n = ?2`,
		} {
			if _, err := tx.Exec(statement, other, n); err != nil {
				return err
			}
		}
	}
	return nil
}

// relearn works everything out anew where the file has items of a kind that this
// program knows and the one that kept them did not.
func (s *Store) relearn() error {
	rows, err := s.db.Query(`SELECT key FROM items WHERE grp = ''`)
	if err != nil {
		return err
	}
	defer rows.Close()
	learned := false
	for rows.Next() {
		var key string
		if err := rows.Scan(&key); err != nil {
			return err
		}
		it, err := memory.ParseKey(key)
		if err != nil {
			return err
		}
		learned = learned || it.Group() != ""
	}
	if err := rows.Err(); err != nil || !learned {
		return err
	}
	rows.Close()
	return s.Rebuild()
}
