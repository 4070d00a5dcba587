package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/adrg/xdg"
	"github.com/google/uuid"
	_ "modernc.org/sqlite" // the database driver

	"footfall/trainer/clock"
)

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
	// readOnly is set where what is read is the file as it lies there, or a copy of
	// it; remove takes the copy away.
	readOnly bool
	remove   func()
	// leaving is set where records that cannot be read are left out.
	leaving bool
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
// mode 0700, where they are not there, and brings it up to date; a file of an
// older version is first copied to a file beside it. now and newID may be nil: the
// system's clock and UUIDs of version 7. Errors are *Fault; a file that is damaged,
// of another program or of a later version is left as it is.
func Open(path string, now func() time.Time, newID func() uuid.UUID) (*Store, error) {
	return openWaiting(path, busy, now, newID)
}

// openWaiting is Open with the time that a write waits for another program.
func openWaiting(path string, wait time.Duration, now func() time.Time, newID func() uuid.UUID) (*Store, error) {
	// The busy timeout does not cover the switch to WAL, which two programs may
	// try at once on a new file.
	for end := clock.Now().Add(wait); ; time.Sleep(10 * time.Millisecond) {
		s, err := openOnce(path, wait, now, newID)
		if TroubleOf(err) != Locked || clock.Now().After(end) {
			return s, err
		}
	}
}

func openOnce(path string, wait time.Duration, now func() time.Time, newID func() uuid.UUID) (*Store, error) {
	version, err := inspect(path)
	if err != nil {
		return nil, err
	}
	if err := prepare(path); err != nil {
		return nil, fault(path, err)
	}
	if version > 0 && version < len(migrationNames()) {
		old := fmt.Sprintf("%s-version-%d%s", strings.TrimSuffix(path, filepath.Ext(path)), version, filepath.Ext(path))
		if err := copyBefore(path, old); err != nil {
			return nil, fault(path, err)
		}
	}
	return open(path, dsn(path), wait, now, newID)
}

// copyBefore copies a file of an older version, unless that was done before.
func copyBefore(path, to string) error {
	s, err := openReadOnly(path)
	if err != nil {
		return err
	}
	defer s.Close()
	if err := s.Backup(context.Background(), to); !errors.Is(err, fs.ErrExist) {
		return err
	}
	return nil
}

// Read opens the history at path to be read. Where folder or file may not be
// written it is read as it lies there, and where there is none an empty one is
// returned: nothing is made. Errors are those of Open.
func Read(path string, now func() time.Time, newID func() uuid.UUID) (*Store, error) {
	version, err := inspect(path)
	if err != nil {
		return nil, err
	}
	if info, err := os.Stat(path); err != nil || info.Size() == 0 {
		s, err := openMemory(now, newID)
		if err == nil {
			s.path = path
		}
		return s, err
	}
	if s, err := Open(path, now, newID); !unwritable(err) {
		return s, err
	}
	if version < len(migrationNames()) || logged(path) {
		return openCopy(path, now, newID)
	}
	s, err := openReadOnly(path)
	if err != nil {
		return nil, fault(path, err)
	}
	s.now, s.newID = now, newID
	s.defaults()
	return s, nil
}

// unwritable reports whether an error of a file leaves it readable.
func unwritable(err error) bool { return TroubleOf(err) == ReadOnly || TroubleOf(err) == DiskFull }

// openReadOnly opens a database as it lies there, or a copy where a part of it lies
// beside it, and touches nothing.
func openReadOnly(path string) (*Store, error) {
	s := &Store{path: path, readOnly: true}
	s.defaults()
	from, how := path, "mode=ro&immutable=1"
	if logged(path) {
		copied, remove, err := inTemporary()
		if err != nil {
			return nil, err
		}
		s.remove = remove
		if err := copyWhole(path, copied); err != nil {
			remove()
			return nil, err
		}
		from, how = copied, ""
	}
	var err error
	if s.db, err = sql.Open("sqlite", dsn(from)+how); err != nil {
		return nil, fault(path, err)
	}
	s.db.SetMaxOpenConns(1)
	if err := checkTables(s.db); err != nil {
		s.Close()
		return nil, fault(path, err)
	}
	return s, nil
}

// openCopy opens a copy of a history, with what lies beside it, which is brought up
// to date and removed when it is closed.
func openCopy(path string, now func() time.Time, newID func() uuid.UUID) (*Store, error) {
	copied, remove, err := inTemporary()
	if err != nil {
		return nil, fault(path, err)
	}
	var s *Store
	if err = copyWhole(path, copied); err == nil {
		if _, err = inspect(copied); err == nil {
			s, err = open(copied, dsn(copied), busy, now, newID)
		}
	}
	if err != nil {
		remove()
		var f *Fault
		if errors.As(err, &f) {
			f.Path = path
		}
		return nil, fault(path, err)
	}
	s.path, s.remove, s.readOnly = path, remove, true
	return s, nil
}

// openMemory opens an empty history that lives as long as the program.
func openMemory(now func() time.Time, newID func() uuid.UUID) (*Store, error) {
	return open("in memory", "file::memory:?", busy, now, newID)
}

func dsn(path string) string { return "file:" + url.PathEscape(filepath.ToSlash(path)) + "?" }

// open connects. The pragmas stand in the data source name so that each pooled
// connection gets them: a full sync at each commit, so that an answer outlives
// even a power cut once its verdict is shown.
func open(path, dsn string, wait time.Duration, now func() time.Time, newID func() uuid.UUID) (*Store, error) {
	dsn += fmt.Sprintf("_pragma=busy_timeout(%d)&_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)&_pragma=foreign_keys(1)&_pragma=cache_size(-512)&_txlock=immediate", wait.Milliseconds())
	db, err := sql.Open("sqlite", dsn)
	if err != nil {
		return nil, fault(path, err)
	}
	db.SetMaxOpenConns(1)
	s := &Store{db: db, path: path, now: now, newID: newID}
	s.defaults()
	if err = checkTables(db); err == nil {
		err = s.migrate()
	}
	if err = fault(path, err); err != nil {
		db.Close()
		return nil, err
	}
	return s, nil
}

func (s *Store) defaults() {
	if s.now == nil {
		s.now = clock.Now
	}
	if s.newID == nil {
		s.newID = func() uuid.UUID { return uuid.Must(uuid.NewV7()) }
	}
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

// Close closes the history.
func (s *Store) Close() error {
	err := fault(s.path, s.db.Close())
	if s.remove != nil {
		s.remove()
	}
	return err
}

// File returns the path the history was opened with.
func (s *Store) File() string { return s.path }
