package tunebook

import (
	"bytes"
	"errors"
	"io/fs"

	"footfall/trainer/gate"
)

// maxBytes bounds what is read as a tune; one of 500 bars takes a hundredth.
const maxBytes = 2 << 20

// ErrChanged says that a file is not what was last seen of it.
var ErrChanged = errors.New("another program has changed it since it was read")

// File is the file of one tune and what was last seen of it.
type File struct {
	path string
	seen []byte
}

// Read reads a tune's file. One that does not exist is as good as empty. The
// text is not judged.
func Read(path string) (*File, error) {
	data, err := read(path)
	if err != nil {
		return nil, err
	}
	return &File{path: path, seen: data}, nil
}

// read returns what is in a file, nil where it does not exist.
func read(path string) ([]byte, error) {
	data, err := gate.Read(path, maxBytes)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	return data, err
}

// Path returns the file's path.
func (f *File) Path() string { return f.path }

// Text returns what was last seen in the file.
func (f *File) Text() string { return string(f.seen) }

// Replace writes the file, whole or not at all. Where it is not what was last
// seen of it the error is ErrChanged, and a second call replaces it all the
// same.
func (f *File) Replace(text string) error {
	now, err := read(f.path)
	if err != nil {
		return err
	}
	if !bytes.Equal(now, f.seen) {
		f.seen = now
		return ErrChanged
	}
	if err := gate.Replace(f.path, []byte(text), 0o644); err != nil {
		return err
	}
	f.seen = []byte(text)
	return nil
}
