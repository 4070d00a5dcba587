// Package gate is the one way in for what lies outside the program: files, pipes and
// standard input. What it opens is a file, or a pipe that was asked for; nothing that
// it does waits for ever, and nothing takes more memory than it may.
//
// It must never know what a file holds.
package gate

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"time"

	"footfall/trainer/clock"
	"footfall/trainer/guard"
)

// InMemory is the most that is read whole, in bytes. What may be longer is streamed.
const InMemory = 64 << 20

const (
	// readTime is how long a disk may take for a piece of a file.
	readTime = 10 * time.Second
	// writerTime is how long a pipe waits for somebody who writes to it.
	writerTime = 10 * time.Second
	writerPoll = 20 * time.Millisecond
	pieceSize  = 64 << 10
)

// Refused is the error of what is not opened, or is not read to its end.
type Refused struct {
	Path string
	// What it is: "a folder, not a file", "longer than 4 MB".
	What string
	// Long is set where it holds more than is read.
	Long bool
}

// Error says what the thing is.
func (r *Refused) Error() string { return fmt.Sprintf("%s is %s", r.Path, r.What) }

// Folder reports whether an error says that a folder stands where a file should.
func Folder(err error) bool {
	var r *Refused
	return errors.As(err, &r) && r.What == folder
}

const folder = "a folder, not a file"

// File is something open to be read once, from its beginning. It is for one goroutine.
type File struct {
	path string
	from io.Reader
	// file is nil where what is read is none of the system's.
	file *os.File
	// size is what a regular file holds, −1 for what has no size; to one that has a size
	// seek goes back.
	size int64
	seek io.Seeker
	// watched is set where each piece must come in time.
	watched bool
	// waits is set until somebody has written to a pipe.
	waits  bool
	piece  []byte
	at, to int
	err    error
	// remove takes a temporary file away; nil where there is none.
	remove func()
}

// Open opens a regular file. Anything else at the path is a *Refused, and a disk that
// does not answer an error that wraps guard.ErrSilent.
func Open(path string) (*File, error) { return open(path, false) }

// OpenAsked is Open for a path that the player named just now: it may be a pipe too, to
// which somebody must write within ten seconds.
func OpenAsked(path string) (*File, error) { return open(path, true) }

func open(path string, asked bool) (*File, error) {
	return guard.InTime(path, func() (*File, error) {
		info, err := os.Stat(path) // some devices act when they are opened
		if err != nil {
			return nil, err
		}
		if err := judge(path, info, asked); err != nil {
			return nil, err
		}
		file, err := os.OpenFile(path, os.O_RDONLY|withoutWaiting, 0)
		if err != nil {
			return nil, err
		}
		if info, err = file.Stat(); err == nil {
			err = judge(path, info, asked) // it may have become another
		}
		if err != nil {
			file.Close()
			return nil, err
		}
		f := &File{path: path, from: file, file: file, size: -1}
		if info.Mode().IsRegular() {
			f.size, f.seek, f.watched = info.Size(), file, true
		} else {
			f.waits = true
		}
		return f, nil
	}, func(f *File) { f.Close() })
}

// judge says why what is at a path is not opened.
func judge(path string, info fs.FileInfo, pipes bool) error {
	what := ""
	switch mode := info.Mode(); {
	case mode.IsRegular():
	case mode.IsDir():
		what = folder
	case mode&fs.ModeNamedPipe != 0:
		if !pipes {
			what = "a pipe, not a file"
		}
	case mode&fs.ModeSocket != 0:
		what = "a socket, not a file"
	default:
		what = "a device, not a file"
	}
	if what == "" {
		return nil
	}
	return &Refused{Path: path, What: what}
}

// From is a File of a stream that is open already, such as standard input, with the name
// to call it by. Closing it leaves the stream open.
func From(name string, r io.Reader) *File {
	f := &File{path: name, from: r, size: -1}
	if file, ok := r.(*os.File); ok {
		if info, err := file.Stat(); err == nil && info.Mode().IsRegular() {
			if at, err := file.Seek(0, io.SeekCurrent); err == nil && at == 0 {
				f.size, f.seek, f.watched = info.Size(), file, true
			}
		}
	}
	return f
}

// Regular reports whether it is a regular file.
func (f *File) Regular() bool { return f.size >= 0 }

// ReadAt is io.ReaderAt's, for a regular file. It waits for its disk.
func (f *File) ReadAt(b []byte, at int64) (int, error) {
	if f.file == nil {
		return 0, errors.ErrUnsupported
	}
	return f.file.ReadAt(b, at)
}

// Close closes what was opened.
func (f *File) Close() error {
	if f.file == nil {
		return nil
	}
	err := f.file.Close()
	if f.remove != nil {
		f.remove()
	}
	return err
}

// Peek returns the first n bytes without reading them, fewer where there are no more; n
// is a few hundred at most.
func (f *File) Peek(n int) ([]byte, error) {
	for f.to-f.at < n && f.err == nil {
		if f.at > 0 || f.to == len(f.piece) {
			f.to, f.at = copy(f.piece, f.piece[f.at:f.to]), 0
		}
		f.fill()
	}
	if f.to == f.at && f.err != nil && f.err != io.EOF {
		return nil, f.err
	}
	return f.piece[f.at:min(f.to, f.at+n)], nil
}

// Read is io.Reader's.
func (f *File) Read(b []byte) (int, error) {
	if f.at == f.to {
		if f.err != nil {
			return 0, f.err
		}
		f.at, f.to = 0, 0
		f.fill()
	}
	n := copy(b, f.piece[f.at:f.to])
	f.at += n
	if n == 0 && len(b) > 0 && f.at == f.to {
		return 0, f.err
	}
	return n, nil
}

// fill reads more into the piece.
func (f *File) fill() {
	if f.piece == nil {
		f.piece = make([]byte, pieceSize)
	}
	room := f.piece[f.to:]
	n, err := 0, error(nil)
	if f.watched {
		n, err = f.inTime(room)
	} else {
		n, err = f.from.Read(room)
		for end := clock.Now().Add(writerTime); f.waits && n == 0 && err == io.EOF; {
			over := left(f.file) // it may have written before it left
			if n, err = f.from.Read(room); over || n > 0 {
				break
			}
			if clock.Now().After(end) {
				err = &Refused{Path: f.path, What: "a pipe to which nobody writes"}
				break
			}
			time.Sleep(writerPoll)
		}
		f.waits = f.waits && n == 0
	}
	f.to += n
	f.err = err
}

// inTime reads a piece that must come in time. The room is lost to what comes later.
func (f *File) inTime(room []byte) (int, error) {
	ctx, cancel := context.WithTimeout(context.Background(), readTime)
	defer cancel()
	n, err := guard.Await(ctx, func() (int, error) {
		n, err := f.from.Read(room)
		if n > 0 {
			err = nil // it comes again
		}
		return n, err
	}, func(int) {})
	if errors.Is(err, context.DeadlineExceeded) {
		f.piece = nil
		f.at, f.to = 0, 0
		return 0, fmt.Errorf("%s %w", f.path, guard.ErrSilent)
	}
	return n, err
}

// All reads what is left, at most most bytes, which InMemory bounds. What is longer is a
// *Refused, where it has a size before anything of it is read.
func (f *File) All(most int64) ([]byte, error) {
	most = min(most, InMemory)
	tooLong := f.longer(most)
	if f.size > most {
		return nil, tooLong
	}
	var pieces [][]byte
	length := int64(0)
	next := max(f.size+1, pieceSize) // one more, to see the end
	for {
		piece := make([]byte, next)
		n, err := io.ReadFull(f, piece)
		pieces = append(pieces, piece[:n])
		length += int64(n)
		if length > most {
			return nil, tooLong
		}
		if err == io.EOF || err == io.ErrUnexpectedEOF {
			return joined(pieces, length), nil
		}
		if err != nil {
			return nil, err
		}
		next = min(next, 1<<20)
	}
}

// longer is the refusal of what holds more than most bytes.
func (f *File) longer(most int64) error {
	size := fmt.Sprintf("%d MB", most>>20)
	if most < 1<<20 {
		size = fmt.Sprintf("%d kB", most>>10)
	}
	return &Refused{Path: f.path, What: "longer than " + size, Long: true}
}

func joined(pieces [][]byte, length int64) []byte {
	if len(pieces) == 1 {
		return pieces[0]
	}
	all := make([]byte, 0, length)
	for _, p := range pieces {
		all = append(all, p...)
	}
	return all
}

// Read reads a regular file whole.
func Read(path string, most int64) ([]byte, error) {
	f, err := Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return f.All(most)
}
