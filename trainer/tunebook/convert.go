package tunebook

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"footfall/harmony/tune"
	"footfall/trainer/gate"
	"footfall/trainer/guard"
)

// formatFile marks a folder whose tunes are of today's format; one without it is of
// the program's first build, or new. Old texts are kept in the folder oldFolder.
const (
	formatFile = ".format"
	format     = "2\n"
	oldFolder  = "first-build"
)

// Convert rewrites the player's tunes and drafts of the program's first build, in
// which a . in the hits row left a beat to the layer: a * says so now. It does so
// once: a copy of each as it was is kept in kept, a folder beside it. n counts the
// files that changed. Where a file cannot be rewritten the error says so, and the
// next call tries again; a disk that does not answer in time is such an error.
func (b Book) Convert() (n int, kept []string, err error) {
	if b.folder == "" {
		return 0, nil, nil
	}
	type done struct {
		n    int
		kept []string
	}
	d, err := guard.InTime(b.Folder(), func() (d done, err error) {
		d.n, d.kept, err = b.convert()
		return d, err
	}, func(done) {})
	return d.n, d.kept, err
}

// Begin makes the folder of the player's tunes where there is none, marked so that what
// comes there is not taken for old.
func (b Book) Begin() error {
	if _, err := os.Stat(b.Folder()); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return gate.Replace(filepath.Join(b.Folder(), formatFile), []byte(format), 0o600)
}

func (b Book) convert() (n int, kept []string, err error) {
	for _, folder := range []string{b.Folder(), filepath.Join(b.folder, "drafts")} {
		m, e := convertFolder(folder)
		if n += m; m > 0 {
			kept = append(kept, filepath.Join(folder, oldFolder))
		}
		err = errors.Join(err, e)
	}
	return n, kept, err
}

func convertFolder(folder string) (n int, err error) {
	mark := filepath.Join(folder, formatFile)
	if _, err := os.Stat(mark); err == nil {
		return 0, nil
	}
	entries, err := os.ReadDir(folder)
	if errors.Is(err, fs.ErrNotExist) {
		// What comes there from now on is of today, by whatever hand.
		if _, err := os.Stat(filepath.Dir(folder)); err != nil {
			return 0, nil
		}
		_ = gate.Replace(mark, []byte(format), 0o600) // where nothing can be written nothing has to be converted
		return 0, nil
	} else if err != nil {
		return 0, err
	}
	var errs []error
	for _, e := range entries {
		if !e.Type().IsRegular() || !strings.HasSuffix(e.Name(), Ending) {
			continue
		}
		changed, err := convertFile(folder, e.Name())
		if changed {
			n++
		}
		if err != nil {
			errs = append(errs, fmt.Errorf("%s: %w", filepath.Join(folder, e.Name()), err))
		}
	}
	if errs == nil {
		errs = append(errs, gate.Replace(mark, []byte(format), 0o600))
	}
	return n, errors.Join(errs...)
}

// convertFile converts a file of a folder. One that is no longer like its copy was
// converted before something broke off.
func convertFile(folder, name string) (changed bool, err error) {
	copied, path := filepath.Join(folder, oldFolder, name), filepath.Join(folder, name)
	data, err := read(path)
	if err != nil {
		return false, err
	}
	before, err := read(copied)
	if err != nil || before != nil && !bytes.Equal(before, data) {
		return false, err
	}
	text := tune.ConvertOldHits(string(data))
	if t, faults := tune.Read(string(data)); text == string(data) || faults == nil && tune.Write(t) == text {
		return false, nil
	}
	if err := gate.Replace(copied, data, 0o600); err != nil {
		return false, err
	}
	return true, gate.Replace(path, []byte(text), 0o644)
}
