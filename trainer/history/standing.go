package history

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"footfall/trainer/gate"
	"footfall/trainer/guard"
)

const (
	// applicationID stands in the header of every history since version 4: "Foot".
	applicationID = 0x466f6f74
	// markedFrom is the first version that has it.
	markedFrom = 4
)

// The SQLite file format, https://www.sqlite.org/fileformat2.html: a header of
// 100 bytes begins the first page; a write-ahead log has a header of 32 bytes, and
// before each page one of 24.
const (
	magic           = "SQLite format 3\x00"
	headerSize      = 100
	counterAt       = 24
	userVersionAt   = 60
	applicationAt   = 68
	logHeaderSize   = 32
	frameHeaderSize = 24
)

// inspect looks at a file's bytes, without opening it as a database, and returns
// the version of the history in it, 0 where there is nothing yet. What is no
// history that this program can open is a *Fault, and stays as it was to the byte; so
// is a file that does not answer.
func inspect(path string) (version int, err error) {
	head, err := guard.InTime("the history "+path, func() ([]byte, error) { return header(path) }, func([]byte) {})
	if err != nil {
		return 0, fault(path, err)
	}
	if head == nil {
		return 0, nil
	}
	if len(head) < headerSize || !bytes.HasPrefix(head, []byte(magic)) {
		return 0, &Fault{Damaged, path, errors.New("it is no database")}
	}
	known := len(migrationNames())
	version = int(int32(binary.BigEndian.Uint32(head[userVersionAt:])))
	switch id := binary.BigEndian.Uint32(head[applicationAt:]); {
	case id == applicationID && version >= markedFrom && version <= known:
		return version, nil
	case id == applicationID && version <= 0:
		return 0, &Fault{Foreign, path, fmt.Errorf("version %d, which no Footfall writes", version)}
	case id == applicationID:
		return 0, &Fault{TooNew, path, fmt.Errorf("version %d, this program knows %d to %d", version, markedFrom, known)}
	case id != 0 || version < 0 || version >= markedFrom:
		return 0, &Fault{Foreign, path, fmt.Errorf("application %d, version %d", id, version)}
	}
	// Versions before 4 did not sign the file: the tables tell.
	tables, err := tablesOf(path)
	if err != nil {
		return 0, fault(path, err)
	}
	ours := slices.Contains(tables, "sittings") && slices.Contains(tables, "items") && slices.Contains(tables, "answers")
	if len(tables) > 0 && !ours {
		return 0, &Fault{Foreign, path, errors.New("it has other tables")}
	}
	return version, nil
}

// header returns the latest committed header of a database: from its write-ahead
// log where one lies beside it. It is nil where the file is not there or empty.
func header(path string) ([]byte, error) {
	f, err := gate.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	defer f.Close()
	head := make([]byte, headerSize)
	n, err := io.ReadFull(f, head)
	if n == 0 && errors.Is(err, io.EOF) {
		return nil, nil
	}
	if errors.Is(err, io.ErrUnexpectedEOF) {
		return head[:n], nil
	}
	if err != nil || !bytes.HasPrefix(head, []byte(magic)) {
		return head, err
	}
	if logged := loggedHeader(path + "-wal"); logged != nil {
		return logged, nil
	}
	return head, nil
}

// loggedHeader returns the header of the first page as a write-ahead log last
// committed it, nil where it holds none.
func loggedHeader(path string) []byte {
	f, err := gate.Open(path)
	if err != nil {
		return nil
	}
	defer f.Close()
	start := make([]byte, logHeaderSize)
	if _, err := io.ReadFull(f, start); err != nil || binary.BigEndian.Uint32(start)&^1 != 0x377f0682 {
		return nil
	}
	size, salts := int64(binary.BigEndian.Uint32(start[8:])), start[16:24]
	var found, committed []byte
	frame := make([]byte, frameHeaderSize+headerSize)
	for at := int64(logHeaderSize); ; at += frameHeaderSize + size {
		if _, err := f.ReadAt(frame, at); err != nil || !bytes.Equal(frame[8:16], salts) {
			return committed
		}
		if binary.BigEndian.Uint32(frame) == 1 {
			found = slices.Clone(frame[frameHeaderSize:])
		}
		if binary.BigEndian.Uint32(frame[4:]) != 0 {
			committed = found
		}
	}
}

// tablesOf lists a database's tables without leaving a trace beside it.
func tablesOf(path string) (tables []string, err error) {
	s, err := openReadOnly(path)
	if err != nil {
		return nil, err
	}
	defer s.Close()
	rows, err := s.db.Query("SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%'")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			return nil, err
		}
		tables = append(tables, name)
	}
	return tables, rows.Err()
}

// beside are the endings of the files that may hold what a database's own file
// does not hold yet.
var beside = []string{"-wal", "-journal"}

// logged reports whether such a file lies beside a database.
func logged(path string) bool {
	return slices.ContainsFunc(beside, func(end string) bool {
		info, err := os.Stat(path + end)
		return err == nil && info.Size() > 0
	})
}

// copyWhole copies a database, with what lies beside it, to a new path. It refuses
// where another program keeps writing to it.
func copyWhole(from, to string) error {
	for range 3 {
		before := stamps(from)
		for _, end := range append([]string{""}, beside...) {
			err := copyFile(from+end, to+end)
			if end != "" && errors.Is(err, fs.ErrNotExist) {
				err = os.Remove(to + end)
				if errors.Is(err, fs.ErrNotExist) {
					err = nil
				}
			}
			if err != nil {
				return err
			}
		}
		if slices.Equal(before, stamps(from)) {
			return nil
		}
	}
	return &Fault{Locked, from, errors.New("it is being written to")}
}

// stamps sums up when and how long the files of a database were last written.
func stamps(path string) (all []string) {
	for _, end := range append([]string{""}, beside...) {
		if info, err := os.Stat(path + end); err == nil {
			all = append(all, fmt.Sprint(end, info.Size(), info.ModTime()))
		}
	}
	return all
}

func copyFile(from, to string) error {
	in, err := gate.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	if closeErr := out.Close(); err == nil {
		err = closeErr
	}
	return err
}

// inTemporary returns a path for a copy of a history, and what removes it.
func inTemporary() (path string, remove func(), err error) {
	dir, remove, err := gate.Temporary()
	return filepath.Join(dir, FileName), remove, err
}
