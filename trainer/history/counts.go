package history

import (
	"context"
	"database/sql"
	"time"

	"footfall/drills/memory"
	"footfall/drills/progress"
)

// Counts returns the answers since a day, counted by everything that looking
// back asks for. Whole periods come from the tallies; the answers themselves
// are read for the one period that the day cuts.
func (s *Store) Counts(ctx context.Context, since memory.Day) (progress.Counts, error) {
	var c progress.Counts
	err := s.read(ctx, func(tx *sql.Tx) error {
		t := newTally()
		whole := periodOf(since)
		if since > memory.Day(whole*periodDays) {
			whole++
			if err := tallyAnswers(tx, since, memory.Day(whole*periodDays), t); err != nil {
				return err
			}
			clear(t.days)
		}
		if err := t.read(tx, since, whole); err != nil {
			return err
		}
		c = t.counts()
		return nil
	})
	return c, err
}

// tallyAnswers counts the answers from one day to before another.
func tallyAnswers(tx *sql.Tx, from, to memory.Day, t tally) error {
	const day = int64(24 * time.Hour / time.Millisecond)
	rows, err := tx.Query(`SELECT a.at, a.zone, i.key, a.way, a.verdict, a.took, a.string, a.fret
		FROM answers a JOIN items i ON i.n = a.item WHERE a.at >= ? AND a.at < ?`, int64(from-1)*day, int64(to+1)*day)
	if err != nil {
		return err
	}
	defer rows.Close()
	items := itemKeys{}
	for rows.Next() {
		var a Answer
		var at, took int64
		var zone int
		var key string
		if err := rows.Scan(&at, &zone, &key, &a.Way, &a.Verdict, &took, &a.Place.String, &a.Place.Fret); err != nil {
			return err
		}
		a.At, a.Took = timeOf(at, zone), time.Duration(took)*time.Millisecond
		if d := memory.DayOf(a.At); d < from || d >= to {
			continue
		}
		if a.Item, err = items.read(key); err != nil {
			return err
		}
		t.add(a)
	}
	return rows.Err()
}
