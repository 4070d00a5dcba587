package history

import (
	"context"
	"database/sql"
	"time"

	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/fretboard"
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
		if a.Item, err = memory.ParseKey(key); err != nil {
			return err
		}
		t.add(a)
	}
	return rows.Err()
}

// read adds the file's tallies: days since a day, the rest since a period.
func (t tally) read(tx *sql.Tx, since memory.Day, period int) error {
	rows, err := tx.Query(`SELECT day, way, bucket, asked, slow FROM day_tallies WHERE day >= ?`, int(since))
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var k dayCell
		var c count
		if err := rows.Scan(&k.day, &k.way, &k.bucket, &c.asked, &c.slow); err != nil {
			return err
		}
		t.days[k] = c
	}
	if err := rows.Err(); err != nil {
		return err
	}
	rows.Close()
	rows, err = tx.Query(`SELECT kind, quality, degree, bucket, sum(asked), sum(slow) FROM degree_tallies
		WHERE period >= ? GROUP BY kind, quality, degree, bucket`, period)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var k degreeCell
		var c count
		if err := rows.Scan(&k.kind, &k.quality, &k.degree, &k.bucket, &c.asked, &c.slow); err != nil {
			return err
		}
		k.period = period
		c.asked += t.degrees[k].asked
		c.slow += t.degrees[k].slow
		t.degrees[k] = c
	}
	if err := rows.Err(); err != nil {
		return err
	}
	rows.Close()
	rows, err = tx.Query(`SELECT string, fret, bucket, sum(asked), sum(slow) FROM place_tallies
		WHERE period >= ? GROUP BY string, fret, bucket`, period)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var k placeCell
		var c count
		if err := rows.Scan(&k.string, &k.fret, &k.bucket, &c.asked, &c.slow); err != nil {
			return err
		}
		k.period = period
		c.asked += t.places[k].asked
		c.slow += t.places[k].slow
		t.places[k] = c
	}
	return rows.Err()
}

// counts folds the tally's buckets into counts with a time each.
func (t tally) counts() progress.Counts {
	var c progress.Counts
	for k, n := range t.days {
		c.Days.Add(progress.DayWay{Day: k.day, Way: k.way}, bucketTime(k.bucket), n.asked, n.slow)
	}
	for k, n := range t.degrees {
		c.Degrees.Add(progress.DegreeCell{Kind: k.kind, Quality: k.quality, Degree: k.degree}, bucketTime(k.bucket), n.asked, n.slow)
	}
	for k, n := range t.places {
		c.Places.Add(fretboard.Place{String: k.string, Fret: k.fret}, bucketTime(k.bucket), n.asked, n.slow)
	}
	return c
}
