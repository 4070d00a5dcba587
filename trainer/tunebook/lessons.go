package tunebook

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"footfall/trainer/guard"
)

// LessonEnding is the ending of lesson files.
const LessonEnding = ".lesson"

// OwnLesson is the text of a lesson that a teacher gave, which is not judged here.
type OwnLesson struct {
	// Name is the file's name without its ending.
	Name, Path, Text string
}

// LessonFolder returns where teachers' lessons are kept, "" in the zero Book. It need not
// exist yet.
func (b Book) LessonFolder() string {
	if b.folder == "" {
		return ""
	}
	return filepath.Join(b.folder, "lessons")
}

// Lessons reads the lessons of the book in the order of their names. A file that cannot be
// read is an error in the list of errors, and left out; so is a folder that does not answer.
func (b Book) Lessons() (own []OwnLesson, errs []error) {
	if b.folder == "" {
		return nil, nil
	}
	own, err := guard.InTime(b.LessonFolder(), func() (own []OwnLesson, err error) {
		entries, err := os.ReadDir(b.LessonFolder())
		if errors.Is(err, fs.ErrNotExist) {
			return nil, nil
		}
		for _, e := range entries {
			name, ok := strings.CutSuffix(e.Name(), LessonEnding)
			if !ok || name == "" || e.IsDir() {
				continue
			}
			path := filepath.Join(b.LessonFolder(), e.Name())
			f, err := Read(path)
			if err != nil {
				errs = append(errs, err)
				continue
			}
			own = append(own, OwnLesson{name, path, f.Text()})
		}
		return own, err
	}, func([]OwnLesson) {})
	if err != nil {
		errs = append(errs, err)
	}
	slices.SortFunc(own, func(x, y OwnLesson) int { return strings.Compare(x.Name, y.Name) })
	return own, errs
}

// mostNamesakes is how many lessons of one file name are kept at most.
const mostNamesakes = 99

// KeepLesson keeps a copy of a lesson under a name, and returns the name that it has: that
// one, or the same with a number where another lesson is kept by it. Same tells whether the
// text that is kept by a name is the lesson too, in whichever version, which is then
// replaced.
func (b Book) KeepLesson(name, text string, same func(kept string) bool) (string, error) {
	if b.folder == "" {
		return name, nil
	}
	for n := 1; n <= mostNamesakes; n++ {
		as := name
		if n > 1 {
			as = fmt.Sprintf("%s-%d", name, n)
		}
		f, err := Read(filepath.Join(b.LessonFolder(), as+LessonEnding))
		switch {
		case err != nil:
			return as, err
		case f.Text() == text:
			return as, nil
		case f.Text() == "" || same(f.Text()):
			return as, f.Replace(text)
		}
	}
	return name, fmt.Errorf("%s has %d lessons of the name %s: take some of them out", b.LessonFolder(), mostNamesakes, name)
}
