package history

import (
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

// settle brings the span up to date, and reports whether it changed, so that all that
// is worked out must be anew. A span that is not ahead any more is dropped: it was the
// present clock that had been wrong.
func (s *Store) settle(tx *sql.Tx) (changed bool, err error) {
	was, err := misdatedOf(tx)
	if err != nil {
		return false, err
	}
	now := s.now()
	present := now.Add(skew).UnixMilli()
	const moments = `(SELECT at FROM answers UNION ALL SELECT at FROM takes NOT INDEXED UNION ALL SELECT began FROM sittings)`
	var latest sql.NullInt64
	err = tx.QueryRow(`SELECT max(at) FROM (SELECT max(at) AS at FROM answers UNION ALL SELECT max(at) FROM takes NOT INDEXED UNION ALL SELECT max(began) FROM sittings)`).Scan(&latest)
	switch {
	case err != nil:
		return false, err
	case latest.Int64 <= present && was == nothing, was.last == latest.Int64 && was.last > present:
		return false, nil
	case latest.Int64 <= present:
		_, err = tx.Exec(`DELETE FROM misdated`)
		return true, err
	}
	_, err = tx.Exec(`INSERT OR REPLACE INTO misdated SELECT 1, min(at), max(at), ? FROM `+moments+` WHERE at > ?`, int(memory.DayOf(now)), present)
	return true, err
}

// settleNow is settle of a file that was opened.
func (s *Store) settleNow() error {
	tx, err := s.db.Begin()
	if err != nil {
		return err
	}
	defer tx.Rollback()
	changed, err := s.settle(tx)
	if err != nil || !changed {
		return err
	}
	if err := rebuild(tx); err != nil {
		return err
	}
	return tx.Commit()
}
