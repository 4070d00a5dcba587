package session

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"footfall/drills"
	"footfall/drills/lesson"
	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/drills/today"
	"footfall/harmony"
	"footfall/trainer/history"
)

// Day is what a plan of the day is asked for.
type Day struct {
	// Minutes is the time there is, the desk's if 0.
	Minutes int
	// Tune is the tune to work at; where it is empty the history says.
	Tune string
	// Lesson is the lesson to take, nil for none. A built-in one becomes the day's own plan.
	Lesson *lesson.Lesson
	// Towards is the tune to work towards from now on, one without a name for none; nil
	// leaves it as it is.
	Towards *today.Towards
	// Seed gives chance; nil takes the day's own, so that a day has one plan.
	Seed *uint64
}

const (
	// workDays is how long a tune stays in work after it was last practised, and
	// mostWork how many tunes a plan is made of.
	workDays = 21
	mostWork = 3
)

// Today is the day's plan as it stands: the same all day, with what is done of it.
func (d *Desk) Today(ask Day) (today.Plan, error) {
	a, err := d.Agenda(ask)
	if err != nil {
		return today.Plan{}, err
	}
	return a.Plan(), nil
}

// request is what the day is laid out from, after the plan before it.
func (d *Desk) request(now time.Time, ask Day, before today.Plan) (r today.Request, err error) {
	ctx, day := context.Background(), memory.DayOf(now)
	r = today.Request{Day: day, Minutes: cmp.Or(ask.Minutes, d.Minutes), BreakAfter: d.BreakAfter, Seed: uint64(day),
		Towards: before.Towards, Unfinished: before.Unfinished(day)}
	if ask.Seed != nil {
		r.Seed = *ask.Seed
	}
	if ask.Lesson != nil {
		t := d.taughtOf(ask.Lesson)
		r.Lesson = &t
	}
	if d.History != nil {
		if r.Known, err = d.History.States(ctx); err != nil {
			return r, err
		}
		if r.Left, err = d.left(); err != nil {
			return r, err
		}
		since := time.Date(now.Year(), now.Month(), now.Day()-today.RecentDays, 0, 0, 0, 0, now.Location())
		if err := d.History.Answers(ctx, since, func(a history.Answer) error {
			r.Recent = append(r.Recent, today.Recent{Item: a.Item, Day: memory.DayOf(a.At), Right: a.Verdict != memory.Missed, Seconds: a.Took.Seconds()})
			return nil
		}); err != nil {
			return r, err
		}
	}
	next, course := d.next(before.Course, r.Known)
	r.Next, r.Course, r.Kinds = cmp.Or(d.given(course), next), course, d.kindsFor(next, r.Known)
	if ask.Towards != nil {
		r.Towards = ask.Towards
		if ask.Towards.Tune == "" {
			r.Towards = nil
		}
	}
	if r.Towards, err = d.howFar(r.Towards, r.Known); err != nil {
		return r, err
	}
	first := ask.Tune
	if first == "" && r.Towards != nil {
		first = r.Towards.Tune
	}
	tunes, err := d.inWork(ctx, now, first)
	if err != nil {
		return r, err
	}
	work := func(t Tune) error {
		w, err := d.workOf(t)
		if err != nil {
			return fmt.Errorf("%s: %w", t.Name, err)
		}
		r.Work = append(r.Work, w)
		return nil
	}
	for _, t := range tunes {
		if err := work(t); err != nil {
			return r, err
		}
	}
	if d.bounds(&r, next == nil); len(r.Work) < mostWork && r.AtTempo() {
		// The next of the tunes, which go from easy to hard, comes to those that are learned.
		for _, t := range d.AllTunes() {
			if !slices.ContainsFunc(r.Work, func(w today.Work) bool { return w.Name == t.Name }) {
				return r, work(t)
			}
		}
	}
	return r, nil
}

// left is where each passage was left.
func (d *Desk) left() (map[memory.Item]today.Left, error) {
	left := map[memory.Item]today.Left{}
	if d.History == nil {
		return left, nil
	}
	takes, err := d.History.LastTakes(context.Background())
	for it, t := range takes {
		left[it] = today.Left{Ramp: t.Ramp, Tempo: t.Tempo, Day: memory.DayOf(t.At), Judged: t.Judged, Clean: t.Clean}
	}
	return left, err
}

func (d *Desk) ofTune(t Tune) drills.Material {
	m := drills.OfTune(t.Name, t.Tune, d.Neck)
	m.Hand = d.Hand
	return m
}

// inWork returns the tunes in work, the one asked for first.
func (d *Desk) inWork(ctx context.Context, now time.Time, first string) ([]Tune, error) {
	var names []string
	if d.History != nil {
		var err error
		if names, err = d.History.TunesInWork(ctx, workSince(now)); err != nil {
			return nil, err
		}
	}
	var tunes []Tune
	if first != "" {
		t, err := d.Tune(first)
		if err != nil {
			return nil, err
		}
		tunes = append(tunes, t)
	}
	return d.working(names, tunes), nil
}

// working adds the tunes of some names to those given, as far as so many are in work at
// once. A player who has none yet begins with the first, which is the easiest.
func (d *Desk) working(names []string, tunes []Tune) []Tune {
	for _, name := range names {
		if _, own := lesson.OfOwn(name); own {
			continue // it is worked at in its lesson
		}
		t, err := d.Tune(name)
		if err != nil || slices.ContainsFunc(tunes, func(u Tune) bool { return u.Name == t.Name }) {
			continue // a file of the player's own that is not here now
		}
		if len(tunes) < mostWork {
			tunes = append(tunes, t)
		}
	}
	if all := d.AllTunes(); len(tunes) == 0 && len(all) > 0 {
		tunes = append(tunes, all[0])
	}
	return tunes
}

// StepChoice returns what to drill in a step of the day; false where the step
// is no drill.
func (d *Desk) StepChoice(s today.Step) (Choice, bool, error) {
	c := Choice{Drill: drills.Mixed, Tune: s.Tune, Length: cmp.Or(s.Left(), time.Second), step: &s}
	switch {
	case s.Task != nil && s.Task.Drill != nil:
		t, ok, err := d.taskChoice(*s.Task.Drill, c)
		if s.Items != nil {
			t.Only = s.Items
		}
		if s.Beside != nil { // what stands between is of other drills
			asked := s.Beside
			if t.Tune == "" { // a change from the last chord to the first stays one
				asked = slices.Concat(s.Items, s.Beside)
			}
			t.Drill, t.Chords = drills.Mixed, t.Chords+" "+today.Symbols(asked, nil)
		}
		return t, ok, err
	case s.Task != nil:
		return Choice{}, false, nil
	case s.Kind == today.Level:
	case s.Kind == today.Mixed, s.Kind == today.New:
		if c.Tune == "" {
			c.Chords = drills.Sets[0].Name
		}
		c.Only = s.Items
	case s.Kind == today.Due:
		var chords []harmony.Chord
		tunes, err := d.inWork(context.Background(), d.Now(), "")
		if err != nil {
			return c, false, err
		}
		for _, t := range tunes {
			chords = append(chords, d.ofTune(t).Chords...)
		}
		c.Only, c.Tune, c.Chords = s.Items, "", today.Symbols(s.Items, chords)
	default:
		return Choice{}, false, nil
	}
	return c, true, nil
}

// taskChoice is the choice of a lesson's drill.
func (d *Desk) taskChoice(task lesson.Drill, c Choice) (Choice, bool, error) {
	c.Drill, c.Tune, c.Chords = string(task.Kind), task.Tune, task.Chords
	m, err := d.material(c)
	if err != nil {
		return c, false, err
	}
	m.Hand = d.Hand
	qs, err := task.Questions(m)
	if err != nil {
		return c, false, err
	}
	for _, q := range qs {
		c.Only = append(c.Only, q.Item())
	}
	return c, true, nil
}

// Looked is a history to look back on, as a *history.Store is.
type Looked interface {
	Look(ctx context.Context, since, today memory.Day) (progress.Record, error)
	TunesInWork(context.Context, time.Time) ([]string, error)
}

// Review looks back on practice since a day, 0 for all there is.
func (d *Desk) Review(since memory.Day) (progress.Review, error) {
	if d.History == nil {
		return progress.Look(progress.Record{Since: since, Today: memory.DayOf(d.Now())}), nil
	}
	return d.LookBack(context.Background(), d.History, since)
}

// LookBack looks back on a history since a day, 0 for all there is: on what is kept
// there, and on what the tunes in work ask beyond it.
func (d *Desk) LookBack(ctx context.Context, from Looked, since memory.Day) (progress.Review, error) {
	now := d.Now()
	r, err := from.Look(ctx, since, memory.DayOf(now))
	if err != nil {
		return progress.Review{}, err
	}
	names, err := from.TunesInWork(ctx, workSince(now))
	if err != nil {
		return progress.Review{}, err
	}
	r.Neck, r.Tempos, r.Titles = d.Neck, map[string]float64{}, map[string]string{}
	for _, t := range d.AllTunes() {
		r.Tempos[t.Name], r.Titles[t.Name] = t.Tune.Tempo, t.Tune.Title
	}
	for _, t := range r.Takes {
		if name := t.Item.Tune; r.Titles[name] == "" {
			r.Titles[name] = d.titleOf(name) // of a lesson
		}
	}
	seen := map[memory.Item]bool{}
	for _, t := range d.working(names, nil) {
		w, err := d.workOf(t)
		if err != nil {
			continue // a tune that cannot be worked at asks nothing
		}
		for _, it := range w.Items {
			if !seen[it] {
				seen[it] = true
				r.Pool = append(r.Pool, it)
			}
		}
	}
	return progress.Look(r), nil
}

// workSince is since when a tune that was practised is in work: from the day's start, so
// that the plan stays the same all day.
func workSince(now time.Time) time.Time {
	return time.Date(now.Year(), now.Month(), now.Day()-workDays, 0, 0, 0, 0, now.Location())
}
