package today

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"footfall/drills/lesson"
	"footfall/drills/memory"
	"footfall/drills/ramp"
)

// Kind says what a step is.
type Kind string

// The kinds of step.
const (
	Lesson  Kind = "lesson"  // a lesson's page
	Level   Kind = "level"   // the first day's round that finds the level
	Due     Kind = "due"     // items that are due, to warm up
	New     Kind = "new"     // one new thing
	Mixed   Kind = "mixed"   // mixed questions, or a lesson's drill
	Passage Kind = "passage" // a passage with its ramp
	Play    Kind = "play"    // a last pass, for joy
	Break   Kind = "break"   // hands off; it has no number
)

// Step is one thing to do. Which fields it has goes by its kind.
type Step struct {
	// N counts the steps that are no break, from 1.
	N       int  `json:"n,omitempty"`
	Kind    Kind `json:"kind"`
	Minutes int  `json:"minutes"`
	// Text says in a line what to do, Why what for.
	Text string `json:"says"`
	Why  string `json:"why"`
	// Done is set when the step has been done.
	Done bool `json:"done"`
	// Items are asked in a warm-up, a new thing, or a drill that has some.
	Items []memory.Item `json:"-"`
	Keys  []string      `json:"items,omitempty"`
	// Tune and what follows are a passage's; a drill may have a tune as well.
	Tune    string `json:"tune,omitempty"`
	Section string `json:"section,omitempty"`
	Layer   string `json:"layer,omitempty"`
	// School is what the shapes are drawn from, "" for the player's own.
	School string `json:"-"`
	// Ramp is the ramp with its progress, as ramp.ParseProgress reads it.
	Ramp string `json:"ramp,omitempty"`
	// Tempo is that of the first pass, in quarter notes a minute.
	Tempo float64 `json:"tempo,omitempty"`
	// Most is the tempo that the passes of the day climb to, 0 where that is the ramp's end.
	Most float64 `json:"most,omitempty"`
	// Passes is how many passes the minutes hold, as far as the ramp is known.
	Passes int `json:"passes,omitempty"`
	// Criterion says what counts as done, in a lesson.
	Criterion string `json:"criterion,omitempty"`
	// SoFar says how much of that there is, counted over days, "" where nothing is.
	SoFar string `json:"-"`
	// Lesson is the name of the lesson that the step comes from, TaskN which of its
	// tasks, from 1, and Task that task. Met is set once the criterion was met.
	Lesson string       `json:"lesson,omitempty"`
	TaskN  int          `json:"task,omitempty"`
	Task   *lesson.Task `json:"-"`
	Met    bool         `json:"met"`
	// Own is set where the player began it beside what the day has.
	Own bool `json:"-"`
	// Beside are things that are known, to be asked between the others.
	Beside []memory.Item `json:"-"`
	// AtTop counts the clean passes in a row at the tempo that the day climbs to.
	AtTop int `json:"-"`
	// Spent is the seconds that the step has taken so far, Asked and Right its answers,
	// Played its passes, and Tries how each thing went, by its key.
	Spent  float64        `json:"-"`
	Asked  int            `json:"-"`
	Right  int            `json:"-"`
	Played int            `json:"-"`
	Tries  map[string]Try `json:"-"`
}

// Climb returns the tempos of a step's passes as ramp.Parse reads them: the ramp
// that is left to climb, or the step's one tempo.
func (s Step) Climb() string {
	left, err := ramp.ParseProgress(s.Ramp)
	if err != nil {
		return strconv.FormatFloat(s.Tempo, 'f', -1, 64)
	}
	return left.Rest().String()
}

// CleanAtTop is after how many clean passes in a row at the tempo that a day climbs to a
// passage is done for that day. Common practice, no source: what was reached is slept on.
const CleanAtTop = 3

// Passed returns the step after a pass at a tempo on which there was a word.
func (s Step) Passed(tempo float64, clean bool) Step {
	at, err := ramp.ParseProgress(s.Ramp)
	if err != nil {
		return s
	}
	at.Most = s.Most
	switch {
	case !clean:
		s.AtTop = 0
	case tempo >= at.Top():
		s.AtTop++
	}
	return s
}

// Plan is the plan of a day.
type Plan struct {
	Day string `json:"day"`
	// Minutes is the time there is; the steps take that much or less.
	Minutes int    `json:"minutes"`
	Seed    uint64 `json:"seed"`
	// Usual and BreakAfter are the minutes of a day and of a stretch that the player's
	// settings named when it was laid.
	Usual      int `json:"-"`
	BreakAfter int `json:"-"`
	// Lesson is the lesson's title, "" without one.
	Lesson string `json:"lesson,omitempty"`
	// Tune is the tune that was asked for, "" for none.
	Tune  string `json:"-"`
	Steps []Step `json:"steps"`
	// Towards is the tune that is worked towards, nil for none.
	Towards *Towards `json:"towards,omitempty"`
	// Course is where the lessons have come to.
	Course Course `json:"-"`
	// Last is the key of what was answered last, and LastRight whether it was right.
	Last      string `json:"-"`
	LastRight bool   `json:"-"`
	// Notes say what the plan leaves out, and why.
	Notes []string `json:"notes,omitempty"`
}

// Course is how far the lessons have come.
type Course struct {
	// Met are the tasks that were met, counted from 1, of each lesson by its name.
	Met map[string][]int `json:"met,omitempty"`
	// Known are the names of the lessons that are passed over, since the level check found
	// what they teach.
	Known []string `json:"known,omitempty"`
	// Begun are the latest answers without help to the drill of each task that is begun and not
	// met, by taskKey: r for right and m for missed, as many as the task asks for at most.
	Begun map[string]string `json:"begun,omitempty"`
	// Lesson and Task are how plans said it while there were fourteen lessons: the ones
	// that come next, counted from 0.
	Lesson int `json:"lesson,omitempty"`
	Task   int `json:"task,omitempty"`
}

// Has reports whether a task of a lesson was met.
func (c Course) Has(lesson string, task int) bool { return slices.Contains(c.Met[lesson], task) }

func taskKey(lesson string, task int) string { return fmt.Sprintf("%s %d", lesson, task) }

// Tried returns the course with so many answers more to the drill of a task, of which the
// latest are kept.
func (c Course) Tried(lesson string, task int, right []bool, keep int) Course {
	text := c.Begun[taskKey(lesson, task)]
	for _, ok := range right {
		text += map[bool]string{true: "r", false: "m"}[ok]
	}
	c.Begun = maps.Clone(c.Begun)
	if c.Begun == nil {
		c.Begun = map[string]string{}
	}
	c.Begun[taskKey(lesson, task)] = text[max(0, len(text)-keep):]
	return c
}

// SoFar are the latest answers without help to the drill of a task that is begun, and how many
// of them were right.
func (c Course) SoFar(lesson string, task int) (asked, right int) {
	text := c.Begun[taskKey(lesson, task)]
	return len(text), strings.Count(text, "r")
}

// SaysSoFar tells that in a few words, "" where nothing was answered yet.
func (c Course) SaysSoFar(lesson string, task int) string {
	asked, right := c.SoFar(lesson, task)
	if asked == 0 {
		return ""
	}
	return fmt.Sprintf("%d right of the last %d so far", right, asked)
}

// With returns the course with a task of a lesson met.
func (c Course) With(lesson string, task int) Course {
	if c.Has(lesson, task) {
		return c
	}
	met := maps.Clone(c.Met)
	if met == nil {
		met = map[string][]int{}
	}
	met[lesson] = append(slices.Clone(met[lesson]), task)
	slices.Sort(met[lesson])
	c.Met = met
	c.Begun = maps.Clone(c.Begun)
	delete(c.Begun, taskKey(lesson, task))
	return c
}

// Towards is a tune that a player works towards.
type Towards struct {
	Tune  string `json:"tune"`
	Title string `json:"title"`
	// By is the day by which it is wanted, "" for none.
	By string `json:"by,omitempty"`
	// Tempo is the tune's.
	Tempo float64 `json:"tempo"`
	// Says tells in a line how far it is.
	Says string `json:"says"`
}

// Over reports whether a step that asks questions is done, so that nothing is left of it.
func (s Step) Over() bool {
	return s.Done && (s.Kind == Level || s.Kind == New || s.Kind == Due || s.Kind == Mixed)
}

// Left is the time that a step still has, none where it is done.
func (s Step) Left() time.Duration {
	return max(0, time.Duration(s.Minutes)*time.Minute-time.Duration(s.Spent*float64(time.Second)))
}

// Total returns the minutes that the steps take.
func (p Plan) Total() int {
	total := 0
	for _, s := range p.Steps {
		total += s.Minutes
	}
	return total
}

// AllDone reports whether nothing but breaks is left to do, of a day that had something.
func (p Plan) AllDone() bool {
	return len(p.Steps) > 0 && !slices.ContainsFunc(p.Steps, func(s Step) bool { return !s.Done && s.Kind != Break })
}

// Numbered returns the steps but for the breaks.
func (p Plan) Numbered() []Step {
	return slices.DeleteFunc(slices.Clone(p.Steps), func(s Step) bool { return s.Kind == Break })
}

// Without returns the plan without a step.
func (p Plan) Without(i int) Plan {
	p.Steps = append(append([]Step{}, p.Steps[:i]...), p.Steps[i+1:]...)
	return p
}

// Later returns the plan with a step and the one after it changed over, and
// true; the plan as it is, and false, for the last step and where a new thing
// would come before the warm-up.
func (p Plan) Later(i int) (Plan, bool) {
	if i+1 >= len(p.Steps) || p.Steps[i].Kind == Due && p.Steps[i+1].Kind == New {
		return p, false
	}
	p.Steps = append([]Step{}, p.Steps...)
	p.Steps[i], p.Steps[i+1] = p.Steps[i+1], p.Steps[i]
	return p, true
}

// Stretched returns the plan with a step longer, or shorter, by minutes. A step
// takes a minute at least; what the day has not the time for is an error.
func (p Plan) Stretched(i, minutes int) (Plan, error) {
	length := p.Steps[i].Minutes + minutes
	if length < 1 {
		return p, fmt.Errorf("a step takes a minute at least; leave it out instead")
	}
	if over := p.Total() + minutes - p.Minutes; minutes > 0 && over > 0 {
		return p, fmt.Errorf("the day has %d minutes and they are all taken; shorten another step first", p.Minutes)
	}
	p.Steps = append([]Step{}, p.Steps...)
	p.Steps[i].Minutes = length
	return p, nil
}
