package session

import (
	"context"
	"slices"
	"time"

	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/drills/today"
	"footfall/trainer/history"
)

// WeekDays is how many days a report to a teacher is about unless said otherwise.
const WeekDays = 7

// Reported is a history to report on, as a *history.Store is.
type Reported interface {
	Look(ctx context.Context, since, today memory.Day) (progress.Record, error)
	Answers(ctx context.Context, since time.Time, each func(history.Answer) error) error
	Takes(ctx context.Context, since time.Time, each func(history.Take) error) error
	LastPlan(ctx context.Context, upTo memory.Day) (history.Plan, bool, error)
	Identity() string
}

// Week reports the days since one to a teacher, the last week for 0.
func (d *Desk) Week(ctx context.Context, from Reported, since memory.Day) (progress.Week, error) {
	day := memory.DayOf(d.Now())
	if since == 0 {
		since = day - WeekDays + 1
	}
	r, err := from.Look(ctx, 0, day)
	if err != nil {
		return progress.Week{}, err
	}
	before := map[memory.Item]memory.State{}
	if err := from.Answers(ctx, time.Time{}, func(a history.Answer) error {
		if at := memory.DayOf(a.At); at < since {
			before[a.Item] = before[a.Item].After(at, a.Grade)
		}
		return nil
	}); err != nil {
		return progress.Week{}, err
	}
	type place struct {
		tune string
		bar  int
	}
	bars, at := []progress.BarRow(nil), map[place]int{}
	if err := from.Takes(ctx, (since - 1).Date(), func(t history.Take) error {
		if memory.DayOf(t.At) < since {
			return nil
		}
		for _, e := range t.Events {
			if e.Verdict == "extra" || e.Verdict == history.Named {
				continue
			}
			p := place{t.Item.Tune, e.Bar}
			i, there := at[p]
			if !there {
				i = len(bars)
				at[p], bars = i, append(bars, progress.BarRow{Tune: p.tune, Bar: p.bar})
			}
			bars[i].Asked++
			if e.Verdict != "matched" {
				bars[i].Missed++
			}
		}
		return nil
	}); err != nil {
		return progress.Week{}, err
	}
	w := progress.WeekOf(r, since, before, bars)
	w.History = from.Identity()
	these, err := from.Look(ctx, since, day)
	if err != nil {
		return w, err
	}
	w.Weak = progress.WeakOf(these)
	for i := range w.Tempos {
		w.Tempos[i].Title = d.titleOf(w.Tempos[i].Tune)
	}
	for i := range w.Bars {
		w.Bars[i].Title = d.titleOf(w.Bars[i].Tune)
	}
	then, err := d.courseOn(ctx, from, since-1)
	if err != nil {
		return w, err
	}
	now, err := d.courseOn(ctx, from, day)
	if err != nil {
		return w, err
	}
	played := map[memory.Item]bool{}
	for _, t := range these.Takes {
		played[t.Item] = true
	}
	for _, l := range d.Lessons() {
		at := progress.WeekLesson{Title: l.Title, Teachers: slices.Contains(d.Taught, l), Tasks: len(l.Tasks)}
		begun := false
		for i, task := range l.Tasks {
			met, had := now.Has(l.Name, i+1), then.Has(l.Name, i+1)
			at.Met, at.Before = at.Met+count(met), at.Before+count(met && had)
			begun = begun || !met && (now.SaysSoFar(l.Name, i+1) != then.SaysSoFar(l.Name, i+1) || task.Passage != nil && played[task.Passage.Item()])
		}
		if begun || at.Met > at.Before {
			w.Course = append(w.Course, at)
		}
		if at.Met == at.Tasks && at.Before < at.Tasks {
			w.Lessons = append(w.Lessons, l.Title)
		}
	}
	return w, nil
}

// count is 1 for what is so, else 0.
func count(so bool) int {
	if so {
		return 1
	}
	return 0
}

// titleOf is what players call a tune, its name where it is not here.
func (d *Desk) titleOf(name string) string {
	t, err := d.Tune(name)
	if err != nil {
		return name
	}
	return t.Tune.Title
}

// courseOn is how far the lessons had come by the end of a day.
func (d *Desk) courseOn(ctx context.Context, from Reported, day memory.Day) (today.Course, error) {
	last, found, err := from.LastPlan(ctx, day)
	if err != nil || !found {
		return today.Course{}, err
	}
	p, err := today.Read(last.Text, d.Lesson)
	if err != nil {
		return today.Course{}, nil // of another program
	}
	return d.named(p.Course), nil
}
