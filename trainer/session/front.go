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
	// Work names the tunes in work, the latest first.
	Work []string
	// Places are how well what lies on the neck is kept.
	Places []progress.KeptPlace
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
	f.Week, f.Places = v.Week(), v.KeptPlaces
	if d.History != nil {
		f.Work, err = d.History.TunesInWork(context.Background(), workSince(now))
	}
	return f, err
}

// Places are how well what lies on the neck is kept; none where the history cannot be read.
func (d *Desk) Places() []progress.KeptPlace {
	known, err := d.known()
	if err != nil {
		return nil
	}
	return progress.Places(known, d.Neck)
}
