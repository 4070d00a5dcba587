package session

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"footfall/content"
	"footfall/drills"
	"footfall/drills/lesson"
	"footfall/drills/memory"
	"footfall/harmony/tune"
	"footfall/trainer/nearest"
	"footfall/trainer/tunebook"
)

// Lessons are the lessons there are in the order they are taken: a teacher's, then those that
// come with the program.
func (d *Desk) Lessons() []*lesson.Lesson {
	var all []*lesson.Lesson
	for _, name := range d.LessonNames() {
		if l := d.Lesson(name); l != nil {
			all = append(all, l)
		}
	}
	return all
}

// LessonNames are their names.
func (d *Desk) LessonNames() []string {
	var names []string
	for _, l := range d.Taught {
		names = append(names, l.Name)
	}
	return append(names, content.LessonNames()...)
}

// Lesson finds a lesson by its name; nil where there is none, or where one of its tunes
// is not there.
func (d *Desk) Lesson(name string) *lesson.Lesson {
	if i := slices.IndexFunc(d.Taught, func(l *lesson.Lesson) bool { return l.Name == name }); i >= 0 {
		return d.Taught[i]
	}
	text, ok := content.LessonText(name)
	if !ok {
		return nil
	}
	l, faults := d.ReadLesson(name, text)
	if len(faults) > 0 {
		return nil
	}
	return l
}

// LessonCalled finds a lesson by its name, with the number of its place before it or without, or
// by its title, in any case; that of a teacher's file is its name too. The error names the one
// that may have been meant, or all there are.
func (d *Desk) LessonCalled(words string) (*lesson.Lesson, error) {
	names := []string{words, TeachersName(words)}
	if number, name, ok := strings.Cut(words, "-"); ok && strings.Trim(number, "0123456789") == "" {
		names = append(names, name)
	}
	for _, name := range names {
		if l := d.Lesson(name); l != nil {
			return l, nil
		}
	}
	titles := map[string]string{}
	var among []string
	for _, l := range d.Lessons() {
		if strings.EqualFold(l.Title, words) {
			return l, nil
		}
		titles[l.Title] = l.Name
		among = append(among, l.Name, l.Title)
	}
	near, ok := nearest.Word(words, among)
	switch name, titled := titles[near]; {
	case titled:
		return nil, fmt.Errorf("did you mean %q, which is %s?", near, name)
	case ok:
		return nil, fmt.Errorf("did you mean %s?", near)
	}
	return nil, fmt.Errorf("use %s", strings.Join(d.LessonNames(), ", "))
}

// ReadLesson reads a lesson whose tunes are those on the desk.
func (d *Desk) ReadLesson(name, text string) (*lesson.Lesson, tune.Faults) {
	return lesson.Read(name, text, func(name string) (*tune.Tune, bool) {
		if t := d.laid(name); t.Tune != nil {
			return t.Tune, true
		}
		t := d.ofOther(name)
		return t, t != nil
	})
}

// ofOther is the tune that another lesson brings with it, by its name; nil where there is none.
func (d *Desk) ofOther(name string) *tune.Tune {
	of, ok := lesson.OfOwn(name)
	if !ok {
		return nil
	}
	if i := slices.IndexFunc(d.Taught, func(l *lesson.Lesson) bool { return l.Name == of }); i >= 0 {
		return d.Taught[i].Own
	}
	text, _ := content.LessonText(of)
	own, _, ok := lesson.OwnText(text)
	if !ok {
		return nil
	}
	t, _ := tune.Read(own)
	return t
}

// Unasked tells which drills of a lesson cannot be asked as they are written, each with its line.
func (d *Desk) Unasked(l *lesson.Lesson) (faults tune.Faults, err error) {
	for _, task := range l.Tasks {
		if task.Drill == nil || task.Drill.Kind == memory.Hits {
			continue
		}
		m, err := d.material(Choice{Tune: task.Drill.Tune, Chords: task.Drill.Chords})
		if task.Drill.Tune == lesson.OwnName(l.Name) {
			m, err = drills.OfTune(task.Drill.Tune, l.Own, d.Neck), nil
		}
		if err != nil {
			return nil, err
		}
		m.Hand = d.Hand
		all, err := task.Unasked(m)
		if err != nil {
			return nil, err
		}
		faults = append(faults, all...)
	}
	return faults, nil
}

// Broken tells which promises of a lesson its passages do not keep.
func (d *Desk) Broken(l *lesson.Lesson) (broken []error, err error) {
	for _, task := range l.Tasks {
		if task.Passage == nil {
			continue
		}
		t, err := d.Tune(task.Passage.Tune)
		if task.Passage.Tune == lesson.OwnName(l.Name) {
			t, err = Tune{Tune: l.Own}, nil
		}
		if err != nil {
			return nil, err
		}
		all, err := task.Passage.Broken(t.Tune, d.Neck, d.Hand)
		if err != nil {
			return nil, err
		}
		for _, says := range all {
			broken = append(broken, fmt.Errorf("of %s, %s", task.Passage.Title, says))
		}
	}
	return broken, nil
}

// teachers leads the names of lessons that a teacher gave.
const teachers = "teacher-"

// TeachersName is what a lesson is called for good that a teacher gave as a file, where no
// other lesson of a teacher has the name already.
func TeachersName(path string) string {
	name := filepath.Base(path)
	return teachers + tunebook.NameOf(strings.TrimSuffix(name, filepath.Ext(name)))
}

// TakeIn lays a teacher's lesson, which ReadLesson has read from a text, on the desk, in the
// place of an older version of it, and keeps a copy in the book, so that it is there
// tomorrow without its file. It returns the lesson by the name it is kept by. Where the copy
// cannot be kept, which the error says, the lesson is on the desk all the same.
func (d *Desk) TakeIn(l *lesson.Lesson, text string, book tunebook.Book) (*lesson.Lesson, error) {
	name, err := book.KeepLesson(strings.TrimPrefix(l.Name, teachers), text, func(kept string) bool {
		old, faults := d.ReadLesson(l.Name, kept)
		return len(faults) == 0 && old.Title == l.Title
	})
	if teachers+name != l.Name {
		l, _ = d.ReadLesson(teachers+name, text)
	}
	d.Taught = slices.DeleteFunc(d.Taught, func(other *lesson.Lesson) bool { return other.Name == l.Name })
	d.Taught = append(d.Taught, l)
	return l, err
}

// shelveLessons puts the teachers' lessons that are kept in a book on the desk.
func (d *Desk) shelveLessons(book tunebook.Book, tell func(string)) {
	own, errs := book.Lessons()
	for _, err := range errs {
		tell(err.Error())
	}
	for _, o := range own {
		l, faults := d.ReadLesson(teachers+o.Name, o.Text)
		if len(faults) > 0 {
			tell(fmt.Sprintf("%s is no lesson now: %v", o.Path, faults[0]))
			continue
		}
		d.Taught = append(d.Taught, l)
	}
}

// ownTune is the tune of a lesson's own that has a name; false for any other name.
func (d *Desk) ownTune(name string) (Tune, bool) {
	of, ok := lesson.OfOwn(name)
	if !ok {
		return Tune{}, false
	}
	l := d.Lesson(of)
	if l == nil || l.Own == nil {
		return Tune{}, false
	}
	return d.brought(l), true
}

// brought is the tune that a lesson brings with it.
func (d *Desk) brought(l *lesson.Lesson) Tune {
	return Tune{Name: lesson.OwnName(l.Name), Tune: l.Own, Lesson: l.Title, Teachers: slices.Contains(d.Taught, l)}
}

// LessonTunes are the tunes that lessons bring with them, in the order of the lessons.
func (d *Desk) LessonTunes() (all []Tune) {
	for _, l := range d.Lessons() {
		if l.Own != nil {
			all = append(all, d.brought(l))
		}
	}
	return all
}

// LessonTunes are those of the lessons there are with a data folder, "" for the usual one.
func LessonTunes(data string) []Tune {
	var d Desk
	d.shelve(Options{Data: data, Tell: func(string) {}})
	return d.LessonTunes()
}
