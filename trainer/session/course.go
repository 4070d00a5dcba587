package session

import (
	"footfall/content"
	"footfall/drills/lesson"
	"footfall/drills/memory"
	"footfall/drills/today"
	"footfall/harmony/tune"
)

// lesson finds a built-in lesson by its name; nil where there is none.
func (d *Desk) lesson(name string) *lesson.Lesson {
	text, ok := content.LessonText(name)
	if !ok {
		return nil
	}
	l, faults := lesson.Read(text, func(name string) (*tune.Tune, bool) {
		t, err := d.Tune(name)
		return t.Tune, err == nil
	})
	if len(faults) > 0 {
		return nil // its tune is not here
	}
	return l
}

// taught is a lesson with what its drills ask; nil where there is none of the name.
func (d *Desk) taught(name string) *today.Taught {
	l := d.lesson(name)
	if l == nil {
		return nil
	}
	t := d.taughtOf(name, l)
	return &t
}

func (d *Desk) taughtOf(name string, l *lesson.Lesson) today.Taught {
	t := today.Taught{Name: name, Lesson: l}
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
// whose things are all known well are passed over where what is known is given.
func (d *Desk) next(c today.Course, known map[memory.Item]memory.State) (*today.Taught, today.Course) {
	names := content.LessonNames()
	for c.Lesson < len(names) {
		l := d.taught(names[c.Lesson])
		if l == nil || c.Task >= len(l.Lesson.Tasks) {
			c = today.Course{Lesson: c.Lesson + 1}
			continue
		}
		if items := l.Items[c.Task]; len(items) == 0 || !wellKnown(items, known) {
			l.Task = c.Task
			return l, c
		}
		c.Task++
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

// after is the course once the task that comes next is learned.
func (d *Desk) after(c today.Course) today.Course {
	if l, _ := d.next(c, nil); l != nil && l.Task+1 < len(l.Lesson.Tasks) {
		return today.Course{Lesson: c.Lesson, Task: l.Task + 1}
	}
	return today.Course{Lesson: c.Lesson + 1}
}
