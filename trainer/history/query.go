package history

import (
	"context"
	"database/sql"
	"time"

	"github.com/google/uuid"

	"footfall/drills/memory"
	"footfall/fretboard"
)

// States returns what is known of every item that was ever asked, those aside that
// this program does not know.
func (s *Store) States(ctx context.Context) (map[memory.Item]memory.State, error) {
	states := map[memory.Item]memory.State{}
	err := s.read(ctx, func(tx *sql.Tx) error {
		rows, err := tx.Query(`SELECT key, stability, difficulty, first, last, asked, slow, missed, days
			FROM item_states JOIN items ON n = item`)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var key string
			var st memory.State
			if err := rows.Scan(&key, &st.Stability, &st.Difficulty, &st.First, &st.Last, &st.Asked, &st.Slow, &st.Missed, &st.Days); err != nil {
				return err
			}
			it, err := memory.ParseKey(key)
			if err != nil {
				return err
			}
			if it.Raw != "" {
				continue
			}
			states[it] = st
		}
		return rows.Err()
	})
	return states, err
}

// Pace returns the player's own answer times for a way of answering and a
// group of items: an item's Group, or a kind.
func (s *Store) Pace(ctx context.Context, way memory.Way, group string) (memory.Pace, error) {
	var p memory.Pace
	err := s.read(ctx, func(tx *sql.Tx) (err error) {
		p, err = paceOf(tx, way, group)
		return err
	})
	return p, err
}

// LastTakes returns the take with which each passage was left, without its events: the
// latest, but for one at a single tempo, for joy, that is slower than its ramp has been;
// one that is misdated only where there is no other.
func (s *Store) LastTakes(ctx context.Context) (map[memory.Item]Take, error) {
	takes := map[memory.Item]Take{}
	err := s.eachTake(ctx, `WHERE t.n IN (SELECT n FROM (
		SELECT n, row_number() OVER (PARTITION BY item ORDER BY EXISTS (SELECT 1 FROM misdated m WHERE at BETWEEN m.first AND m.last),
			ramp NOT LIKE '%:%' AND tempo < climbed, at DESC, id DESC) AS place
		FROM (SELECT *, ifnull(max(CASE WHEN ramp LIKE '%:%' THEN tempo END) OVER (PARTITION BY item), 0) AS climbed FROM takes)) WHERE place = 1)`, func(n int64, t Take) error {
		takes[t.Item] = t
		return nil
	})
	return takes, err
}

// TunesInWork returns the tunes that were practised since a moment, the latest
// first.
func (s *Store) TunesInWork(ctx context.Context, since time.Time) ([]string, error) {
	rows, err := s.db.QueryContext(ctx, `SELECT tune FROM sittings WHERE tune != '' AND last >= ?
		AND NOT EXISTS (SELECT 1 FROM misdated m WHERE began BETWEEN m.first AND m.last) GROUP BY tune ORDER BY max(last) DESC, tune`, milliOf(since))
	if err != nil {
		return nil, fault(s.path, err)
	}
	defer rows.Close()
	var tunes []string
	for rows.Next() {
		var t string
		if err := rows.Scan(&t); err != nil {
			return nil, fault(s.path, err)
		}
		tunes = append(tunes, t)
	}
	return tunes, fault(s.path, rows.Err())
}

// counts returns how many answers and takes are kept.
func (s *Store) counts(ctx context.Context) (answers, takes int, err error) {
	err = s.db.QueryRowContext(ctx, `SELECT (SELECT count(*) FROM answers), (SELECT count(*) FROM takes)`).Scan(&answers, &takes)
	return answers, takes, fault(s.path, err)
}

// Sittings calls each with every sitting, the earliest first.
func (s *Store) Sittings(ctx context.Context, each func(Sitting) error) error {
	rows, err := s.db.QueryContext(ctx, `SELECT id, began, last, zone, drill, tune FROM sittings ORDER BY began, id`)
	if err != nil {
		return fault(s.path, err)
	}
	defer rows.Close()
	for rows.Next() {
		var sit Sitting
		var id []byte
		var began, last int64
		var zone int
		if err := rows.Scan(&id, &began, &last, &zone, &sit.Drill, &sit.Tune); s.leaves(err) {
			continue
		} else if err != nil {
			return fault(s.path, err)
		}
		sit.ID, sit.Began, sit.Last = idOf(id), timeOf(began, zone), timeOf(last, zone)
		if err := each(sit); err != nil {
			return err
		}
	}
	return fault(s.path, rows.Err())
}

// Answers calls each with every answer since a moment, the earliest first.
func (s *Store) Answers(ctx context.Context, since time.Time, each func(Answer) error) error {
	rows, err := s.db.QueryContext(ctx, `SELECT a.at, a.id, s.id, i.key, a.zone, a.way, a.verdict, a.grade, a.took, a.string, a.fret, a.given
		FROM answers a JOIN sittings s ON s.n = a.sitting JOIN items i ON i.n = a.item
		WHERE a.at >= ? ORDER BY a.at, a.id`, milliOf(since))
	if err != nil {
		return fault(s.path, err)
	}
	defer rows.Close()
	items := itemKeys{}
	for rows.Next() {
		var a Answer
		var at, took int64
		var id, sitting []byte
		var key string
		var zone int
		if err := rows.Scan(&at, &id, &sitting, &key, &zone, &a.Way, &a.Verdict, &a.Grade, &took, &a.Place.String, &a.Place.Fret, &a.Given); s.leaves(err) {
			continue
		} else if err != nil {
			return fault(s.path, err)
		}
		if a.Item, err = items.read(key); s.leaves(err) {
			continue
		} else if err != nil {
			return fault(s.path, err)
		}
		a.At, a.ID, a.Sitting, a.Took = timeOf(at, zone), idOf(id), idOf(sitting), time.Duration(took)*time.Millisecond
		if err := each(a); err != nil {
			return err
		}
	}
	return fault(s.path, rows.Err())
}

// Takes calls each with every take since a moment with its events, the earliest
// first.
func (s *Store) Takes(ctx context.Context, since time.Time, each func(Take) error) error {
	var takes []Take
	var numbers []int64
	err := s.eachTake(ctx, `WHERE t.at >= ? ORDER BY t.at, t.id`, func(n int64, t Take) error {
		takes, numbers = append(takes, t), append(numbers, n)
		return nil
	}, milliOf(since))
	if err != nil {
		return err
	}
	for i, t := range takes {
		if t.Events, err = s.eventsOf(ctx, numbers[i]); err != nil {
			return err
		}
		if err := each(t); err != nil {
			return err
		}
	}
	return nil
}

func (s *Store) eachTake(ctx context.Context, where string, each func(int64, Take) error, args ...any) error {
	rows, err := s.db.QueryContext(ctx, `SELECT t.n, t.id, t.at, s.id, i.key, t.zone, t.way, t.tempo, t.length, t.expected, t.matched,
		t.missed, t.extra, t.wrong, t.mean, t.spread, t.clean, t.ramp, t.grade
		FROM takes t JOIN sittings s ON s.n = t.sitting JOIN items i ON i.n = t.item `+where, args...)
	if err != nil {
		return fault(s.path, err)
	}
	defer rows.Close()
	items := itemKeys{}
	for rows.Next() {
		var t Take
		var n, at, length, mean, spread int64
		var id, sitting []byte
		var key string
		var zone int
		var clean sql.NullBool
		var grade sql.NullByte
		if err := rows.Scan(&n, &id, &at, &sitting, &key, &zone, &t.Way, &t.Tempo, &length, &t.Expected, &t.Matched,
			&t.Missed, &t.Extra, &t.Wrong, &mean, &spread, &clean, &t.Ramp, &grade); s.leaves(err) {
			continue
		} else if err != nil {
			return fault(s.path, err)
		}
		if t.Item, err = items.read(key); s.leaves(err) {
			continue
		} else if err != nil {
			return fault(s.path, err)
		}
		t.Judged, t.Clean, t.Grade = clean.Valid, clean.Bool, memory.Grade(grade.Byte)
		t.ID, t.Sitting, t.At, t.Length = idOf(id), idOf(sitting), timeOf(at, zone), time.Duration(length)*time.Millisecond
		t.Mean, t.Spread = time.Duration(mean)*time.Microsecond, time.Duration(spread)*time.Microsecond
		if err := each(n, t); err != nil {
			return err
		}
	}
	return fault(s.path, rows.Err())
}

func (s *Store) eventsOf(ctx context.Context, take int64) ([]TakeEvent, error) {
	rows, err := s.db.QueryContext(ctx, `SELECT bar, beat, off, string, fret, midi, verdict, offset FROM take_events WHERE take = ? ORDER BY seq`, take)
	if err != nil {
		return nil, fault(s.path, err)
	}
	defer rows.Close()
	var events []TakeEvent
	for rows.Next() {
		var e TakeEvent
		var place fretboard.Place
		var offset int64
		if err := rows.Scan(&e.Bar, &e.Beat, &e.Off, &place.String, &place.Fret, &e.MIDI, &e.Verdict, &offset); s.leaves(err) {
			continue
		} else if err != nil {
			return nil, fault(s.path, err)
		}
		e.Place, e.Offset = place, time.Duration(offset)*time.Microsecond
		events = append(events, e)
	}
	return events, fault(s.path, rows.Err())
}

// read runs do in a transaction that sees one state of the file.
func (s *Store) read(ctx context.Context, do func(*sql.Tx) error) error {
	tx, err := s.db.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return fault(s.path, err)
	}
	defer tx.Rollback()
	return fault(s.path, do(tx))
}

// leaves reports whether a record that cannot be read is left out.
func (s *Store) leaves(err error) bool { return err != nil && s.leaving }

// idOf reads an id; one of another length, which only a damaged file has, is none.
func idOf(b []byte) (id uuid.UUID) {
	if len(b) == len(id) {
		copy(id[:], b)
	}
	return id
}

// milliOf returns Unix milliseconds, and for the zero time the earliest of all.
func milliOf(t time.Time) int64 {
	if t.IsZero() {
		return -1 << 62
	}
	return t.UnixMilli()
}
