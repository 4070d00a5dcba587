package screen

import (
	"fmt"
	"slices"

	taught "footfall/drills/lesson"
	"footfall/trainer/screen/lesson"
	"footfall/trainer/screen/page"
	"footfall/trainer/session"
)

// Lessons is the page that lists the lessons.
var Lessons = page.ID{Kind: "lessons"}

// LessonOf is the page of a lesson by its name.
func LessonOf(name string) page.ID { return page.ID{Kind: "lesson", Arg: name} }

func (s *Services) lessonList() (page.Page, error) {
	a, err := s.today(session.Day{})
	if err != nil {
		return nil, err
	}
	all := s.Desk.Lessons()
	look := func() []lesson.Row {
		var rows []lesson.Row
		next := true
		for i, l := range all {
			row := lesson.Row{Lesson: l, Done: make([]bool, len(l.Tasks)), Teachers: i < len(s.Desk.Taught)}
			for task := range l.Tasks {
				if row.Done[task] = a.Met(l.Name, task+1); row.Done[task] {
					row.Met++
				}
			}
			row.Known = a.Known(l.Name) && row.Met < len(row.Tasks)
			row.Next = next && !row.Known && row.Met < len(row.Tasks)
			next = next && !row.Next
			rows = append(rows, row)
		}
		return rows
	}
	return lesson.NewList(s.Theme, look, func(name string) { s.Go(page.Open{ID: LessonOf(name)}) }, s.Desk.Neck, s.Desk.Sketch), nil
}

func (s *Services) lessonPage(name string) (page.Page, error) {
	a, err := s.today(session.Day{})
	if err != nil {
		return nil, err
	}
	l := s.Desk.Lesson(name)
	if l == nil {
		return nil, fmt.Errorf("there is no lesson %q", name)
	}
	r := lesson.Room{
		Theme: s.Theme, Neck: s.Desk.Neck, Lesson: l, Place: "from your teacher", Sketch: s.Desk.Sketch,
		Met:   func(task int) bool { return a.Met(name, task) },
		SoFar: func(task int) string { return a.SoFar(name, task) },
		Begin: func(task int) { s.Go(page.Open{ID: page.ID{Kind: "task", Arg: fmt.Sprintf("%d %s", task, name)}}) },
	}
	if _, there := a.LessonStep(name); there {
		r.OnWith = func() { s.Go(page.Back{}) }
		r.DayDone = func() bool {
			done, _ := a.LessonStep(name)
			return done
		}
	}
	all := s.Desk.Lessons()
	all = all[len(s.Desk.Taught):]
	if i := slices.IndexFunc(all, func(l *taught.Lesson) bool { return l.Name == name }); i >= 0 {
		r.Place = fmt.Sprintf("%d of %d", i+1, len(all))
		if i+1 < len(all) {
			next := all[i+1]
			r.Next = next.Title
			r.OpenNext = func() {
				s.Go(page.Back{})
				s.Go(page.Open{ID: LessonOf(next.Name)})
			}
		}
	}
	return lesson.New(r), nil
}

// task makes the page that practises a task of a lesson, which is a step of the day
// from then on.
func (s *Services) task(id page.ID) (page.Page, error) {
	var task int
	var name string
	if _, err := fmt.Sscan(id.Arg, &task, &name); err != nil {
		return nil, err
	}
	a, err := s.today(session.Day{})
	if err != nil {
		return nil, err
	}
	n, err := a.Take(name, task)
	if err != nil {
		return nil, err
	}
	return s.stepPage(id, n)
}
