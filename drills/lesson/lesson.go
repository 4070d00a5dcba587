// Package lesson reads lessons: a goal, a page of text, and the drills and
// passages to practise with what counts as done.
//
// It is pure. It reads text that it is handed and never knows where lessons are
// kept, how they are shown or what came of them.
package lesson

import (
	"slices"
	"time"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/drills/ramp"
)

// Lesson is a lesson as written.
type Lesson struct {
	Title string
	// Goal says in a line what the player can do at the end.
	Goal string
	// Text holds the page's paragraphs.
	Text []string
	// Tasks are practised in this order.
	Tasks []Task
}

// Task is a drill or a passage: one of the two is set.
type Task struct {
	Drill   *Drill
	Passage *Passage
}

// Drill is a drill of a lesson.
type Drill struct {
	Kind memory.Kind
	// Tune is a tune's name; where it is empty Chords are the symbols to ask about,
	// split by spaces.
	Tune, Chords string
	// Degrees are those to ask for, nil for all.
	Degrees []string
	// Right of Of answers count as done. Where Within is not 0 their median time
	// must not be more either.
	Right, Of int
	Within    time.Duration
}

// Passage is a passage of a lesson.
type Passage struct {
	Tune string
	// Section is empty for the whole tune.
	Section string
	Layer   string
	Ramp    ramp.Ramp
	// Clean passes at a tempo of At or more count as done.
	Clean int
	At    float64
}

// Met reports whether answers, of which right were not missed, in a median time,
// count as done.
func (d Drill) Met(asked, right int, median time.Duration) bool {
	return asked >= d.Of && right*d.Of >= d.Right*asked && (d.Within == 0 || median <= d.Within)
}

// Questions draws what the drill asks, in the order of the material.
func (d Drill) Questions(m drills.Material) ([]drills.Question, error) {
	ks, err := drills.KindsNamed(string(d.Kind))
	if err != nil {
		return nil, err
	}
	qs, err := ks[0].Draw(m)
	if err != nil {
		return nil, err
	}
	if d.Degrees != nil {
		qs = slices.DeleteFunc(qs, func(q drills.Question) bool { return !slices.Contains(d.Degrees, q.Ask().Degree) })
	}
	return qs, nil
}
