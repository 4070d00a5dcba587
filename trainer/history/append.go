package history

import (
	"context"
	"database/sql"
	"encoding/binary"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"

	"footfall/drills/memory"
)

// Begin keeps the start of a sitting and returns it with its id and times
// filled in.
func (s *Store) Begin(ctx context.Context, sit Sitting) (Sitting, error) {
	if sit.ID == uuid.Nil {
		sit.ID = s.newID()
	}
	if sit.Began.IsZero() {
		sit.Began = s.now()
	}
	if sit.Last.Before(sit.Began) {
		sit.Last = sit.Began
	}
	return sit, s.write(ctx, func(tx *sql.Tx) error {
		_, err := tx.Exec(`INSERT INTO sittings (id, began, last, zone, drill, tune) VALUES (?,?,?,?,?,?)`,
			sit.ID[:], sit.Began.UnixMilli(), sit.Last.UnixMilli(), zoneOf(sit.Began), sit.Drill, sit.Tune)
		return err
	})
}

// Append keeps an answer, and what it says of its item, and returns the answer
// with its id, time and grade filled in. When it returns without error the
// answer is on the disk. The answer's sitting must have begun.
func (s *Store) Append(ctx context.Context, a Answer) (Answer, error) {
	if a.ID == uuid.Nil {
		a.ID = s.newID()
	}
	if a.At.IsZero() {
		a.At = s.now()
	}
	a.At = a.At.Truncate(time.Millisecond)
	a.Took = a.Took.Truncate(time.Millisecond)
	err := s.write(ctx, func(tx *sql.Tx) error {
		if a.Grade == 0 {
			pace, err := paceOf(tx, a.Way, groupsOf(a.Item)[0])
			if err != nil {
				return err
			}
			a.Grade = pace.Grade(a.Verdict, a.Took)
		}
		if err := touch(tx, a.Sitting, a.At); err != nil {
			return err
		}
		item, err := itemNumber(tx, a.Item)
		if err != nil {
			return err
		}
		if err := insertAnswer(tx, item, a); err != nil {
			return err
		}
		return derive(tx, item, a)
	})
	return a, err
}

// AppendTake keeps a finished pass with its events, and, where it is judged, what it
// says of its passage. A pass without a verdict may be judged later.
func (s *Store) AppendTake(ctx context.Context, t Take) (Take, error) {
	if t.ID == uuid.Nil {
		t.ID = s.newID()
	}
	if t.At.IsZero() {
		t.At = s.now()
	}
	t.At = t.At.Truncate(time.Millisecond)
	if t.Grade == 0 && t.Judged {
		t.Grade = gradeOf(t.Clean)
	}
	err := s.write(ctx, func(tx *sql.Tx) error {
		if err := touch(tx, t.Sitting, t.At.Add(t.Length)); err != nil {
			return err
		}
		item, err := itemNumber(tx, t.Item)
		if err != nil {
			return err
		}
		if _, err := insertTake(tx, item, t); err != nil || !t.Judged {
			return err
		}
		return deriveState(tx, item, t.At, t.Grade)
	})
	return t, err
}

// JudgePass says of a pass that was kept whether it was clean, which bar held it back, 0 for
// none, and what that makes of the ramp, as drills/ramp writes it. What was said before is
// replaced.
func (s *Store) JudgePass(ctx context.Context, id uuid.UUID, clean bool, bar int, ramp string) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		var item, n int64
		err := tx.QueryRow(`UPDATE takes SET clean = ?, ramp = ?, grade = ? WHERE id = ? RETURNING item, n`,
			clean, ramp, gradeOf(clean), id[:]).Scan(&item, &n)
		if errors.Is(err, sql.ErrNoRows) {
			return fmt.Errorf("%w: %s", errNoPass, id)
		}
		if err != nil {
			return err
		}
		if err := nameBar(tx, n, bar); err != nil {
			return err
		}
		return replayState(tx, item)
	})
}

// nameBar keeps the bar that held a take back, 0 for none, in the place of what was named before.
func nameBar(tx *sql.Tx, take int64, bar int) error {
	_, err := tx.Exec(`DELETE FROM take_events WHERE take = ? AND verdict = ?`, take, Named)
	if err == nil && bar > 0 {
		_, err = tx.Exec(`INSERT INTO take_events SELECT ?, coalesce(max(seq) + 1, 0), ?, 0, 0, 0, 0, 0, ?, 0 FROM take_events WHERE take = ?`,
			take, bar, Named, take)
	}
	return err
}

// errNoPass is the error of a verdict on a pass that is not kept.
var errNoPass = errors.New("this pass is not in the history")

// gradeOf is what the memory model is told of a pass that was judged.
func gradeOf(clean bool) memory.Grade {
	if clean {
		return memory.Good
	}
	return memory.Again
}

// write runs do in a transaction that is on the disk when it returns nil.
func (s *Store) write(ctx context.Context, do func(*sql.Tx) error) error {
	tx, err := s.db.BeginTx(ctx, nil)
	if err != nil {
		return fault(s.path, err)
	}
	defer tx.Rollback()
	if err := do(tx); err != nil {
		return fault(s.path, err)
	}
	return fault(s.path, tx.Commit())
}

// touch moves the end of a sitting on.
func touch(tx *sql.Tx, sitting uuid.UUID, at time.Time) error {
	r, err := tx.Exec(`UPDATE sittings SET last = max(last, ?) WHERE id = ?`, at.UnixMilli(), sitting[:])
	if err != nil {
		return err
	}
	if n, err := r.RowsAffected(); err != nil || n == 1 {
		return err
	}
	return fmt.Errorf("sitting %s has not begun in this history", sitting)
}

// itemNumber returns the file's number of an item, giving it one if needed.
func itemNumber(tx *sql.Tx, it memory.Item) (int64, error) {
	key := it.Key()
	var n int64
	err := tx.QueryRow(`SELECT n FROM items WHERE key = ?`, key).Scan(&n)
	if !errors.Is(err, sql.ErrNoRows) {
		return n, err
	}
	r, err := tx.Exec(`INSERT INTO items (key, kind, grp) VALUES (?,?,?)`, key, string(it.Kind), it.Group())
	if err != nil {
		return 0, err
	}
	return r.LastInsertId()
}

const answerColumns = `at, id, sitting, item, zone, way, verdict, grade, took, string, fret, given`

func insertAnswer(tx *sql.Tx, item int64, a Answer) error {
	_, err := tx.Exec(`INSERT INTO answers (`+answerColumns+`)
		VALUES (?,?,(SELECT n FROM sittings WHERE id = ?),?,?,?,?,?,?,?,?,?)`,
		a.At.UnixMilli(), a.ID[:], a.Sitting[:], item, zoneOf(a.At), a.Way, a.Verdict, a.Grade,
		a.Took.Milliseconds(), a.Place.String, a.Place.Fret, a.Given)
	return err
}

func insertTake(tx *sql.Tx, item int64, t Take) (int64, error) {
	r, err := tx.Exec(`INSERT INTO takes (id, at, sitting, item, zone, way, tempo, length, expected, matched,
		missed, extra, wrong, mean, spread, clean, ramp, grade)
		VALUES (?,?,(SELECT n FROM sittings WHERE id = ?),?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)`,
		t.ID[:], t.At.UnixMilli(), t.Sitting[:], item, zoneOf(t.At), t.Way, t.Tempo, t.Length.Milliseconds(),
		t.Expected, t.Matched, t.Missed, t.Extra, t.Wrong, t.Mean.Microseconds(), t.Spread.Microseconds(),
		sql.NullBool{Bool: t.Clean, Valid: t.Judged}, t.Ramp, sql.NullByte{Byte: byte(t.Grade), Valid: t.Judged})
	if err != nil {
		return 0, err
	}
	n, err := r.LastInsertId()
	if err != nil {
		return 0, err
	}
	for i, e := range t.Events {
		if _, err := tx.Exec(`INSERT INTO take_events VALUES (?,?,?,?,?,?,?,?,?,?)`, n, i, e.Bar, e.Beat, e.Off,
			e.Place.String, e.Place.Fret, e.MIDI, e.Verdict, e.Offset.Microseconds()); err != nil {
			return 0, err
		}
	}
	return n, nil
}

// zoneOf returns the seconds east of UTC of a moment.
func zoneOf(t time.Time) int {
	_, seconds := t.Zone()
	return seconds
}

// timeOf puts a kept moment back into its time zone.
func timeOf(milli int64, zone int) time.Time {
	if zone == 0 {
		return time.UnixMilli(milli).UTC()
	}
	return time.UnixMilli(milli).In(time.FixedZone("", zone))
}

func packTimes(times []time.Duration) []byte {
	var b []byte
	for _, t := range times {
		b = binary.AppendUvarint(b, uint64(t.Milliseconds()))
	}
	return b
}

func unpackTimes(b []byte) []time.Duration {
	var times []time.Duration
	for len(b) > 0 {
		v, n := binary.Uvarint(b)
		if n <= 0 {
			return times
		}
		times = append(times, time.Duration(v)*time.Millisecond)
		b = b[n:]
	}
	return times
}
