package history

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"footfall/trainer/gate"
)

// mark is how a history's files looked when they were last written to.
type mark struct {
	identity  []byte
	file, log fs.FileInfo
	counter   uint32
}

// markOf marks an open history.
func markOf(s *Store) (m mark) {
	m.file, _ = os.Stat(s.path)
	m.log, _ = os.Stat(s.path + "-wal")
	m.counter = counterOf(s.path)
	_ = s.db.QueryRow(`SELECT id FROM identity`).Scan(&m.identity)
	return m
}

// counterOf reads the change counter of a database's own file, which only rises.
func counterOf(path string) uint32 {
	f, err := gate.Open(path)
	if err != nil {
		return 0
	}
	defer f.Close()
	var counter [4]byte
	if _, err := f.ReadAt(counter[:], counterAt); err != nil {
		return 0
	}
	return binary.BigEndian.Uint32(counter[:])
}

// whereabouts is what became of a file that is open.
type whereabouts uint8

const (
	stayed whereabouts = iota
	deleted
	replaced // by another file, or by other contents
)

// moved tells what became of the file since it was marked.
func (s *Store) moved(m mark) whereabouts {
	file, err := os.Stat(s.path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return deleted
	case err != nil || m.file == nil:
		return stayed // the next write tells what is wrong
	case !os.SameFile(file, m.file):
		return replaced
	}
	if log, err := os.Stat(s.path + "-wal"); m.log != nil && (err != nil || !os.SameFile(log, m.log)) {
		return replaced
	}
	if file.ModTime().Equal(m.file.ModTime()) && file.Size() == m.file.Size() {
		return stayed
	}
	// Another program wrote to it: a history's own program, or one that copied
	// something else over it.
	if counterOf(s.path) < m.counter || !bytes.Equal(identityOf(s.path), m.identity) {
		return replaced
	}
	return stayed
}

// identityOf reads the identity in a database's own file, nil where it has none.
func identityOf(path string) (id []byte) {
	db, err := sql.Open("sqlite", dsn(path)+"mode=ro&immutable=1")
	if err != nil {
		return nil
	}
	defer db.Close()
	_ = db.QueryRow(`SELECT id FROM identity`).Scan(&id)
	return id
}

// follow goes on in the file that now lies where the history was, or writes the
// history again where it was deleted.
func (k *Keeper) follow() error {
	where := k.file.moved(k.marked)
	if where == stayed {
		return nil
	}
	old := k.file
	k.file = nil
	notice := fmt.Sprintf("Another file was put in the place of the history %s while the program ran. What you have done since the start goes into it.", k.path)
	if where == deleted {
		notice = fmt.Sprintf("The history %s was deleted while the program ran. It has been written again, and nothing is lost.", k.path)
	}
	var err error
	if where == deleted {
		err = old.writeAgain()
	}
	old.letGo(k.marked)
	var file *Store
	if err == nil {
		file, err = k.openOrSetAside(busy)
	}
	if err == nil {
		_, err = file.merge(context.Background(), k.done.feed)
	}
	if err != nil {
		if err := k.goSpare(err); err != nil {
			return err
		}
		_, err = k.spare.merge(context.Background(), k.done.feed)
		return err
	}
	k.use(file)
	if k.notice == "" { // it was not found damaged
		k.notice = notice
	}
	return nil
}

// letGo lets an open store go whose file was deleted or replaced, and takes away what
// it left beside: its write-ahead log must not be read into another file.
func (s *Store) letGo(m mark) {
	log := s.path + "-wal"
	now, err := os.Stat(log)
	mine := err == nil && m.log != nil && os.SameFile(now, m.log)
	if file, err := os.Stat(s.path); err == nil && os.SameFile(file, m.file) {
		// Its contents are others now. Closing would write the log into them, and
		// cannot where the log is empty.
		if mine {
			os.Truncate(log, 0)
		}
		s.db.Close()
	} else {
		// A file that was moved away gets all that is in the log. Then it stays open:
		// closing removes the log by its name, which may be another's.
		_, _ = s.db.Exec("PRAGMA wal_checkpoint(TRUNCATE)")
	}
	if mine {
		os.Remove(log)
		os.Remove(s.path + "-shm")
	}
}

// writeAgain writes a history whose file was deleted to where it was.
func (s *Store) writeAgain() error {
	if err := os.MkdirAll(filepath.Dir(s.path), 0o700); err != nil {
		return err
	}
	if err := s.Backup(context.Background(), s.path); !errors.Is(err, fs.ErrExist) {
		return err
	}
	return nil // somebody else was faster
}

// Identity tells this history from any other, for as long as it is kept; "" where it has none.
func (s *Store) Identity() string {
	var id []byte
	_ = s.db.QueryRow(`SELECT id FROM identity`).Scan(&id)
	return hex.EncodeToString(id)
}
