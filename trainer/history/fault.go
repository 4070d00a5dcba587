package history

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"syscall"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"footfall/trainer/guard"
)

// Trouble is what keeps a history from being written, for programs to tell
// apart.
type Trouble uint8

// The troubles.
const (
	Unknown  Trouble = iota
	DiskFull         // no room on the disk, or a quota reached
	ReadOnly         // the file or its folder may not be written
	Locked           // another program holds it
	Damaged          // not a history, or one with broken pages
	TooNew           // of a version of Footfall that this one does not know
	Foreign          // another program's database
	Silent           // the file does not answer
)

// Fault is an error of the history with the file it is about. Error says what,
// where and what would do, in a sentence for the player.
type Fault struct {
	Trouble Trouble
	Path    string
	Err     error
}

// Error returns the sentence.
func (f *Fault) Error() string {
	switch f.Trouble {
	case DiskFull:
		return fmt.Sprintf("the history %s cannot grow: the disk is full. Make some room.", f.Path)
	case ReadOnly:
		return fmt.Sprintf("the history %s cannot be written: its file or folder is read-only for you. Allow writing, or choose another folder with --data.", f.Path)
	case Locked:
		return fmt.Sprintf("the history %s is held by another program. Close that program, or wait.", f.Path)
	case Silent:
		return fmt.Sprintf("the history %s does not answer. Look after its disk, or choose another folder with --data.", f.Path)
	case Damaged:
		return fmt.Sprintf("the history %s is damaged or is not a history (%v). footfall log check --repair reads out what is whole, footfall log import takes in a backup.", f.Path, f.Err)
	case TooNew:
		return fmt.Sprintf("the history %s was written by a later version of Footfall (%v) and is left as it is. Use that version, or choose another folder with --data.", f.Path, f.Err)
	case Foreign:
		return fmt.Sprintf("%s is not a history that a Footfall wrote (%v), and is left as it is. Choose another folder with --data.", f.Path, f.Err)
	}
	return fmt.Sprintf("the history %s cannot be opened: %v. Choose another folder with --data.", f.Path, f.Err)
}

// Unwrap returns the cause.
func (f *Fault) Unwrap() error { return f.Err }

// TroubleOf returns the trouble behind an error of this package.
func TroubleOf(err error) Trouble {
	var f *Fault
	if errors.As(err, &f) {
		return f.Trouble
	}
	return Unknown
}

// fault wraps an error with the file and the trouble that it means.
func fault(path string, err error) error {
	var already *Fault
	var input *ImportError
	if errors.As(err, &already) && already.Path == "" {
		already.Path = path
	}
	if err == nil || already != nil || errors.As(err, &input) {
		return err
	}
	f := &Fault{Path: path, Err: err}
	var s *sqlite.Error
	switch {
	case errors.As(err, &s):
		f.Trouble = troubleOfCode(s.Code())
		if s.Code() == sqlite3.SQLITE_ERROR { // what it asks for is not there: "no such table: answers"
			f.Err = worded{err, strings.TrimSuffix(strings.TrimPrefix(s.Error(), "SQL logic error: "), " (1)")}
		}
	case strings.Contains(err.Error(), "Scan error on column"): // database/sql has no type for it
		f.Err = worded{err, "a value in it is of another kind than its place"}
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT):
		f.Trouble = DiskFull
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		f.Trouble = ReadOnly
	case errors.Is(err, guard.ErrSilent):
		f.Trouble = Silent
	}
	return f
}

// worded is an error in other words than those of a library.
type worded struct {
	error
	says string
}

func (w worded) Error() string { return w.says }

func (w worded) Unwrap() error { return w.error }

func troubleOfCode(code int) Trouble {
	switch code {
	case sqlite3.SQLITE_IOERR_SHMSIZE:
		return DiskFull
	case sqlite3.SQLITE_IOERR_SHORT_READ: // a log that was just taken away; whoever has it open lets go
		return Locked
	}
	switch code & 0xff {
	case sqlite3.SQLITE_FULL:
		return DiskFull
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM, sqlite3.SQLITE_CANTOPEN:
		return ReadOnly
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return Locked
	case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB:
		return Damaged
	}
	return Unknown
}
