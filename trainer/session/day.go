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
)

// Day is what a plan of the day is asked for.
type Day struct {
	// Minutes is the time there is, the desk's if 0.
	Minutes int
	// Tune is the tune to work at; where it is empty the history says.
	Tune string
	// Lesson is the lesson to take, nil for none.
	Lesson *lesson.Lesson
	// Seed gives chance; nil takes the day's own, so that a day has one plan.
	Seed *uint64
}

const (
	// workDays is how long a tune stays in work after it was last practised, and
	// mostWork how many tunes a plan is made of.
	workDays = 21
	mostWork = 3
)

// Today lays out the day: the same history on the same day gives the same plan.
func (d *Desk) Today(ask Day) (today.Plan, error) {
	ctx, now := context.Background(), d.Now()
	day := memory.DayOf(now)
	r := today.Request{Day: day, Minutes: cmp.Or(ask.Minutes, d.Minutes), BreakAfter: d.BreakAfter, Seed: uint64(day), Left: map[memory.Item]today.Left{}, Lesson: ask.Lesson}
	if ask.Seed != nil {
		r.Seed = *ask.Seed
	}
	if d.History != nil {
		var err error
		if r.Known, err = d.History.States(ctx); err != nil {
			return today.Plan{}, err
		}
		takes, err := d.History.LastTakes(ctx)
		if err != nil {
			return today.Plan{}, err
		}
		for it, t := range takes {
			r.Left[it] = today.Left{Ramp: t.Ramp, Tempo: t.Tempo, Clean: t.Clean}
		}
	}
	tunes, err := d.inWork(ctx, now, ask.Tune)
	if err != nil {
		return today.Plan{}, err
	}
	for _, t := range tunes {
		w, err := today.WorkOf(d.ofTune(t))
		if err != nil {
			return today.Plan{}, fmt.Errorf("%s: %w", t.Name, err)
		}
		r.Work = append(r.Work, w)
	}
	return today.Lay(r), nil
}

func (d *Desk) ofTune(t Tune) drills.Material {
	m := drills.OfTune(t.Name, t.Tune, d.Neck)
	m.Hand = d.Hand
	return m
}

// inWork returns the tunes in work, the one asked for first. A player who has
// none yet begins with the tune that has the fewest chords, of those the slowest.
func (d *Desk) inWork(ctx context.Context, now time.Time, first string) ([]Tune, error) {
	var names []string
	if d.History != nil {
		var err error
		// From the day's start, so that the plan stays the same all day.
		since := time.Date(now.Year(), now.Month(), now.Day()-workDays, 0, 0, 0, 0, now.Location())
		if names, err = d.History.TunesInWork(ctx, since); err != nil {
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
	for _, name := range names {
		t, err := d.Tune(name)
		if err != nil || slices.ContainsFunc(tunes, func(u Tune) bool { return u.Name == t.Name }) {
			continue // a file of the player's own that is not here now
		}
		if len(tunes) < mostWork {
			tunes = append(tunes, t)
		}
	}
	if all := d.tunes(); len(tunes) == 0 && len(all) > 0 {
		tunes = append(tunes, slices.MinFunc(all, func(a, b Tune) int {
			return cmp.Or(cmp.Compare(len(d.ofTune(a).Chords), len(d.ofTune(b).Chords)), cmp.Compare(a.Tune.Tempo, b.Tune.Tempo))
		}))
	}
	return tunes, nil
}

// StepChoice returns what to drill in a step of the day; false where the step
// is no drill.
func (d *Desk) StepChoice(s today.Step) (Choice, bool, error) {
	c := Choice{Drill: drills.Mixed, Tune: s.Tune, Length: time.Duration(s.Minutes) * time.Minute}
	switch s.Kind {
	case today.Level:
	case today.Mixed:
		if s.Task != nil {
			return d.taskChoice(*s.Task.Drill, c)
		}
		if c.Tune == "" {
			c.Chords = drills.Sets[0].Name
		}
	case today.New:
		c.Only = s.Items
	case today.Due:
		var chords []harmony.Chord
		tunes, err := d.inWork(context.Background(), d.Now(), "")
		if err != nil {
			return c, false, err
		}
		for _, t := range tunes {
			chords = append(chords, d.ofTune(t).Chords...)
		}
		c.Only, c.Tune, c.Chords = s.Items, "", today.Symbols(s.Items, chords)
		// Each once, and what is missed again.
		c.Questions = len(s.Items) + (len(s.Items)+3)/4
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

// Review looks back on practice since a day, 0 for all there is.
func (d *Desk) Review(since memory.Day) (progress.Review, error) {
	now := memory.DayOf(d.Now())
	if d.History == nil {
		return progress.Look(progress.Record{Since: since, Today: now}), nil
	}
	r, err := d.History.Look(context.Background(), since, now)
	return progress.Look(r), err
}
