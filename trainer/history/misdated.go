package history

import (
	"context"
	"database/sql"
	"errors"
	"math"
	"time"

	"footfall/drills/memory"
)

// misdated is the span in which what is kept is dated ahead of the present, because
// a clock was once wrong. It stays as it was kept, but may not hide an item, a tune or
// the player's own times for years: it counts as done when the item was last answered
// before, or where it never was, on the day on which it was noticed.
type misdated struct {
	first, last int64 // Unix milliseconds
	noticed     memory.Day
}

// skew is how far ahead a moment may be: clocks of two machines differ.
const skew = 24 * time.Hour

func (m misdated) has(at time.Time) bool {
	milli := at.UnixMilli()
	return m.first <= milli && milli <= m.last
}

// nothing is a span that no moment lies in.
var nothing = misdated{first: math.MaxInt64, last: math.MaxInt64}

func misdatedOf(tx *sql.Tx) (misdated, error) {
	var m misdated
	err := tx.QueryRow(`SELECT first, last, noticed FROM misdated`).Scan(&m.first, &m.last, &m.noticed)
	if errors.Is(err, sql.ErrNoRows) {
		return nothing, nil
	}
	return m, err
}

// unsettled returns the latest moment that is kept, as settle needs it, and whether
// the span does not fit it.
func (s *Store) unsettled(tx *sql.Tx) (latest int64, changed bool, err error) {
	was, err := misdatedOf(tx)
	if err != nil {
		return 0, false, err
	}
	var milli sql.NullInt64
	err = tx.QueryRow(`SELECT max(at) FROM (SELECT max(at) AS at FROM answers UNION ALL SELECT max(at) FROM takes NOT INDEXED UNION ALL SELECT max(began) FROM sittings)`).Scan(&milli)
	if milli.Int64 <= s.present() {
		return milli.Int64, was != nothing, err
	}
	return milli.Int64, was.last != milli.Int64, err
}

// present is the latest moment that is not ahead.
func (s *Store) present() int64 { return s.now().Add(skew).UnixMilli() }

// settle brings the span up to date, and reports whether it changed, so that all that
// is worked out must be anew. A span that is not ahead any more is dropped: it was the
// present clock that had been wrong.
func (s *Store) settle(tx *sql.Tx) (changed bool, err error) {
	latest, changed, err := s.unsettled(tx)
	switch {
	case err != nil || !changed:
		return false, err
	case latest <= s.present():
		_, err = tx.Exec(`DELETE FROM misdated`)
	default:
		_, err = tx.Exec(`INSERT OR REPLACE INTO misdated SELECT 1, min(at), max(at), ? FROM
			(SELECT at FROM answers UNION ALL SELECT at FROM takes NOT INDEXED UNION ALL SELECT began FROM sittings) WHERE at > ?`,
			int(memory.DayOf(s.now())), s.present())
	}
	return true, err
}

// settleNow is settle of a file that was opened. It waits for nobody where there is
// nothing to do.
func (s *Store) settleNow() error {
	ctx := context.Background()
	changed := false
	if err := s.read(ctx, func(tx *sql.Tx) (err error) {
		_, changed, err = s.unsettled(tx)
		return err
	}); err != nil || !changed {
		return err
	}
	return s.write(ctx, func(tx *sql.Tx) error {
		if changed, err := s.settle(tx); err != nil || !changed {
			return err
		}
		return rebuild(tx)
	})
}
