package session

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/drills/today"
	"footfall/fretboard"
	"footfall/harmony"
)

// rampDays is how many days back the passes reach that a forecast goes by.
const rampDays = 60

// Towards is a tune to work towards by its name, with the day by which it is wanted, ""
// for none. The error is the player's.
func (d *Desk) Towards(name, by string) (*today.Towards, error) {
	t, err := d.Tune(name)
	if err != nil {
		return nil, err
	}
	if by != "" {
		day, err := memory.ParseDay(by)
		if err != nil {
			return nil, fmt.Errorf("%q is no day: write one like 2027-01-31", by)
		}
		if day < memory.DayOf(d.Now()) {
			return nil, fmt.Errorf("%s is over: name a day to come", by)
		}
	}
	return &today.Towards{Tune: t.Name, Title: t.Tune.Title, By: by, Tempo: t.Tune.Tempo}, nil
}

// howFar says how far a tune that is worked towards is: layer by layer how fast it has
// been clean, when it will be at its tempo at the player's own rate, and how much of what
// it asks is known.
func (d *Desk) howFar(goal *today.Towards, known map[memory.Item]memory.State) (*today.Towards, error) {
	if goal == nil || d.History == nil {
		return goal, nil
	}
	t, err := d.Tune(goal.Tune)
	if err != nil {
		return nil, nil // its file is gone
	}
	now := memory.DayOf(d.Now())
	r, err := d.History.Look(context.Background(), now-rampDays, now)
	if err != nil {
		return nil, err
	}
	r.Tempos = map[string]float64{t.Name: t.Tune.Tempo}
	far := *goal
	far.Title, far.Tempo = t.Tune.Title, t.Tune.Tempo
	var says []string
	rows := progress.Look(r).Forecasts
	for layer := fretboard.Bass; layer <= fretboard.BassHalves; layer++ {
		i := slices.IndexFunc(rows, func(f progress.ForecastRow) bool { return f.Layer == layer.String() })
		if i < 0 {
			says = append(says, layer.String()+" not played clean yet")
			break
		}
		says = append(says, rows[i].Says())
		if rows[i].Reached < rows[i].Tempo {
			break // the next layer comes after this one
		}
	}
	w, err := d.workOf(t)
	if err != nil {
		return nil, err
	}
	met, firm, all := 0, 0, 0
	for _, it := range w.Items {
		if it.Kind != memory.Find || w.Bars[it] == 0 {
			continue // the line can be played without it
		}
		all++
		switch known[it].Kept() {
		case memory.Learning:
			met++
		case memory.Firm:
			met, firm = met+1, firm+1
		}
	}
	of := fmt.Sprintf("%d of the %d places", met, all)
	if met == all && all > 1 {
		of = fmt.Sprintf("all %d places", all)
	}
	says = append(says, fmt.Sprintf("%s of its line met, %d firm", of, firm))
	if by, err := memory.ParseDay(far.By); err == nil && by >= now {
		says = append(says, harmony.Counted(int(by-now), "day")+" to go")
	}
	far.Says = strings.Join(says, "; ")
	return &far, nil
}

// WorkTowards changes what the day is worked towards, nil for nothing. The steps laid
// stay; those of the next day go by it.
func (a *Agenda) WorkTowards(goal *today.Towards) error {
	known, err := a.desk.known()
	if err != nil {
		return err
	}
	if goal, err = a.desk.howFar(goal, known); err != nil {
		return err
	}
	return a.Change(func(p today.Plan) (today.Plan, error) {
		p.Towards = goal
		return p, nil
	})
}

// NextGoal works towards the tune after the present one on the desk, or the one before
// it; past the last, and before the first, towards none.
func (a *Agenda) NextGoal(step int) error {
	tunes := a.desk.AllTunes()
	n := len(tunes)
	at := n // for no tune
	if t := a.Plan().Towards; t != nil {
		at = slices.IndexFunc(tunes, func(u Tune) bool { return u.Name == t.Tune })
	}
	if at = (at + step + n + 1) % (n + 1); at == n {
		return a.WorkTowards(nil)
	}
	goal, err := a.desk.Towards(tunes[at].Name, "")
	if err != nil {
		return err
	}
	return a.WorkTowards(goal)
}
