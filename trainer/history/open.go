package history

import (
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"time"

	"github.com/adrg/xdg"
	"github.com/google/uuid"
	_ "modernc.org/sqlite" // the database driver

	"footfall/trainer/clock"
)

//go:embed migrations/*.sql
var migrations embed.FS

// FileName is the name of the history's file in its folder.
const FileName = "history.db"

// busy is how long a write waits for another program. A sitting writes for a
// few milliseconds at a time, so that this is only reached when something holds
// the file for good.
const busy = 3 * time.Second

// Store is an open history. It may be used from several goroutines.
type Store struct {
	db    *sql.DB
	path  string
	now   func() time.Time
	newID func() uuid.UUID
}

// Path returns where the history lies in a data folder; the folder "" is the
// user's own, $XDG_DATA_HOME/footfall or its like on other systems.
func Path(dir string) string {
	if dir == "" {
		dir = filepath.Join(xdg.DataHome, "footfall")
	}
	return filepath.Join(dir, FileName)
}

// Open opens the history at path, making the file, mode 0600, and its folder,
// mode 0700, where they are not there, and brings it up to date. now and newID
// may be nil: the system's clock and UUIDs of version 7. Errors are *Fault; a
// damaged file is left as it is.
func Open(path string, now func() time.Time, newID func() uuid.UUID) (*Store, error) {
	return openWaiting(path, busy, now, newID)
}

// openWaiting is Open with the time that a write waits for another program.
func openWaiting(path string, wait time.Duration, now func() time.Time, newID func() uuid.UUID) (*Store, error) {
	if err := prepare(path); err != nil {
		return nil, fault(path, err)
	}
	return open(path, "file:"+url.PathEscape(filepath.ToSlash(path))+"?", wait, now, newID)
}

// openMemory opens an empty history that lives as long as the program.
func openMemory(now func() time.Time, newID func() uuid.UUID) (*Store, error) {
	return open("in memory", "file::memory:?", busy, now, newID)
}

// open connects. The pragmas stand in the data source name so that each pooled
// connection gets them: a full sync at each commit, so that an answer outlives
// even a power cut once its verdict is shown.
func open(path, dsn string, wait time.Duration, now func() time.Time, newID func() uuid.UUID) (*Store, error) {
	if now == nil {
		now = clock.Now
	}
	if newID == nil {
		newID = func() uuid.UUID { return uuid.Must(uuid.NewV7()) }
	}
	dsn += fmt.Sprintf("_pragma=busy_timeout(%d)&_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)&_pragma=foreign_keys(1)&_txlock=immediate", wait.Milliseconds())
	db, err := sql.Open("sqlite", dsn)
	if err != nil {
		return nil, fault(path, err)
	}
	db.SetMaxOpenConns(1)
	s := &Store{db: db, path: path, now: now, newID: newID}
	// The busy timeout does not cover the switch to WAL, which two programs may
	// try at once on a new file.
	for end := clock.Now().Add(wait); ; time.Sleep(10 * time.Millisecond) {
		err = fault(path, s.migrate())
		if TroubleOf(err) != Locked || clock.Now().After(end) {
			break
		}
	}
	if err != nil {
		db.Close()
		return nil, err
	}
	return s, nil
}

// prepare makes the folder and an empty file, so that the file's mode is ours
// from the start; SQLite gives its journal files the mode of the database.
func prepare(path string) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return err
	}
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return err
	}
	return f.Close()
}

// migrate runs the migrations that the file has not seen, each in a transaction.
func (s *Store) migrate() error {
	var version int
	if err := s.db.QueryRow("PRAGMA user_version").Scan(&version); err != nil {
		return err
	}
	names, err := fs.Glob(migrations, "migrations/*.sql")
	if err != nil {
		return err
	}
	slices.Sort(names)
	if version > len(names) {
		return &Fault{Trouble: TooNew, Path: s.path, Err: fmt.Errorf("version %d, this program knows %d", version, len(names))}
	}
	if version == 0 && len(names) > 0 {
		if err := s.empty(); err != nil {
			return err
		}
	}
	derive := version > 0 && version < len(names)
	for version < len(names) {
		text, err := migrations.ReadFile(names[version])
		if err != nil {
			return err
		}
		if err := s.migrateOne(version, string(text)); err != nil {
			return fmt.Errorf("%s: %w", names[version], err)
		}
		version++
	}
	if derive {
		return s.Rebuild()
	}
	return nil
}

// empty checks that a file without a version has no tables: one that has is
// somebody else's database.
func (s *Store) empty() error {
	var tables int
	err := s.db.QueryRow("SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%'").Scan(&tables)
	if err != nil || tables == 0 {
		return err
	}
	var mine int
	if err := s.db.QueryRow("SELECT count(*) FROM sqlite_schema WHERE name = 'answers'").Scan(&mine); err != nil {
		return err
	}
	if mine > 0 {
		return nil // another program is making it at this moment
	}
	return &Fault{Trouble: Damaged, Path: s.path, Err: errors.New("it is the database of another program")}
}

// migrateOne runs the migration after version, unless another program has done
// so in the meantime.
func (s *Store) migrateOne(version int, text string) error {
	tx, err := s.db.Begin()
	if err != nil {
		return err
	}
	defer tx.Rollback()
	var at int
	if err := tx.QueryRow("PRAGMA user_version").Scan(&at); err != nil {
		return err
	}
	if at > version {
		return nil
	}
	if _, err := tx.Exec(text); err != nil {
		return err
	}
	if _, err := tx.Exec(fmt.Sprintf("PRAGMA user_version = %d", version+1)); err != nil {
		return err
	}
	return tx.Commit()
}

// Close closes the history.
func (s *Store) Close() error { return fault(s.path, s.db.Close()) }

// File returns the path the history was opened with.
func (s *Store) File() string { return s.path }
