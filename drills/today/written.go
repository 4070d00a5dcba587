package today

import (
	"encoding/json"
	"fmt"
	"slices"

	"footfall/drills/lesson"
	"footfall/drills/memory"
)

// written is a plan as the history keeps it: what scripts are told of it, and how it
// stands.
type written struct {
	Plan
	Usual      int        `json:"usual_minutes"`
	BreakAfter int        `json:"break_after"`
	Tune       string     `json:"tune"`
	Course     Course     `json:"course"`
	Last       string     `json:"last"`
	LastRight  bool       `json:"last_right"`
	Stands     []standing `json:"stands"`
}

// standing is how a step stands.
type standing struct {
	Task   int            `json:"task,omitempty"`
	Met    bool           `json:"met,omitempty"`
	Own    bool           `json:"own,omitempty"`
	SoFar  string         `json:"so_far,omitempty"`
	School string         `json:"school,omitempty"`
	Beside []string       `json:"beside,omitempty"`
	Spent  float64        `json:"spent_s,omitempty"`
	Asked  int            `json:"asked,omitempty"`
	Right  int            `json:"right,omitempty"`
	Played int            `json:"played,omitempty"`
	AtTop  int            `json:"at_top,omitempty"`
	Tries  map[string]Try `json:"tries,omitempty"`
}

// Written is the plan as the history keeps it.
func (p Plan) Written() ([]byte, error) {
	p = p.keyed()
	w := written{Plan: p, Usual: p.Usual, BreakAfter: p.BreakAfter, Tune: p.Tune, Course: p.Course, Last: p.Last, LastRight: p.LastRight}
	for _, s := range p.Steps {
		w.Stands = append(w.Stands, standing{s.TaskN, s.Met, s.Own, s.SoFar, s.School, keysOf(s.Beside), s.Spent, s.Asked, s.Right, s.Played, s.AtTop, s.Tries})
	}
	return json.Marshal(w)
}

// keyed writes the keys of the things that the steps ask.
func (p Plan) keyed() Plan {
	p.Steps = slices.Clone(p.Steps)
	for i := range p.Steps {
		p.Steps[i].Keys = keysOf(p.Steps[i].Items)
	}
	return p
}

func keysOf(items []memory.Item) (keys []string) {
	for _, it := range items {
		keys = append(keys, it.Key())
	}
	return keys
}

// itemsOf leaves out what this program does not know.
func itemsOf(keys []string) (items []memory.Item) {
	for _, key := range keys {
		if it, err := memory.ParseKey(key); err == nil && it.Known() {
			items = append(items, it)
		}
	}
	return items
}

// Read reads a plan that Written wrote. Lessons finds a lesson by its name. Things
// and lessons that this program does not know are left out.
func Read(text []byte, lessons func(name string) *lesson.Lesson) (Plan, error) {
	var w written
	if err := json.Unmarshal(text, &w); err != nil {
		return Plan{}, fmt.Errorf("the plan of the day cannot be read: %w", err)
	}
	p := w.Plan
	p.Usual, p.BreakAfter, p.Tune, p.Course, p.Last, p.LastRight = w.Usual, w.BreakAfter, w.Tune, w.Course, w.Last, w.LastRight
	for i := range p.Steps {
		s := &p.Steps[i]
		s.Items = itemsOf(s.Keys)
		if i < len(w.Stands) {
			at := w.Stands[i]
			s.TaskN, s.Met, s.Own, s.SoFar, s.School, s.Beside, s.Spent = at.Task, at.Met, at.Own, at.SoFar, at.School, itemsOf(at.Beside), at.Spent
			s.Asked, s.Right, s.Played, s.AtTop, s.Tries = at.Asked, at.Right, at.Played, at.AtTop, at.Tries
		}
		if l := lessons(s.Lesson); l != nil && s.TaskN > 0 && s.TaskN <= len(l.Tasks) {
			s.Task = &l.Tasks[s.TaskN-1]
		}
	}
	return p, nil
}

// Ticked returns a plan as Written wrote it with what is ticked off in another one too. It
// is the same text where that is nothing more, or where either cannot be read.
func Ticked(text, other []byte) []byte {
	var plan, from struct{ Course Course }
	var fields map[string]json.RawMessage
	if json.Unmarshal(text, &plan) != nil || json.Unmarshal(other, &from) != nil || json.Unmarshal(text, &fields) != nil {
		return text
	}
	course, more := plan.Course.joined(from.Course)
	if !more {
		return text
	}
	var err error
	if fields["course"], err = json.Marshal(course); err != nil {
		return text
	}
	if joined, err := json.Marshal(fields); err == nil {
		return joined
	}
	return text
}

// joined is the course with what another has beyond it, and whether that is anything.
func (c Course) joined(o Course) (joined Course, more bool) {
	joined = c
	for name, tasks := range o.Met {
		for _, task := range tasks {
			if !joined.Has(name, task) {
				joined, more = joined.With(name, task), true
			}
		}
	}
	for _, name := range o.Known {
		if !slices.Contains(joined.Known, name) {
			joined.Known, more = append(slices.Clone(joined.Known), name), true
		}
	}
	if o.Lesson > joined.Lesson || o.Lesson == joined.Lesson && o.Task > joined.Task {
		joined.Lesson, joined.Task, more = o.Lesson, o.Task, true
	}
	return joined, more
}
