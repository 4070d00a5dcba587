package session

import (
	"errors"
	"slices"

	"footfall/content"
	"footfall/drills"
	"footfall/drills/lesson"
	"footfall/drills/memory"
	"footfall/drills/today"
	"footfall/fretboard"
	"footfall/harmony/tune"
)

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
	t := today.Taught{Lesson: l, Teachers: slices.Contains(d.Taught, l)}
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

// given is what is left of the lessons that a teacher gave, with its task; nil for nothing. It
// comes before the program's own go on.
func (d *Desk) given(c today.Course) *today.Taught {
	for _, l := range d.Taught {
		for i := range l.Tasks {
			if !c.Has(l.Name, i+1) {
				t := d.taughtOf(l)
				t.Task = i
				return &t
			}
		}
	}
	return nil
}

// next is the lesson of the program's own that comes next with its task; nil where all are
// learned. Tasks whose things are all known well are passed over where what is known is given,
// and are as good as met in the course that it returns; lessons that the level check passed over
// come back where their things go badly.
func (d *Desk) next(c today.Course, known map[memory.Item]memory.State) (*today.Taught, today.Course) {
	c.Known = slices.DeleteFunc(slices.Clone(c.Known), func(name string) bool { return d.doubted(name, known) })
	for _, name := range content.LessonNames() {
		l := d.Lesson(name)
		if l == nil || slices.Contains(c.Known, name) {
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

// kindsFor are the kinds of question of which a day may bring new things: what the lessons
// have asked up to the one that comes next, and what the player knew at first sight. Kinds that
// no lesson asks come with the building of shapes. It is nil, for all, where no lesson is left.
func (d *Desk) kindsFor(next *today.Taught, known map[memory.Item]memory.State) []memory.Kind {
	if next == nil {
		return nil
	}
	kinds := []memory.Kind{memory.Find, memory.Name, memory.Spell}
	for it, s := range known {
		if !s.New() && s.Missed == 0 {
			kinds = append(kinds, it.Kind)
		}
	}
	in := map[memory.Kind]bool{} // a lesson
	reached := false
	for _, name := range content.LessonNames() {
		l := d.Lesson(name)
		if l == nil {
			continue
		}
		for _, task := range l.Tasks {
			if task.Drill == nil {
				continue
			}
			in[task.Drill.Kind] = true
			if !reached {
				kinds = append(kinds, task.Drill.Kind)
			}
		}
		reached = reached || name == next.Lesson.Name
	}
	if slices.Contains(kinds, memory.Build) {
		for _, k := range drills.Kinds {
			if !in[k.Name] {
				kinds = append(kinds, k.Name)
			}
		}
	}
	return kinds
}

// What lessons teach that a tune's layers, shapes and free lines wait for, by the words of
// their lessons.
const (
	teachesShells, teachesHits, teachesMoreNotes, teachesWalking = "shells", "two hits a bar", "four-note shapes", "walking"
)

// skills are what the lessons teach that are finished or passed over, and the passages of all.
func (d *Desk) skills(c today.Course) (taught map[string]bool, passages map[memory.Item]bool) {
	taught, passages = map[string]bool{}, map[memory.Item]bool{}
	for _, name := range content.LessonNames() {
		l := d.Lesson(name)
		if l == nil {
			continue
		}
		finished := true
		for i, task := range l.Tasks {
			finished = finished && c.Has(name, i+1)
			if task.Passage != nil {
				passages[task.Passage.Item()] = true
			}
		}
		for _, skill := range l.Teaches {
			taught[skill] = taught[skill] || finished || slices.Contains(c.Known, name)
		}
	}
	return taught, passages
}

// bounds sets what a day may ask of a tune: how many of its layers, what the shapes in them
// are drawn from, and a line of one's own. It is what lessons have taught, or more where the
// player builds shapes at first sight, or has played more, or where all were learned.
func (d *Desk) bounds(r *today.Request, learned bool) {
	builds := learned
	for it, s := range r.Known {
		builds = builds || it.Kind == memory.Build && !s.New() && s.Missed == 0
	}
	taught, ofLessons := d.skills(r.Course)
	r.OwnLine = builds || taught[teachesWalking]
	if builds {
		return
	}
	r.Layers = 1
	if taught[teachesShells] {
		r.Layers = 2
	}
	if taught[teachesShells] && taught[teachesHits] {
		r.Layers = 0
	}
	for it := range r.Left {
		if layer, err := tune.ParseLayer(it.Layer); err == nil && r.Layers > 0 && !ofLessons[it] {
			r.Layers = max(r.Layers, int(layer)+1)
		}
	}
	if !taught[teachesMoreNotes] {
		r.School = fretboard.Shells.String()
	}
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
	step.Why, step.SoFar = "begun from the lesson's page", a.plan.Course.SaysSoFar(name, task)
	step.Text = t.Lesson.Title + ". " + step.Text
	i := slices.IndexFunc(a.plan.Steps, func(s today.Step) bool { return s.Lesson == name && s.TaskN == task && !s.Met })
	if i < 0 {
		for _, s := range a.plan.Steps {
			step.N = max(step.N, s.N)
		}
		step.N++
		step.Own = true
		a.plan.Steps = append(slices.Clone(a.plan.Steps), step)
		return step.N, a.save()
	}
	s := &a.plan.Steps[i]
	s.Ramp, s.Tempo = step.Ramp, step.Tempo // it climbs no further than the day lets it
	if s.Done || s.Left() == 0 {
		s.Items, s.Done, s.Minutes = step.Items, false, ownMinutes+int(s.Spent)/60
	}
	return s.N, a.save()
}

var errNoTask = errors.New("there is no such task of a lesson")

// Known reports whether a lesson is passed over, since the level check found what it teaches.
func (a *Agenda) Known(lesson string) bool {
	a.mu.Lock()
	defer a.mu.Unlock()
	return slices.Contains(a.plan.Course.Known, lesson)
}

// LessonStep reports whether the day has a step of a lesson that begins with its page, and
// whether that is done.
func (a *Agenda) LessonStep(lesson string) (done, there bool) {
	a.mu.Lock()
	defer a.mu.Unlock()
	for _, s := range a.plan.Steps {
		if s.Kind == today.Lesson && s.Lesson == lesson {
			return s.Done, true
		}
	}
	return false, false
}

// SoFar says how far a task of a lesson, counted from 1, has come, "" where it is not begun.
func (a *Agenda) SoFar(lesson string, task int) string {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.plan.Course.SaysSoFar(lesson, task)
}

// Met reports whether a task of a lesson, counted from 1, was ever met.
func (a *Agenda) Met(lesson string, task int) bool {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.plan.Course.Has(lesson, task)
}
