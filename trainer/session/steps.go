package session

import (
	"fmt"
	"strings"
	"time"

	"footfall/drills"
	"footfall/drills/lesson"
	"footfall/drills/today"
)

// steps goes through the steps of a day.
type steps struct {
	desk   *Desk
	plan   today.Plan
	lesson *lesson.Lesson
	held   bool
	// at is the step that waits or is under way, run what it does, nil while it
	// waits.
	at    int
	run   run
	ended bool
	sum   DaySummary
	began time.Time
}

// DaySummary is what a day came to.
type DaySummary struct {
	Day string `json:"day"`
	// Minutes is how long it took.
	Minutes float64 `json:"minutes"`
	Asked   int     `json:"asked"`
	Right   int     `json:"right"`
	Sure    int     `json:"sure"`
	Slow    int     `json:"slow"`
	Missed  int     `json:"missed"`
	// Passes are those played to their end, Clean those of them that were clean.
	Passes int          `json:"passes"`
	Clean  int          `json:"clean"`
	Steps  []today.Step `json:"steps"`

	over bool
}

// DayOf makes a session of a day's plan. With held each question after a verdict
// waits for Next.
func (d *Desk) DayOf(p today.Plan, l *lesson.Lesson, held bool) *Session {
	return d.session(&steps{desk: d, plan: p, lesson: l, held: held, at: -1, began: d.Now()})
}

func (d *steps) begin(s *Session) {
	s.tell(Plan{Steps: d.plan.Numbered(), Plan: d.plan})
	d.next(s)
}

// next offers the step that comes.
func (d *steps) next(s *Session) {
	d.run = nil
	if d.at++; d.at == len(d.plan.Steps) {
		d.ended = true
		return
	}
	step := d.plan.Steps[d.at]
	if step.Kind == today.Break {
		s.tell(Rest{step})
		d.next(s)
		return
	}
	e := Step{N: step.N, Kind: step.Kind, Step: step}
	if step.Kind == today.Lesson && d.lesson != nil {
		e.Text = d.lesson.Text
	}
	s.tell(e)
}

func (d *steps) over() (over, done bool) { return d.ended, d.ended }

func (d *steps) summary(s *Session) any {
	d.sum.Day, d.sum.Steps = d.plan.Day, d.plan.Numbered()
	d.sum.over = d.at == len(d.plan.Steps)
	d.sum.Minutes = s.now().Sub(d.began).Minutes()
	return d.sum
}

func (d *steps) stop(s *Session) {
	if d.run != nil {
		d.run.stop(s)
		d.end(s, false)
	}
	d.ended = true
}

func (d *steps) do(s *Session, c Command) {
	if d.run != nil {
		d.run.do(s, c)
		d.settle(s)
		return
	}
	switch c.(type) {
	case Start:
		d.start(s)
	case Skip:
		d.end(s, false)
		d.next(s)
	default:
		s.fault("a step waits: start it, skip it or quit")
	}
}

// start begins the step. One that cannot be done is a fault, and the next is
// offered.
func (d *steps) start(s *Session) {
	run, err := d.open(d.plan.Steps[d.at])
	switch {
	case err != nil:
		says := err.Error()
		s.fault(strings.ToUpper(says[:1]) + says[1:] + ".")
		d.end(s, false)
		d.next(s)
	case run == nil:
		d.end(s, true)
		d.next(s)
	default:
		d.run = run
		run.begin(s)
		d.settle(s)
	}
}

// settle goes on to the next step where this one is over.
func (d *steps) settle(s *Session) {
	if over, done := d.run.over(); over {
		d.end(s, done)
		d.next(s)
	}
}

// open makes what a step does; nil where it only has to be read, or done without
// the program.
func (d *steps) open(step today.Step) (run, error) {
	choice, isDrill, err := d.desk.StepChoice(step)
	if err != nil {
		return nil, fmt.Errorf("this step cannot be asked: %w", err)
	}
	if isDrill {
		sitting, err := d.desk.Begin(choice)
		if err != nil {
			return nil, fmt.Errorf("this step cannot be asked: %w", err)
		}
		return &questions{sitting: sitting, held: d.held}, nil
	}
	if step.Tune == "" || step.Layer == "" {
		return nil, nil
	}
	t, err := d.desk.Tune(step.Tune)
	if err == nil {
		var r run
		if r, err = d.desk.passage(StepPassage(step, t)); err == nil {
			return r, nil
		}
	}
	return nil, fmt.Errorf("this step cannot be played: %w", err)
}

// StepPassage is what a step plays of its tune.
func StepPassage(step today.Step, t Tune) Passage {
	return Passage{
		Tune: t, Section: step.Section, Layer: step.Layer, Ramp: step.Climb(), Passes: step.Passes, Length: time.Duration(step.Minutes) * time.Minute,
	}
}

// end tells the end of the step, and whether it was done: by its end, or as its
// lesson's task asks.
func (d *steps) end(s *Session, done bool) {
	step := &d.plan.Steps[d.at]
	e := StepEnd{N: step.N}
	switch r := d.run.(type) {
	case *questions:
		sum := r.sitting.Summary(s.now())
		e.Sum = &sum
		d.sum.add(sum)
		if task := step.Task; task != nil && task.Drill != nil {
			done = task.Drill.Met(sum.Asked, sum.Right, time.Duration(sum.MedianMS)*time.Millisecond)
		}
	case *passes:
		done = d.sum.passes(r.results, step, done)
	case *played:
		done = d.sum.passes(r.Results(), step, done)
	}
	step.Done = done
	e.Done, e.Step = done, *step
	s.tell(e)
}

// Over reports whether the day was gone through to its end.
func (d DaySummary) Over() bool { return d.over }

func (d *DaySummary) add(sum drills.Summary) {
	d.Asked, d.Right = d.Asked+sum.Asked, d.Right+sum.Right
	d.Sure, d.Slow, d.Missed = d.Sure+sum.Sure, d.Slow+sum.Slow, d.Missed+sum.Missed
}

// passes counts passes, and says whether they do what the step's task asks, where it
// has one.
func (d *DaySummary) passes(results []Result, step *today.Step, done bool) bool {
	fast := 0
	task := step.Task != nil && step.Task.Passage != nil
	for _, r := range results {
		d.Passes++
		if r.Clean {
			d.Clean++
			if task && r.Tempo >= step.Task.Passage.At {
				fast++
			}
		}
	}
	if task {
		return fast >= step.Task.Passage.Clean
	}
	return done
}
