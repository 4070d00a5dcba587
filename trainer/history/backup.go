package history

import (
	"context"
	"database/sql"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"footfall/trainer/gate"
)

// Backup writes a whole and compact copy of the history to a new file, mode
// 0600, while other programs may go on writing. It never overwrites.
func (s *Store) Backup(ctx context.Context, path string) error {
	absolute, err := filepath.Abs(path)
	if err != nil {
		return err
	}
	if _, err := os.Lstat(path); err == nil {
		return &fs.PathError{Op: "create", Path: path, Err: fs.ErrExist}
	}
	return backup(ctx, s.db, absolute)
}

// backup writes the copy under another name first, so that there is a whole one or
// none.
func backup(ctx context.Context, db *sql.DB, path string) error {
	f, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".*")
	if err != nil {
		return err
	}
	defer gate.Passing(f.Name())()
	if err := f.Close(); err != nil {
		return err
	}
	if _, err := db.ExecContext(ctx, `VACUUM INTO ?`, f.Name()); err != nil {
		return fault(path, err)
	}
	return os.Rename(f.Name(), path)
}

// keptDays is how many days' backups are kept.
const keptDays = 7

// backupOf is the name of a day's backup, which lies beside the history.
func backupOf(path string, day string) string {
	end := filepath.Ext(path)
	return strings.TrimSuffix(path, end) + "-" + day + end
}

// BackupOfDay writes the day's backup beside the history at path, unless it is there
// already or nothing is kept yet, and removes those beyond the latest seven. It
// reads through a connection of its own, so that nobody waits for it, and leaves
// nothing behind when ctx ends it.
func BackupOfDay(ctx context.Context, path string, day time.Time) error {
	to := backupOf(path, day.Format(time.DateOnly))
	if _, err := os.Lstat(to); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	db, err := sql.Open("sqlite", dsn(path)+"mode=ro&_pragma=busy_timeout(3000)")
	if err != nil {
		return err
	}
	defer db.Close()
	var some bool
	if err := db.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM sittings)`).Scan(&some); err != nil || !some {
		return err
	}
	if err := backup(ctx, db, to); err != nil {
		return err
	}
	days, err := Backups(path)
	if err != nil {
		return err
	}
	for _, old := range days[:max(0, len(days)-keptDays)] {
		if err := os.Remove(old); err != nil {
			return err
		}
	}
	return nil
}

// Backups lists the days' backups beside the history at path, the oldest first.
func Backups(path string) ([]string, error) {
	entries, err := os.ReadDir(filepath.Dir(path))
	var names []string
	for _, e := range entries {
		name := filepath.Join(filepath.Dir(path), e.Name())
		day := strings.TrimSuffix(strings.TrimPrefix(name, strings.TrimSuffix(backupOf(path, ""), filepath.Ext(path))), filepath.Ext(path))
		if _, err := time.Parse(time.DateOnly, day); err == nil && name == backupOf(path, day) {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names, err
}
