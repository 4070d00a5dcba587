// Package tunebook is the player's own tunes on the disk: their folder, files
// that are replaced whole or not at all, and drafts of work that is not saved
// yet.
//
// It knows files and the tune format, never how a tune is edited or shown.
package tunebook

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"unicode"

	"footfall/harmony/tune"
	"footfall/trainer/guard"
)

// Ending is the ending of tune files.
const Ending = ".tune"

// Book is a player's tunes. The zero Book has none, and nowhere to keep any.
type Book struct{ folder string }

// In returns the book in a data folder, which need not exist yet.
func In(data string) Book { return Book{folder: data} }

// Path returns where the tune of a name is saved, "" in the zero Book.
func (b Book) Path(name string) string {
	if b.folder == "" {
		return ""
	}
	return filepath.Join(b.Folder(), name+Ending)
}

// Folder returns where tunes are saved, "" in the zero Book. It need not exist yet.
func (b Book) Folder() string {
	if b.folder == "" {
		return ""
	}
	return filepath.Join(b.folder, "tunes")
}

// NameOf makes a name of a tune's title.
func NameOf(title string) string {
	words := strings.FieldsFunc(strings.ToLower(title), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	name := cmp.Or(strings.Join(words, "-"), "tune")
	if device.MatchString(name) {
		name += "-tune"
	}
	return name
}

// longestName is how long the names of files are that are made of titles, in bytes: a name
// has 255 at most, its ending and what tells namesakes apart among them.
const longestName = 100

// FileNameOf makes a name for a file of a tune's title, of its beginning where it is long.
func FileNameOf(title string) string {
	name := NameOf(title)
	if len(name) > longestName {
		name = strings.TrimRight(strings.ToValidUTF8(name[:longestName], ""), "-")
	}
	return name
}

// device are the names that Windows keeps for devices, with any ending. Source:
// "Naming Files, Paths, and Namespaces", Microsoft, from memory.
var device = regexp.MustCompile(`^(con|prn|aux|nul|(com|lpt)[0-9])$`)

// Own is a tune of the player's.
type Own struct {
	// Name is the file's name without its ending.
	Name, Path string
	Tune       *tune.Tune
}

// Tunes reads the tunes of the book in the order of their names. A file that is
// no tune is an error in the list of errors, and left out; so is a folder that does
// not answer.
func (b Book) Tunes() ([]Own, []error) {
	if b.folder == "" {
		return nil, nil
	}
	var errs []error
	own, err := guard.InTime(b.Folder(), func() (own []Own, err error) {
		own, errs = b.read()
		return own, nil
	}, func([]Own) {})
	if err != nil {
		return nil, []error{err}
	}
	return own, errs
}

func (b Book) read() ([]Own, []error) {
	entries, err := os.ReadDir(b.Folder())
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	var own []Own
	var errs []error
	if err != nil {
		errs = append(errs, err)
	}
	for _, e := range entries {
		name, ok := strings.CutSuffix(e.Name(), Ending)
		if !ok || name == "" || e.IsDir() {
			continue
		}
		path := b.Path(name)
		f, err := Read(path)
		if err != nil {
			errs = append(errs, err)
			continue
		}
		t, faults := tune.Read(f.Text())
		if len(faults) > 0 {
			errs = append(errs, fmt.Errorf("%s is no tune yet: %w", path, faults[0]))
			continue
		}
		own = append(own, Own{Name: name, Path: path, Tune: t})
	}
	slices.SortFunc(own, func(x, y Own) int { return strings.Compare(x.Name, y.Name) })
	return own, errs
}
