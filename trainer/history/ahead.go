package history

import (
	"context"
	"database/sql"
	"math"
	"time"

	"footfall/drills/memory"
)

// A clock that once was wrong leaves answers dated years ahead. They stay as they
// were kept, but may not hide an item until then, nor a tune, nor the player's own
// times: for what is practised next, what is ahead of the present by more than skew
// counts as done when the item was last answered before.
const skew = 24 * time.Hour

// lastMilli is later than any moment.
const lastMilli = math.MaxInt64

// present is the latest moment that is not ahead, in Unix milliseconds.
func (s *Store) present() int64 { return s.now().Add(skew).UnixMilli() }

// paceNow is the pace without answers that are ahead.
func (s *Store) paceNow(tx *sql.Tx, way memory.Way, group string) (memory.Pace, error) {
	var ahead bool
	if err := tx.QueryRow(`SELECT EXISTS (SELECT 1 FROM answers WHERE at > ?)`, s.present()).Scan(&ahead); err != nil {
		return memory.Pace{}, err
	}
	if ahead {
		return paceFromAnswers(tx, way, group, s.present())
	}
	return paceOf(tx, way, group)
}

// broughtBack works out the state of an item whose latest answer is ahead. One that
// has no other is due.
func (s *Store) broughtBack(tx *sql.Tx, item int64) (memory.State, error) {
	var state memory.State
	var ahead []memory.Grade
	err := eachGrade(tx, []int64{item}, func(_ int64, at time.Time, g memory.Grade) {
		if at.UnixMilli() > s.present() {
			ahead = append(ahead, g)
			return
		}
		state = state.After(memory.DayOf(at), g)
	})
	if err != nil {
		return state, err
	}
	never, day := state.New(), state.Last
	for _, g := range ahead {
		state = state.After(day, g)
	}
	if never {
		state.Last = memory.DayOf(s.now()) - (state.Due() - state.Last)
		state.First = state.Last
	}
	return state, nil
}

// Ahead counts what is dated later than the present by more than a day, and returns
// the latest of it: a clock was wrong.
func (s *Store) Ahead(ctx context.Context) (n int, latest time.Time, err error) {
	var milli sql.NullInt64
	err = s.db.QueryRowContext(ctx, `SELECT count(*), max(at) FROM (SELECT at FROM answers WHERE at > ?1 UNION ALL SELECT at FROM takes WHERE at > ?1)`,
		s.present()).Scan(&n, &milli)
	return n, time.UnixMilli(milli.Int64), fault(s.path, err)
}
