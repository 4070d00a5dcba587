package tunebook

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"footfall/trainer/gate"
)

// Draft is a copy of unsaved work on one tune, kept apart from its file so that
// it outlives a crash. Its methods may be called from any goroutine.
type Draft struct {
	path string

	mu   sync.Mutex
	last int
}

// Draft returns the draft of the tune that is saved at a path. In the zero Book
// it keeps nothing.
func (b Book) Draft(target string) *Draft {
	if b.folder == "" {
		return &Draft{}
	}
	if abs, err := filepath.Abs(target); err == nil {
		target = abs
	}
	name := strings.TrimSuffix(filepath.Base(target), filepath.Ext(target))
	sum := sha256.Sum256([]byte(target))
	return &Draft{path: filepath.Join(b.folder, "drafts", fmt.Sprintf("%s-%x%s", name, sum[:4], Ending))}
}

// Found returns the work that was not saved and when it was kept; ok is false
// where there is none.
func (d *Draft) Found() (text string, at time.Time, ok bool, err error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.path == "" {
		return "", time.Time{}, false, nil
	}
	info, err := os.Stat(d.path)
	if errors.Is(err, fs.ErrNotExist) {
		return "", time.Time{}, false, nil
	}
	if err != nil {
		return "", time.Time{}, false, err
	}
	data, err := read(d.path)
	return string(data), info.ModTime(), err == nil, err
}

// Keep writes the work as it stands; an empty text drops the draft. Versions
// count up: one that comes later than a newer one is left aside.
func (d *Draft) Keep(version int, text string) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.path == "" || version < d.last {
		return nil
	}
	d.last = version
	if text == "" {
		if err := os.Remove(d.path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		return nil
	}
	return gate.Replace(d.path, []byte(text), 0o600)
}
