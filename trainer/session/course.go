package session

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"footfall/content"
	"footfall/drills/lesson"
	"footfall/drills/memory"
	"footfall/drills/today"
	"footfall/harmony/tune"
	"footfall/trainer/tunebook"
)

// Lessons are the lessons there are in the order they are taken: those that come with
// the program, then a teacher's.
func (d *Desk) Lessons() []*lesson.Lesson {
	var all []*lesson.Lesson
	for _, name := range d.lessonNames() {
		if l := d.Lesson(name); l != nil {
			all = append(all, l)
		}
	}
	return all
}

func (d *Desk) lessonNames() []string {
	names := content.LessonNames()
	for _, l := range d.Taught {
		names = append(names, l.Name)
	}
	return names
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

// ReadLesson reads a lesson whose tunes are those on the desk.
func (d *Desk) ReadLesson(name, text string) (*lesson.Lesson, tune.Faults) {
	return lesson.Read(name, text, func(name string) (*tune.Tune, bool) {
		t, err := d.Tune(name)
		return t.Tune, err == nil
	})
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

// TeachersName is what a lesson is called for good that a teacher gave as a file.
func TeachersName(path string) string {
	name := filepath.Base(path)
	return "teacher-" + tunebook.NameOf(strings.TrimSuffix(name, filepath.Ext(name)))
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
	return Tune{Name: name, Tune: l.Own}, true
}

// taught is a lesson with what its drills ask; nil where there is none of the name.
func (d *Desk) taught(name string) *today.Taught {
	l := d.Lesson(name)
	if l == nil {
		return nil
	}
	t := d.taughtOf(l)
	return &t
}

func (d *Desk) taughtOf(l *lesson.Lesson) today.Taught {
	t := today.Taught{Lesson: l}
	for _, task := range l.Tasks {
		var items []memory.Item
		if task.Drill != nil && task.Drill.Kind != memory.Line {
			if c, ok, err := d.taskChoice(*task.Drill, Choice{}); ok && err == nil {
				items = c.Only
			}
		}
		t.Items = append(t.Items, items)
	}
	return t
}

// next is the lesson that comes next with its task; nil where all are learned. Tasks
// whose things are all known well are passed over where what is known is given, and are
// as good as met in the course that it returns.
func (d *Desk) next(c today.Course, known map[memory.Item]memory.State) (*today.Taught, today.Course) {
	for _, name := range content.LessonNames() {
		l := d.Lesson(name)
		if l == nil {
			continue
		}
		for i := range l.Tasks {
			if c.Has(name, i+1) {
				continue
			}
			t := d.taughtOf(l)
			if items := t.Items[i]; len(items) == 0 || !wellKnown(items, known) {
				t.Task = i
				return &t, c
			}
			c = c.With(name, i+1)
		}
	}
	return nil, c
}

// wellKnown is how long things last at least that need no lesson, in days.
const wellKnownDays = 7

func wellKnown(items []memory.Item, known map[memory.Item]memory.State) bool {
	for _, it := range items {
		if s := known[it]; s.New() || s.Stability < wellKnownDays {
			return false
		}
	}
	return true
}

// firstLessons are the lessons that there were while plans counted them, in their order.
var firstLessons = []string{
	"what-a-degree-is", "roots-on-two-strings", "the-fifth-next-door", "major-or-minor", "the-two-sevenths", "chord-tones-of-a-tune", "four-to-the-bar",
	"steps-into-the-root", "minor-two-five", "round-the-keys", "a-shape-where-it-changes", "what-a-shape-is", "shapes-in-mid-bar", "the-whole-thing-at-tempo",
}

// named is a course whose lessons are named, where a plan counted them.
func (d *Desk) named(c today.Course) today.Course {
	for i, name := range firstLessons[:min(max(c.Lesson, 0)+1, len(firstLessons))] {
		l := d.Lesson(name)
		if l == nil {
			continue
		}
		for task := range l.Tasks {
			if i < c.Lesson || task < c.Task {
				c = c.With(name, task+1)
			}
		}
	}
	c.Lesson, c.Task = 0, 0
	return c
}

// ownMinutes is how long a task takes at most that is begun from its lesson's page. Common
// practice, no source.
const ownMinutes = 5

// Take makes a task of a lesson, counted from 1, a step of the day, where it is none that
// waits already, and returns the number of the step.
func (a *Agenda) Take(name string, task int) (int, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	t := a.desk.taught(name)
	if t == nil || task < 1 || task > len(t.Lesson.Tasks) {
		return 0, errNoTask
	}
	left, err := a.desk.left()
	if err != nil {
		return 0, err
	}
	step := t.Step(task-1, ownMinutes, left)
	step.Why = "begun from the lesson's page"
	step.Text = t.Lesson.Title + ". " + step.Text
	i := slices.IndexFunc(a.plan.Steps, func(s today.Step) bool { return s.Lesson == name && s.TaskN == task && !s.Met })
	if i < 0 {
		for _, s := range a.plan.Steps {
			step.N = max(step.N, s.N)
		}
		step.N++
		a.plan.Steps = append(slices.Clone(a.plan.Steps), step)
		return step.N, a.save()
	}
	s := &a.plan.Steps[i]
	s.Ramp, s.Tempo = step.Ramp, step.Tempo
	if s.Done || s.Left() == 0 {
		s.Items, s.Done, s.Minutes = step.Items, false, ownMinutes+int(s.Spent)/60
	}
	return s.N, a.save()
}

var errNoTask = errors.New("there is no such task of a lesson")

// Met reports whether a task of a lesson, counted from 1, was ever met.
func (a *Agenda) Met(lesson string, task int) bool {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.plan.Course.Has(lesson, task)
}
