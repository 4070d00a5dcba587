package session

import (
	"context"

	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/drills/today"
)

// Front is what the first screen shows beside the tunes there are.
type Front struct {
	Plan today.Plan
	// Over tells what the day came to, "" while something of it is left.
	Over string
	// Week tells how this week went, in a line.
	Week string
	// Days are the days of this week so far.
	Days []progress.SpanRow
	// Work names the tunes in work, the latest first, and Far tells how far each is, but
	// the one that the plan is towards.
	Work []string
	Far  []today.Towards
	// Places are how well what lies on the neck is kept.
	Places []progress.KeptPlace
}

// FarOf tells how far a tune in work is, "" where it is none.
func (f Front) FarOf(tune string) string {
	for _, far := range f.Far {
		if far.Tune == tune {
			return far.Says
		}
	}
	return ""
}

// Front looks at the day under way and at the week before it.
func (d *Desk) Front(a *Agenda) (Front, error) {
	now := d.Now()
	f := Front{Plan: a.Plan()}
	if f.Plan.AllDone() {
		f.Over = a.Says()
	}
	v, err := d.Review(progress.Monday(memory.DayOf(now)))
	if err != nil {
		return f, err
	}
	days, _, _ := v.Axes()
	f.Week, f.Days, f.Places = v.Week(), days, v.KeptPlaces
	if d.History == nil {
		return f, nil
	}
	if f.Work, err = d.History.TunesInWork(context.Background(), workSince(now)); err != nil {
		return f, err
	}
	known, err := d.known()
	if len(f.Work) == 0 || err != nil {
		return f, err
	}
	for _, t := range d.working(f.Work, nil) {
		if f.Plan.Towards != nil && f.Plan.Towards.Tune == t.Name {
			continue // the plan tells
		}
		// A tune that cannot be worked at has nothing to tell.
		if far, err := d.howFar(&today.Towards{Tune: t.Name}, known); err == nil && far != nil {
			f.Far = append(f.Far, *far)
		}
	}
	return f, nil
}

// Places are how well what lies on the neck is kept; none where the history cannot be read.
func (d *Desk) Places() []progress.KeptPlace {
	known, err := d.known()
	if err != nil {
		return nil
	}
	return progress.Places(known, d.Neck)
}
