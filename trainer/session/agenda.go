package session

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"footfall/content"
	"footfall/drills"
	"footfall/drills/lesson"
	"footfall/drills/memory"
	"footfall/drills/today"
	"footfall/trainer/guard"
	"footfall/trainer/history"
)

// Agenda is the plan of a day under way: it is laid once, and kept with what was done
// of each step, so that it stands there after a restart. Its methods may be called
// from any goroutine.
type Agenda struct {
	desk *Desk
	// kept is set for the plan of the day itself, and not for one that was asked for
	// beside it.
	kept bool
	day  memory.Day
	// lesson is the one that was asked for, nil for none.
	lesson *lesson.Lesson

	mu   sync.Mutex
	plan today.Plan
	// passed is how many lessons the level check of this run has passed over.
	passed int
}

// Agenda opens the day: as it was kept, or, where there is none yet or another one is
// asked for, laid out. A built-in lesson asked for takes what is left of the day. A
// teacher's lesson or a seed makes a plan beside the day's own, which is not kept.
func (d *Desk) Agenda(ask Day) (*Agenda, error) {
	now := d.Now()
	a := &Agenda{desk: d, kept: !ask.beside() && d.History != nil, day: memory.DayOf(now), lesson: ask.Lesson}
	before, err := d.lastPlan(a.day)
	if err != nil {
		return nil, err
	}
	if a.kept && before.Day == a.day.String() && before.Steps != nil && ask.fits(before) && before.Usual == d.Minutes && before.BreakAfter == d.BreakAfter {
		a.plan = before
		return a, nil
	}
	r, err := d.request(now, ask, before)
	if err != nil {
		return nil, err
	}
	minutes, spent := r.Minutes, 0
	if a.kept && before.Day == a.day.String() {
		var done []today.Step
		done, spent = before.Finished()
		if slices.ContainsFunc(done, func(s today.Step) bool { return s.Kind == today.Lesson }) {
			r.Next = nil
		}
		if minutes == 0 {
			minutes = today.DefaultMinutes
		}
		if ask.Lesson != nil && minutes < spent+len(ask.Lesson.Tasks) {
			minutes = spent + len(ask.Lesson.Tasks) // a lesson asked for makes the day longer
		}
		r.Minutes = minutes - spent
	}
	a.plan = today.Plan{Steps: []today.Step{}}
	if spent == 0 || r.Minutes > 0 {
		a.plan = today.Lay(r)
	}
	if spent > 0 {
		a.plan = before.Relaid(a.plan, minutes)
	}
	a.plan.Usual, a.plan.BreakAfter = d.Minutes, d.BreakAfter
	if steps := a.plan.Steps; len(steps) > 0 && len(steps[0].Items) > 1 {
		// What was asked last the day before does not begin this one.
		a.plan.Last, a.plan.LastRight = before.Last, before.LastRight
	}
	a.plan.Day, a.plan.Tune, a.plan.Course = a.day.String(), ask.Tune, r.Course
	if !a.kept {
		return a, nil
	}
	_ = a.save() // where it is in memory alone the history says so
	// As it will be read: all day it is the same.
	text, err := a.plan.Written()
	if err == nil {
		a.plan, err = today.Read(text, d.Lesson)
	}
	return a, err
}

// fits reports whether a plan that is kept is what is asked for.
func (ask Day) fits(p today.Plan) bool {
	return (ask.Minutes == 0 || ask.Minutes == p.Minutes) && (ask.Tune == "" || ask.Tune == p.Tune) && ask.Towards == nil &&
		(ask.Lesson == nil || p.Lesson != "" && slices.ContainsFunc(p.Steps, func(s today.Step) bool { return s.Lesson == ask.Lesson.Name }))
}

// beside reports whether the plan that is asked for is one beside the day's own.
func (ask Day) beside() bool {
	if ask.Lesson == nil {
		return ask.Seed != nil
	}
	_, builtIn := content.LessonText(ask.Lesson.Name)
	return ask.Seed != nil || !builtIn
}

// lastPlan is the plan of a day, or of the last one before it that had one.
func (d *Desk) lastPlan(day memory.Day) (today.Plan, error) {
	if d.History == nil {
		return today.Plan{}, nil
	}
	last, found, err := d.History.LastPlan(context.Background(), day)
	if err != nil || !found {
		return today.Plan{}, err
	}
	p, err := today.Read(last.Text, d.Lesson)
	if err != nil {
		return today.Plan{}, nil // of another program: a plan is laid anew
	}
	p.Course = d.named(p.Course)
	return p, nil
}

// Plan is the plan as it stands.
func (a *Agenda) Plan() today.Plan {
	a.mu.Lock()
	defer a.mu.Unlock()
	p := a.plan
	p.Steps = slices.Clone(p.Steps)
	return p
}

// Change changes the plan: a step left out, moved or made longer.
func (a *Agenda) Change(change func(today.Plan) (today.Plan, error)) error {
	a.mu.Lock()
	defer a.mu.Unlock()
	p, err := change(a.plan)
	if err != nil {
		return err
	}
	a.plan = p
	guard.Go(a.saveSoon)
	return nil
}

// saveSoon keeps the plan for who must not wait for the disk.
func (a *Agenda) saveSoon() {
	a.mu.Lock()
	defer a.mu.Unlock()
	_ = a.save() // what cannot be kept now goes with what comes next
}

// save keeps the plan as it stands.
func (a *Agenda) save() error {
	if !a.kept {
		return nil
	}
	text, err := a.plan.Written()
	if err != nil {
		return err
	}
	return a.desk.History.KeepPlan(context.Background(), history.Plan{Day: a.day, At: a.desk.Now(), Text: text})
}

// step is the step with a number, nil where there is none.
func (a *Agenda) step(n int) *today.Step {
	i := slices.IndexFunc(a.plan.Steps, func(s today.Step) bool { return s.N == n })
	if i < 0 {
		return nil
	}
	return &a.plan.Steps[i]
}

// Begin picks what a step asks where that was left open until now, and returns the
// step.
func (a *Agenda) Begin(n int) (today.Step, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	s := a.step(n)
	if s == nil {
		return today.Step{}, fmt.Errorf("the day has no step %d", n)
	}
	if unpicked(*s) {
		return *s, errors.Join(a.fill(s), a.save())
	}
	if s.Task != nil && s.Asked == 0 && s.Beside == nil {
		known, err := a.desk.known()
		if err != nil {
			return *s, err
		}
		*s = s.WithBeside(known, a.day)
	}
	return *s, nil
}

// unpicked reports whether what a step asks was left open until the level is found.
func unpicked(s today.Step) bool {
	return s.Items == nil && (s.Kind == today.New || s.Kind == today.Mixed) && s.Task == nil
}

// fill picks what a step asks that was left open.
func (a *Agenda) fill(s *today.Step) error {
	r, err := a.desk.request(a.desk.Now(), Day{Tune: s.Tune, Minutes: a.plan.Minutes}, a.plan)
	if err == nil {
		*s = today.Pick(a.plan, s.N, r)
	}
	return err
}

// pick picks what is new, now that the level says which.
func (a *Agenda) pick() error {
	for i := range a.plan.Steps {
		if s := &a.plan.Steps[i]; s.Kind == today.New && unpicked(*s) {
			return a.fill(s)
		}
	}
	return nil
}

// Questions asks what a step asks; ok is false where it asks nothing. With held each
// question after a verdict waits for Next.
func (a *Agenda) Questions(n int, held bool) (s *Session, ok bool, err error) {
	run, ok, err := a.questions(n, held)
	if err != nil || !ok {
		return nil, ok, err
	}
	return a.desk.session(run), true, nil
}

func (a *Agenda) questions(n int, held bool) (run *questions, ok bool, err error) {
	step, err := a.Begin(n)
	if err != nil {
		return nil, false, err
	}
	choice, ok, err := a.desk.StepChoice(step)
	if err != nil || !ok {
		return nil, ok, err
	}
	if p := a.Plan(); p.Last != "" {
		choice.before.Right = p.LastRight
		if choice.before.Item, err = memory.ParseKey(p.Last); err != nil {
			return nil, false, err
		}
	}
	sitting, err := a.desk.Begin(choice)
	if err != nil {
		return nil, false, fmt.Errorf("this step cannot be asked: %w", err)
	}
	return &questions{sitting: sitting, held: held, agenda: a, n: n, before: step, course: a.Plan().Course}, true, nil
}

// answered takes in how a step stands after an answer: the seconds it has taken and how
// each thing went. It reports whether the criterion of its lesson is met by that.
func (a *Agenda) answered(q *questions, now time.Time) (met bool, err error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	s := a.step(q.n)
	if s == nil {
		return false, nil
	}
	past, sum := q.sitting.Answers(), q.sitting.Summary(now)
	s.Spent = q.before.Spent + q.sitting.Elapsed(now).Seconds()
	s.Asked, s.Right = q.before.Asked+sum.Asked, q.before.Right+sum.Right
	a.plan.Last, a.plan.LastRight = "", false
	if n := len(past); n > 0 {
		a.plan.Last, a.plan.LastRight = past[n-1].Item.Key(), past[n-1].Right()
	}
	if round := q.sitting.round; round != nil {
		round.Take(past)
		s.Tries = round.Tries()
	} else {
		s.Tries = today.Tried(q.before.Tries, past)
	}
	if s.Kind == today.Level {
		if found, over := q.sitting.Placed(); over {
			err = errors.Join(a.place(found), a.pick())
		}
	}
	if s.Task != nil && s.Task.Drill != nil {
		var alone []bool
		if round := q.sitting.round; round != nil {
			alone = round.Alone()
		} else {
			for _, answer := range past {
				alone = append(alone, answer.Right())
			}
		}
		course := q.course.Tried(s.Lesson, s.TaskN, alone, s.Task.Drill.Of)
		asked, right := course.SoFar(s.Lesson, s.TaskN)
		a.plan.Course.Begun = course.Begun
		took := time.Duration(sum.MedianMS) * time.Millisecond
		if s.Task.Drill.Met(asked, right, took) && a.metEnough(*s) {
			met, s.Met = true, true
			a.goOn(*s)
		}
		s.SoFar = a.plan.Course.SaysSoFar(s.Lesson, s.TaskN)
	}
	return met, errors.Join(err, a.save())
}

// found says in a line each what a level check has found, and what follows from it.
func (a *Agenda) found(sum drills.Summary) []string {
	a.mu.Lock()
	defer a.mu.Unlock()
	switch {
	case sum.Found == nil || a.passed == 0:
		return sum.Found
	case a.passed == 1:
		return append(sum.Found, "You know what the first lesson teaches, so it is passed over; it stands in the list of lessons, if you want it.")
	}
	return append(sum.Found, fmt.Sprintf("You know what lessons 1 to %d teach, so they are passed over; they stand in the list of lessons, if you want one.", a.passed))
}

// metEnough reports whether as many things of a lesson's task were met by now as it asks
// for answers, or all there are.
func (a *Agenda) metEnough(s today.Step) bool {
	l := a.desk.taught(s.Lesson)
	known, err := a.desk.known()
	if l == nil || err != nil {
		return err == nil // a teacher's own, which is not here now
	}
	met, items := 0, l.Items[s.TaskN-1]
	for _, it := range items {
		if !known[it].New() || s.Tries[it.Key()].Asked > 0 {
			met++
		}
	}
	return met >= min(len(items), s.Task.Drill.Of)
}

// goOn ticks the task of a step off, so that the lessons go on to the next.
func (a *Agenda) goOn(s today.Step) {
	if s.Lesson == "" {
		return
	}
	a.plan.Course = a.plan.Course.With(s.Lesson, s.TaskN)
	if a.kept || a.desk.History == nil {
		return
	}
	if own, err := a.desk.Agenda(Day{}); err == nil { // the plan that is kept remembers it too
		own.mu.Lock()
		own.plan.Course = own.plan.Course.With(s.Lesson, s.TaskN)
		_ = own.save()
		own.mu.Unlock()
	}
}

// Ended takes in that a step came to its own end, or was left, and returns the step: it
// is done by its minutes, its passes or its criterion, or because nothing is left in it
// to ask.
func (a *Agenda) Ended(n int, whole bool) (today.Step, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	s := a.step(n)
	if s == nil {
		return today.Step{}, nil
	}
	return a.ended(s, whole), a.save()
}

// ended ends a step. One that the player began beside the day's own and left is no step of
// the day any more.
func (a *Agenda) ended(s *today.Step, whole bool) today.Step {
	s.Done = s.Done || whole || s.Met || s.Left() == 0
	step := *s
	if step.Own && !step.Done {
		a.plan.Steps = slices.DeleteFunc(slices.Clone(a.plan.Steps), func(other today.Step) bool { return other.N == step.N })
	}
	return step
}

// endedSoon is Ended for who must not wait for the disk.
func (a *Agenda) endedSoon(n int, whole bool) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if s := a.step(n); s != nil {
		a.ended(s, whole)
		guard.Go(a.saveSoon)
	}
}

// Says tells in a line what changed today and what comes tomorrow.
func (a *Agenda) Says() string {
	a.mu.Lock()
	defer a.mu.Unlock()
	known, err := a.desk.known()
	if err != nil || known == nil {
		return ""
	}
	next := ""
	ladder, course := a.desk.next(a.plan.Course, known)
	if l := cmp.Or(a.desk.given(course), ladder); l != nil {
		next = l.Lesson.Title
	}
	return a.plan.Says(a.day, known, next)
}

// way says how far the question that waits is helped with, and what is told of the way
// to its answer.
func (s *Sitting) way(q drills.Question) []string {
	if s.round == nil {
		return s.Steps(q)
	}
	s.round.Take(s.Answers())
	worked, ok := q.(drills.Worked)
	switch way := s.round.Way(q.Item()); {
	case way == today.ByItself:
		return nil
	case ok && way == today.Led:
		steps := worked.Steps()
		return steps[:len(steps)-1]
	case ok:
		return worked.Steps()
	case way == today.Led:
		return nil
	}
	return []string{q.Judge(drills.Typed(memory.Lines, q.Right()[0])).Reason}
}

// shown reports whether the question about an item is one whose answer is shown.
func (s *Sitting) shown(it memory.Item) bool {
	return s.round != nil && s.round.Way(it) == today.Shown
}

// led reports whether the question about an item is one that is helped with.
func (s *Sitting) led(it memory.Item) bool {
	return s.round != nil && s.round.Way(it) != today.ByItself
}

// Page is the text of a lesson that a step begins with, a paragraph each.
func (a *Agenda) Page(s today.Step) []string {
	l := a.lesson
	if l == nil {
		l = a.desk.Lesson(s.Lesson)
	}
	if l == nil {
		return nil
	}
	return l.Text
}
