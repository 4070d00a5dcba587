package gate

import (
	"bytes"
	"errors"
	"io"
	"os"
)

// keptInMemory is how much of a stream is kept in memory before a temporary file takes it.
const keptInMemory = 8 << 20

// Seek is io.Seeker's, for a File that Seekable returned.
func (f *File) Seek(offset int64, whence int) (int64, error) {
	if f.seek == nil {
		return 0, errors.ErrUnsupported
	}
	if whence == io.SeekCurrent {
		offset -= int64(f.to - f.at)
	}
	at, err := f.seek.Seek(offset, whence)
	if err == nil {
		f.at, f.to, f.err = 0, 0, nil
	}
	return at, err
}

// Seekable returns a File of what is left, which can be read from any place, and more
// than once: itself where it is a regular file. A stream is read to its end first, at
// most most bytes; what of it has no room in memory lies in a temporary file until the
// one returned is closed. Close both.
func (f *File) Seekable(most int64) (*File, error) {
	tooLong := f.longer(most)
	if f.size > most {
		return nil, tooLong
	}
	if f.seek != nil {
		_, err := f.Seek(0, io.SeekStart)
		again := *f
		again.file, again.piece = nil, nil // f closes it
		return &again, err
	}
	begins, err := io.ReadAll(io.LimitReader(f, keptInMemory))
	if err != nil {
		return nil, err
	}
	s := &File{path: f.path, size: int64(len(begins))}
	if len(begins) < keptInMemory {
		all := bytes.NewReader(begins)
		s.from, s.seek = all, all
		return s, nil
	}
	file, err := os.CreateTemp("", temporary+"*")
	if err != nil {
		return nil, err
	}
	s.from, s.seek, s.file = file, file, file
	if os.Remove(file.Name()) != nil { // some systems keep the name of what is open
		s.remove = registered(file.Name())
	}
	if _, err = file.Write(begins); err == nil {
		var n int64
		n, err = io.Copy(file, io.LimitReader(f, most+1-keptInMemory))
		if s.size += n; err == nil && s.size > most {
			err = tooLong
		}
	}
	if err == nil {
		_, err = file.Seek(0, io.SeekStart)
	}
	if err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}
