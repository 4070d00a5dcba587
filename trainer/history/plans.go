package history

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"time"

	"footfall/drills/memory"
	"footfall/drills/today"
	"footfall/trainer/quote"
)

// Plan is the plan of a day with what was done of it, as drills/today writes it.
type Plan struct {
	Day memory.Day
	// At is when it was last changed, to the millisecond.
	At time.Time
	// Text is JSON.
	Text json.RawMessage
}

// KeepPlan keeps the plan of a day in the place of the one that was kept for it.
func (s *Store) KeepPlan(ctx context.Context, p Plan) error {
	return s.write(ctx, func(tx *sql.Tx) error { return writePlan(tx, p) })
}

// writePlan keeps a plan, with what was ticked off in that of its day before; where a
// later one of its day is there, that stays, with what is ticked off in this one.
func writePlan(tx *sql.Tx, p Plan) error {
	var at int64
	var text string
	switch err := tx.QueryRow(`SELECT at, plan FROM plans WHERE day = ?`, int(p.Day)).Scan(&at, &text); {
	case errors.Is(err, sql.ErrNoRows):
	case err != nil:
		return err
	case at > p.At.UnixMilli():
		p.At, p.Text = time.UnixMilli(at), today.Ticked([]byte(text), p.Text)
	default:
		p.Text = today.Ticked(p.Text, []byte(text))
	}
	_, err := tx.Exec(`INSERT INTO plans VALUES (?,?,?) ON CONFLICT (day) DO UPDATE SET at = excluded.at, plan = excluded.plan`,
		int(p.Day), p.At.UnixMilli(), string(p.Text))
	return err
}

// tickPlans has every plan know what was ticked off in those of earlier days, of whichever
// machine: the latest is the one that the next day goes by.
func tickPlans(tx *sql.Tx) error {
	rows, err := tx.Query(`SELECT day, plan FROM plans ORDER BY day`)
	if err != nil {
		return err
	}
	defer rows.Close()
	changed := map[int]string{}
	before := ""
	for rows.Next() {
		var day int
		var text string
		if err := rows.Scan(&day, &text); err != nil {
			return err
		}
		if before = string(today.Ticked([]byte(text), []byte(before))); before != text {
			changed[day] = before
		}
	}
	if err := rows.Err(); err != nil {
		return err
	}
	for day, text := range changed {
		if _, err := tx.Exec(`UPDATE plans SET plan = ? WHERE day = ?`, text, day); err != nil {
			return err
		}
	}
	return nil
}

// LastPlan returns the plan of the latest day up to one, and whether there is any.
func (s *Store) LastPlan(ctx context.Context, upTo memory.Day) (p Plan, found bool, err error) {
	plans, err := s.plans(ctx, `WHERE day <= ? ORDER BY day DESC LIMIT 1`, int(upTo))
	if err != nil || len(plans) == 0 {
		return p, false, err
	}
	return plans[0], true, nil
}

func (s *Store) plans(ctx context.Context, where string, args ...any) (plans []Plan, err error) {
	rows, err := s.db.QueryContext(ctx, `SELECT day, at, plan FROM plans `+where, args...)
	if err != nil {
		return nil, fault(s.path, err)
	}
	defer rows.Close()
	for rows.Next() {
		var p Plan
		var at int64
		var text string
		if err := rows.Scan(&p.Day, &at, &text); s.leaves(err) {
			continue
		} else if err != nil {
			return nil, fault(s.path, err)
		}
		p.At, p.Text = time.UnixMilli(at).UTC(), json.RawMessage(text)
		plans = append(plans, p)
	}
	return plans, fault(s.path, rows.Err())
}

// eachPlan calls each with every plan, the earliest first.
func (s *Store) eachPlan(ctx context.Context, each func(Plan) error) error {
	plans, err := s.plans(ctx, `ORDER BY day`)
	if err != nil {
		return err
	}
	for _, p := range plans {
		if err := each(p); err != nil {
			return err
		}
	}
	return nil
}

// plan takes a plan over, and what is ticked off in it alone where a later one of its day
// is there.
func (m *merger) plan(p Plan) error {
	if err := p.check(); err != nil {
		return err
	}
	m.plans = true
	return writePlan(m.tx, p)
}

func (p Plan) check() error {
	if !json.Valid(p.Text) || p.At.IsZero() {
		return fmt.Errorf("the plan of %s is not what `footfall log export` wrote", p.Day)
	}
	return errors.Join(checkYear(p.At), checkYear(p.Day.Date()))
}

// planJSON is an exported plan.
type planJSON struct {
	Day  string `json:"day"`
	At   string `json:"at"`
	Plan string `json:"plan"` // JSON in itself
}

func (p Plan) out() planJSON { return planJSON{p.Day.String(), p.At.Format(timeForm), string(p.Text)} }

func (j planJSON) read() (p Plan, err error) {
	if p.At, err = readTime(j.At); err != nil {
		return p, err
	}
	if p.Day, err = memory.ParseDay(j.Day); err != nil {
		err = fmt.Errorf("%s is no day; write one like 2026-11-25", quote.Short(strconv.Quote(j.Day), 60))
	}
	p.Text = json.RawMessage(j.Plan)
	return p, err
}

// KeepPlan is Store.KeepPlan, kept in memory where it must be.
func (k *Keeper) KeepPlan(ctx context.Context, p Plan) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.done.plans = append(slices.DeleteFunc(k.done.plans, func(q Plan) bool { return q.Day == p.Day }), p)
	return k.keep(func(s *Store) error { return s.KeepPlan(ctx, p) })
}

// LastPlan is Store.LastPlan, or a later one that is in memory alone.
func (k *Keeper) LastPlan(ctx context.Context, upTo memory.Day) (Plan, bool, error) {
	s, err := k.from()
	if err != nil {
		return Plan{}, false, err
	}
	last, found, err := s.LastPlan(ctx, upTo)
	k.mu.Lock()
	defer k.mu.Unlock()
	for _, p := range k.done.plans {
		if p.Day <= upTo && (!found || p.Day > last.Day || p.Day == last.Day && !p.At.Before(last.At)) {
			last, found = p, true
		}
	}
	return last, found, err
}

// Answers is Store.Answers.
func (k *Keeper) Answers(ctx context.Context, since time.Time, each func(Answer) error) error {
	s, err := k.from()
	if err != nil {
		return err
	}
	return s.Answers(ctx, since, each)
}
