package session

import (
	"fmt"
	"strings"
	"time"

	"footfall/drills"
	"footfall/drills/today"
)

// steps goes through the steps of a day.
type steps struct {
	desk   *Desk
	agenda *Agenda
	plan   today.Plan
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
	// Says tells in a line what changed today and what comes tomorrow.
	Says string `json:"says"`

	over bool
}

// DayOf makes a session of a day's plan. With held each question after a verdict
// waits for Next.
func (d *Desk) DayOf(a *Agenda, held bool) *Session {
	return d.session(&steps{desk: d, agenda: a, plan: a.Plan(), held: held, at: -1, began: d.Now()})
}

func (d *steps) begin(s *Session) {
	s.tell(Plan{Steps: d.plan.Numbered(), Plan: d.plan})
	d.next(s)
}

// next offers the step that comes, of those that are not done.
func (d *steps) next(s *Session) {
	d.run = nil
	for d.at++; d.at < len(d.plan.Steps) && d.plan.Steps[d.at].Done; d.at++ {
	}
	if d.at == len(d.plan.Steps) {
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
	if step.Kind == today.Lesson {
		e.Text = d.agenda.Page(step)
	}
	s.tell(e)
}

func (d *steps) over() (over, done bool) { return d.ended, d.ended }

func (d *steps) summary(s *Session) any {
	d.sum.Day, d.sum.Steps = d.plan.Day, d.plan.Numbered()
	d.sum.over = d.at == len(d.plan.Steps)
	d.sum.Minutes = s.now().Sub(d.began).Minutes()
	d.sum.Says = d.agenda.Says()
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
		d.end(s, false)
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

// open makes what a step does; nil where there is nothing to do.
func (d *steps) open(step today.Step) (run, error) {
	q, asks, err := d.agenda.questions(step.N, d.held)
	if err != nil {
		return nil, err
	}
	if asks {
		return q, nil
	}
	passage, plays, err := d.agenda.Passage(step.N)
	if err != nil || !plays {
		return nil, err
	}
	r, err := d.desk.passage(passage)
	if err != nil {
		return nil, fmt.Errorf("this step cannot be played: %w", err)
	}
	if p, ok := r.(*passes); ok {
		p.agenda, p.n = d.agenda, step.N
	}
	return r, nil
}

// end tells the end of the step, and whether it was done.
func (d *steps) end(s *Session, whole bool) {
	step := d.plan.Steps[d.at]
	e := StepEnd{N: step.N}
	switch r := d.run.(type) {
	case *questions:
		sum := r.sitting.Summary(s.now())
		sum.Found = d.agenda.found(sum)
		e.Sum, e.Found = &sum, sum.Found
		d.sum.add(sum)
	case *passes:
		d.sum.passes(r.results)
	case *played:
		for _, result := range r.Results() {
			_, err := d.agenda.Passed(step.N, result)
			s.notify(err)
		}
		d.sum.passes(r.Results())
	}
	ended, err := d.agenda.Ended(step.N, whole)
	s.notify(err)
	d.plan = d.agenda.Plan()
	e.Done, e.Step = ended.Done, ended
	s.tell(e)
}

// Over reports whether the day was gone through to its end.
func (d DaySummary) Over() bool { return d.over }

func (d *DaySummary) add(sum drills.Summary) {
	d.Asked, d.Right = d.Asked+sum.Asked, d.Right+sum.Right
	d.Sure, d.Slow, d.Missed = d.Sure+sum.Sure, d.Slow+sum.Slow, d.Missed+sum.Missed
}

// passes counts passes.
func (d *DaySummary) passes(results []Result) {
	for _, r := range results {
		d.Passes++
		if r.Clean {
			d.Clean++
		}
	}
}
