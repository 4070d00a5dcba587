package history

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"github.com/google/uuid"

	"footfall/drills/memory"
)

// Merged counts what a merge brought that was not there before.
type Merged struct {
	Sittings int `json:"sittings"`
	Answers  int `json:"answers"`
	Takes    int `json:"takes"`
}

// rebuildFrom is how many new answers make it faster to work everything out
// anew than one by one.
const rebuildFrom = 100

// merger puts records into a file that may have them already. Its calls are a
// transaction: the first error undoes them all.
type merger struct {
	tx       *sql.Tx
	sittings map[uuid.UUID]int64
	// awaited are sittings that were named before they came.
	awaited map[uuid.UUID]awaited
	items   map[memory.Item]int64
	keys    itemKeys
	answer  *sql.Stmt
	merged  Merged
	// plans is set once a plan came.
	plans bool
}

// awaited is a sitting that something was done in and that is still to come. There is a
// row for it, which was put in for the purpose where added is set.
type awaited struct {
	n     int64
	added bool
}

// merge runs feed, which hands over another history's records, in any order.
func (s *Store) merge(ctx context.Context, feed func(*merger) error) (Merged, error) {
	m := &merger{sittings: map[uuid.UUID]int64{}, awaited: map[uuid.UUID]awaited{}, items: map[memory.Item]int64{}, keys: itemKeys{}}
	err := s.write(ctx, func(tx *sql.Tx) error {
		m.tx = tx
		var err error
		m.answer, err = tx.Prepare(`INSERT INTO answers (` + answerColumns + `) VALUES (?,?,?,?,?,?,?,?,?,?,?,?) ON CONFLICT DO NOTHING`)
		if err != nil {
			return err
		}
		defer m.answer.Close()
		if err := feed(m); err != nil {
			return err
		}
		if len(m.awaited) > 0 {
			first := slices.MinFunc(slices.Collect(maps.Keys(m.awaited)), func(a, b uuid.UUID) int { return bytes.Compare(a[:], b[:]) })
			return &ImportError{fmt.Sprintf("sitting %s", first), errors.New("it is not there, and something was done in it")}
		}
		if m.plans {
			if err := tickPlans(tx); err != nil {
				return err
			}
		}
		changed, err := s.settle(tx)
		if err != nil {
			return err
		}
		if changed || m.many() {
			return rebuild(tx)
		}
		return nil
	})
	if err != nil {
		return Merged{}, err
	}
	return m.merged, nil
}

func (m *merger) sitting(sit Sitting) error {
	if sit.ID == uuid.Nil {
		return fmt.Errorf("sitting without an id")
	}
	for _, at := range []time.Time{sit.Began, sit.Last} {
		if err := checkYear(at); err != nil {
			return err
		}
	}
	if _, seen := m.sittings[sit.ID]; seen {
		return nil
	}
	before, waits := m.awaited[sit.ID]
	delete(m.awaited, sit.ID)
	how := `INSERT INTO sittings (id, began, last, zone, drill, tune) VALUES (?,?,?,?,?,?)
		ON CONFLICT (id) DO UPDATE SET last = max(last, excluded.last) RETURNING n`
	if before.added {
		how = `UPDATE sittings SET began = ?2, last = ?3, zone = ?4, drill = ?5, tune = ?6 WHERE id = ?1 RETURNING n`
	} else if !waits {
		var there bool
		if err := m.tx.QueryRow(`SELECT EXISTS (SELECT 1 FROM sittings WHERE id = ?)`, sit.ID[:]).Scan(&there); err != nil {
			return err
		}
		before.added = !there
	}
	var n int64
	err := m.tx.QueryRow(how, sit.ID[:], sit.Began.UnixMilli(), sit.Last.UnixMilli(), zoneOf(sit.Began), sit.Drill, sit.Tune).Scan(&n)
	if err != nil {
		return err
	}
	m.sittings[sit.ID] = n
	if before.added {
		m.merged.Sittings++
	}
	return nil
}

// in returns the number of the sitting that something was done in, which may come later.
func (m *merger) in(sitting uuid.UUID) (int64, error) {
	if n, known := m.sittings[sitting]; known {
		return n, nil
	}
	if a, waits := m.awaited[sitting]; waits {
		return a.n, nil
	}
	var a awaited
	err := m.tx.QueryRow(`SELECT n FROM sittings WHERE id = ?`, sitting[:]).Scan(&a.n)
	if errors.Is(err, sql.ErrNoRows) {
		a.added = true
		err = m.tx.QueryRow(`INSERT INTO sittings (id, began, last, zone, drill, tune) VALUES (?,0,0,0,'','') RETURNING n`, sitting[:]).Scan(&a.n)
	}
	if err == nil {
		m.awaited[sitting] = a
	}
	return a.n, err
}

func (m *merger) item(it memory.Item) (int64, error) {
	if n, known := m.items[it]; known {
		return n, nil
	}
	n, err := itemNumber(m.tx, it)
	if err == nil {
		m.items[it] = n
	}
	return n, err
}

func (m *merger) add(a Answer) error {
	if err := a.check(); err != nil {
		return err
	}
	sitting, err := m.in(a.Sitting)
	if err != nil {
		return err
	}
	item, err := m.item(a.Item)
	if err != nil {
		return err
	}
	a.At, a.Took = a.At.Truncate(time.Millisecond), a.Took.Truncate(time.Millisecond)
	r, err := m.answer.Exec(a.At.UnixMilli(), a.ID[:], sitting, item, zoneOf(a.At), a.Way, a.Verdict, a.Grade,
		a.Took.Milliseconds(), a.Place.String, a.Place.Fret, a.Given)
	if err != nil {
		return err
	}
	n, err := r.RowsAffected()
	if err != nil || n == 0 {
		return err
	}
	m.merged.Answers++
	if m.many() {
		return nil
	}
	return derive(m.tx, item, a)
}

func (m *merger) addTake(t Take) error {
	if err := t.check(); err != nil {
		return err
	}
	if _, err := m.in(t.Sitting); err != nil {
		return err
	}
	var there bool
	if err := m.tx.QueryRow(`SELECT EXISTS (SELECT 1 FROM takes WHERE id = ?)`, t.ID[:]).Scan(&there); err != nil {
		return err
	}
	item, err := m.item(t.Item)
	if err != nil {
		return err
	}
	if there {
		return m.verdict(item, t)
	}
	t.At = t.At.Truncate(time.Millisecond)
	if _, err := insertTake(m.tx, item, t); err != nil {
		return err
	}
	m.merged.Takes++
	if m.many() || !t.Judged {
		return nil
	}
	return deriveState(m.tx, item, t.At, t.Grade)
}

// verdict takes over the verdict on a pass that is there. Of two that differ it
// takes the one that says not clean, whichever came first.
func (m *merger) verdict(item int64, t Take) error {
	if !t.Judged {
		return nil
	}
	r, err := m.tx.Exec(`UPDATE takes SET clean = ?1, grade = ?2, ramp = ?3 WHERE id = ?4 AND (clean IS NULL OR clean > ?1)`,
		t.Clean, t.Grade, t.Ramp, t.ID[:])
	if err != nil {
		return err
	}
	if err := m.named(t); err != nil {
		return err
	}
	if n, err := r.RowsAffected(); err != nil || n == 0 {
		return err
	}
	return replayState(m.tx, item)
}

// named takes over the bar that held a pass back which is not clean here either: of two the
// first of the tune.
func (m *merger) named(t Take) error {
	i := slices.IndexFunc(t.Events, func(e TakeEvent) bool { return e.Verdict == Named })
	if i < 0 || t.Clean {
		return nil
	}
	var take int64
	var bar sql.NullInt64
	if err := m.tx.QueryRow(`SELECT n, (SELECT bar FROM take_events WHERE take = takes.n AND verdict = ?) FROM takes WHERE id = ?`, Named, t.ID[:]).Scan(&take, &bar); err != nil {
		return err
	}
	if bar.Valid && int(bar.Int64) <= t.Events[i].Bar {
		return nil
	}
	return nameBar(m.tx, take, t.Events[i].Bar)
}

// many reports that so much is new that everything is worked out anew at the
// end.
func (m *merger) many() bool { return m.merged.Answers+m.merged.Takes > rebuildFrom }

// check says what an answer from outside lacks.
func (a Answer) check() error {
	if err := checkKept(a.ID, a.At); err != nil {
		return err
	}
	switch {
	case a.Grade < memory.Again || a.Grade > memory.Easy:
		return fmt.Errorf("grade %d; write 1 to 4", a.Grade)
	case a.Took < 0:
		return fmt.Errorf("an answer time of %v; write 0 or more", a.Took)
	case (a.Verdict == memory.Missed) != (a.Grade == memory.Again):
		return fmt.Errorf("verdict %s with grade %d; a missed answer has grade 1 and no other has", a.Verdict, a.Grade)
	}
	return nil
}

// check says what a take from outside lacks.
func (t Take) check() error {
	if err := checkKept(t.ID, t.At); err != nil {
		return err
	}
	switch {
	case t.Judged && (t.Grade < memory.Again || t.Grade > memory.Easy):
		return fmt.Errorf("grade %d; write 1 to 4", t.Grade)
	case !t.Judged && t.Grade != 0:
		return fmt.Errorf("grade %d of a pass that is neither clean nor not; write null", t.Grade)
	}
	return nil
}

// checkKept says what is wrong with what answers and takes both have.
func checkKept(id uuid.UUID, at time.Time) error {
	switch {
	case id == uuid.Nil:
		return fmt.Errorf("it has no id")
	case at.IsZero():
		return fmt.Errorf("it has no time")
	}
	return checkYear(at)
}

// checkYear says what is wrong with a moment that cannot be written as a date.
func checkYear(at time.Time) error {
	for _, t := range []time.Time{at, at.UTC()} {
		if y := t.Year(); y < firstYear || y > lastYear {
			return fmt.Errorf("it is of the year %d; write %d to %d", y, firstYear, lastYear)
		}
	}
	return nil
}

// The years of what is kept: those of a date.
const firstYear, lastYear = 1, 9999

// feedFrom hands over everything of another store. came is called at each record.
func feedFrom(ctx context.Context, from *Store, came func()) func(*merger) error {
	return func(m *merger) error {
		if err := from.Sittings(ctx, noticed(came, m.sitting)); err != nil {
			return err
		}
		if err := from.Answers(ctx, time.Time{}, noticed(came, m.add)); err != nil {
			return err
		}
		if err := from.Takes(ctx, time.Time{}, noticed(came, m.addTake)); err != nil {
			return err
		}
		return from.eachPlan(ctx, noticed(came, m.plan))
	}
}

// noticed is a taking of records that says that one came.
func noticed[T any](came func(), take func(T) error) func(T) error {
	return func(record T) error {
		came()
		if err := take(record); err != nil {
			return at("the file", err)
		}
		return nil
	}
}
