package history

import (
	"context"
	"time"

	"footfall/drills/memory"
	"footfall/drills/progress"
)

// Look returns what is kept since a day, for tables to be made of.
func (s *Store) Look(ctx context.Context, since, today memory.Day) (progress.Record, error) {
	r := progress.Record{Since: since, Today: today, Spent: map[memory.Day]time.Duration{}}
	var err error
	if r.Counts, err = s.Counts(ctx, since); err != nil {
		return r, err
	}
	if r.States, err = s.States(ctx); err != nil {
		return r, err
	}
	if err = s.Sittings(ctx, func(sit Sitting) error {
		if d := memory.DayOf(sit.Began); d >= since {
			r.Spent[d] += sit.Last.Sub(sit.Began)
		}
		return nil
	}); err != nil {
		return r, err
	}
	if r.Bars, err = s.bars(ctx); err != nil {
		return r, err
	}
	err = s.eachTake(ctx, `WHERE t.at >= ? ORDER BY t.at, t.id`, func(_ int64, t Take) error {
		if d := memory.DayOf(t.At); d >= since {
			r.Takes = append(r.Takes, progress.Take{Item: t.Item, Day: d, Tempo: t.Tempo, Length: t.Length, Judged: t.Judged, Clean: t.Clean, Matched: t.Matched, Mean: t.Mean, Spread: t.Spread})
		}
		return nil
	}, (since - 1).Date().UnixMilli())
	return r, err
}

// heardLast is of how many of the latest passes the bars are looked at.
const heardLast = 60

// bars counts what was asked and missed in each bar of each tune, and how often a player named
// it as what held a pass back, in the passes that were kept last.
func (s *Store) bars(ctx context.Context) (bars []progress.BarRow, err error) {
	rows, err := s.db.QueryContext(ctx, `WITH t AS (SELECT n, item, clean FROM takes ORDER BY n DESC LIMIT ?)
		SELECT i.key, e.bar, sum(e.verdict != 'named'), sum(e.verdict NOT IN ('matched', 'named')), sum(e.verdict = 'named'),
			(SELECT count(clean) FROM t AS judged WHERE judged.item = t.item)
		FROM t JOIN take_events e ON e.take = t.n JOIN items i ON i.n = t.item
		WHERE e.verdict != 'extra' GROUP BY i.key, e.bar`, heardLast)
	if err != nil {
		return nil, fault(s.path, err)
	}
	defer rows.Close()
	items, at := itemKeys{}, map[progress.BarRow]int{}
	for rows.Next() {
		var key string
		var b progress.BarRow
		if err := rows.Scan(&key, &b.Bar, &b.Asked, &b.Missed, &b.Named, &b.Passes); err != nil {
			return nil, fault(s.path, err)
		}
		if b.Named == 0 {
			b.Passes = 0
		}
		it, err := items.read(key)
		if err != nil {
			return nil, fault(s.path, err)
		}
		// The layers and sections of a tune share its bars.
		place := progress.BarRow{Tune: it.Tune, Bar: b.Bar}
		if i, there := at[place]; there {
			bars[i].Asked, bars[i].Missed = bars[i].Asked+b.Asked, bars[i].Missed+b.Missed
			bars[i].Named, bars[i].Passes = bars[i].Named+b.Named, bars[i].Passes+b.Passes
			continue
		}
		b.Tune, at[place] = it.Tune, len(bars)
		bars = append(bars, b)
	}
	return bars, fault(s.path, rows.Err())
}
