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
	err = s.eachTake(ctx, `WHERE t.at >= ? ORDER BY t.at, t.id`, func(_ int64, t Take) error {
		if d := memory.DayOf(t.At); d >= since {
			r.Takes = append(r.Takes, progress.Take{Item: t.Item, Day: d, Tempo: t.Tempo, Length: t.Length, Judged: t.Judged, Clean: t.Clean, Matched: t.Matched, Mean: t.Mean, Spread: t.Spread})
		}
		return nil
	}, (since - 1).Date().UnixMilli())
	return r, err
}
