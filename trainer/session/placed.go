package session

import (
	"slices"

	"footfall/content"
	"footfall/drills/lesson"
	"footfall/drills/memory"
	"footfall/drills/today"
	"footfall/harmony/tune"
)

// doubtedAfter is how many answers about a lesson that was passed over it takes to doubt that
// it is known, if fewer than 7 in 10 of them were right.
const doubtedAfter = 10

// doubted reports whether what a lesson teaches goes too badly for it to be known.
func (d *Desk) doubted(name string, known map[memory.Item]memory.State) bool {
	t := d.taught(name)
	if t == nil {
		return false
	}
	asked, missed := 0, 0
	for _, items := range t.Items {
		for _, it := range items {
			asked, missed = asked+known[it].Asked, missed+known[it].Missed
		}
	}
	return asked >= doubtedAfter && 10*missed > 3*asked
}

// heldBy are the lessons at the head of all of them whose material a level check found to be
// known: their drills ask for degrees that are held, and what they play is a bass alone.
func (d *Desk) heldBy(p *memory.Placing) (names []string) {
	for _, name := range content.LessonNames() {
		t := d.taught(name)
		if t == nil {
			return names
		}
		for i, task := range t.Lesson.Tasks {
			switch {
			case task.Passage != nil && task.Passage.Layer != tune.Bass.String():
				return names
			case task.Drill != nil && (len(t.Items[i]) == 0 || slices.ContainsFunc(t.Items[i], func(it memory.Item) bool { return !p.Holds(it) })):
				return names
			}
		}
		names = append(names, name)
	}
	return names
}

// place passes over the lessons whose material the level check found to be known, so that
// the day takes the one after them.
func (a *Agenda) place(found *memory.Placing) error {
	names := a.desk.heldBy(found)
	i := slices.IndexFunc(a.plan.Steps, func(s today.Step) bool {
		return s.Kind == today.Lesson && s.Asked == 0 && slices.Contains(names, s.Lesson)
	})
	given := slices.ContainsFunc(a.plan.Steps, func(s today.Step) bool {
		return s.Kind == today.Lesson && slices.ContainsFunc(a.desk.Taught, func(l *lesson.Lesson) bool { return l.Name == s.Lesson })
	})
	switch {
	case len(names) == 0, i < 0 && !given:
		return nil
	case given: // it comes first all the same
		a.plan.Course.Known, a.passed = names, len(names)
		return nil
	}
	a.plan.Course.Known = names
	r, err := a.desk.request(a.desk.Now(), Day{Minutes: a.plan.Minutes}, a.plan)
	if err != nil {
		return err
	}
	a.plan, a.passed = today.Passed(a.plan, a.plan.Steps[i].N, r), len(names)
	return nil
}
