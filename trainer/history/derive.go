package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"footfall/drills/memory"
)

// derive brings what is worked out from the answers up to date after one more.
// Most answers are the latest of their item and group, and are added to what
// stands. One that is not, because two programs write or a clock went back, has
// its item and its paces worked out anew from their answers in order of time,
// so that the outcome never rests on the order of writing.
func derive(tx *sql.Tx, item int64, a Answer) error {
	if err := deriveState(tx, item, a.At, a.Grade); err != nil {
		return err
	}
	mis, err := misdatedOf(tx)
	if err != nil {
		return err
	}
	later := mis.has(a.At)
	if !later {
		err := tx.QueryRow(`SELECT EXISTS (SELECT 1 FROM answers WHERE (at, id) > (?1, ?2) AND at < ?3) OR EXISTS (SELECT 1 FROM answers WHERE (at, id) > (?1, ?2) AND at > ?4)`,
			a.At.UnixMilli(), a.ID[:], mis.first, mis.last).Scan(&later)
		if err != nil {
			return err
		}
	}
	for _, group := range groupsOf(a.Item) {
		pace, err := paceOf(tx, a.Way, group)
		if err != nil {
			return err
		}
		if later {
			if pace, err = paceFromAnswers(tx, a.Way, group); err != nil {
				return err
			}
		} else {
			pace = pace.With(a.Verdict, a.Took)
		}
		if err := writePace(tx, group, pace); err != nil {
			return err
		}
	}
	t := newTally()
	t.add(a)
	return t.write(tx)
}

// deriveState adds an answer or take to its item's state, or works the state
// out anew where it is not the latest.
func deriveState(tx *sql.Tx, item int64, at time.Time, grade memory.Grade) error {
	mis, err := misdatedOf(tx)
	if err != nil {
		return err
	}
	var later bool
	err = tx.QueryRow(`SELECT EXISTS (SELECT 1 FROM answers WHERE item = ?1 AND at >= ?2 LIMIT 1 OFFSET 1)
		OR EXISTS (SELECT 1 FROM takes WHERE item = ?1 AND at >= ?2 LIMIT 1 OFFSET 1)
		OR (EXISTS (SELECT 1 FROM answers WHERE item = ?1 AND at >= ?2) AND EXISTS (SELECT 1 FROM takes WHERE item = ?1 AND at >= ?2))`,
		item, at.UnixMilli()).Scan(&later)
	if err != nil {
		return err
	}
	kin, err := kinOf(tx, item)
	if err != nil {
		return err
	}
	if later || len(kin) > 1 || mis.has(at) {
		return replayStates(tx, kin)
	}
	state, err := stateOf(tx, item)
	if err != nil {
		return err
	}
	return writeState(tx, item, state.After(memory.DayOf(at), grade))
}

func stateOf(tx *sql.Tx, item int64) (memory.State, error) {
	var s memory.State
	err := tx.QueryRow(`SELECT stability, difficulty, first, last, asked, slow, missed, days FROM item_states WHERE item = ?`, item).
		Scan(&s.Stability, &s.Difficulty, &s.First, &s.Last, &s.Asked, &s.Slow, &s.Missed, &s.Days)
	if errors.Is(err, sql.ErrNoRows) {
		err = nil
	}
	return s, err
}

func writeState(tx *sql.Tx, item int64, s memory.State) error {
	_, err := tx.Exec(`INSERT OR REPLACE INTO item_states VALUES (?,?,?,?,?,?,?,?,?)`,
		item, s.Stability, s.Difficulty, int(s.First), int(s.Last), s.Asked, s.Slow, s.Missed, s.Days)
	return err
}

func paceOf(tx *sql.Tx, way memory.Way, group string) (memory.Pace, error) {
	var times []byte
	err := tx.QueryRow(`SELECT times FROM paces WHERE way = ? AND grp = ?`, way, group).Scan(&times)
	if errors.Is(err, sql.ErrNoRows) {
		err = nil
	}
	return memory.Pace{Way: way, Times: unpackTimes(times)}, err
}

// paceFromAnswers reads the latest times that a pace holds.
func paceFromAnswers(tx *sql.Tx, way memory.Way, group string) (memory.Pace, error) {
	pace := memory.Pace{Way: way}
	mis, err := misdatedOf(tx)
	if err != nil {
		return pace, err
	}
	const latest = `SELECT * FROM (SELECT a.at, a.id, a.verdict, a.took FROM answers a JOIN items i ON i.n = a.item
		WHERE a.way = ?1 AND a.verdict != ?2 AND ?3 IN (i.kind, i.grp) AND %s
		ORDER BY a.at DESC, a.id DESC LIMIT ?4)`
	rows, err := tx.Query(`SELECT verdict, took FROM (`+fmt.Sprintf(latest, "a.at < ?5")+` UNION ALL `+fmt.Sprintf(latest, "a.at > ?6")+`) ORDER BY at, id`,
		way, memory.Missed, group, memory.PaceTimes, mis.first, mis.last)
	if err != nil {
		return pace, err
	}
	defer rows.Close()
	for rows.Next() {
		var v memory.Verdict
		var took int64
		if err := rows.Scan(&v, &took); err != nil {
			return pace, err
		}
		pace = pace.With(v, time.Duration(took)*time.Millisecond)
	}
	return pace, rows.Err()
}

func writePace(tx *sql.Tx, group string, p memory.Pace) error {
	if len(p.Times) == 0 {
		return nil
	}
	_, err := tx.Exec(`INSERT OR REPLACE INTO paces VALUES (?,?,?)`, p.Way, group, packTimes(p.Times))
	return err
}

// Rebuild works item states, paces and tallies out anew from the answers and
// takes. A history that was only appended to is the same afterwards.
func (s *Store) Rebuild() error { return s.write(context.Background(), rebuild) }

type paceKey struct {
	way   memory.Way
	group string
}

func rebuild(tx *sql.Tx) error {
	for _, table := range []string{"item_states", "paces", "day_tallies", "degree_tallies", "place_tallies"} {
		if _, err := tx.Exec(`DELETE FROM ` + table); err != nil {
			return err
		}
	}
	items, err := itemsByNumber(tx)
	if err != nil {
		return err
	}
	groups := map[int64][]string{}
	for n, it := range items {
		groups[n] = groupsOf(it)
		if _, err := tx.Exec(`UPDATE items SET kind = ?1, grp = ?2 WHERE n = ?3 AND (kind, grp) != (?1, ?2)`, string(it.Kind), it.Group(), n); err != nil {
			return err
		}
	}
	mis, err := misdatedOf(tx)
	if err != nil {
		return err
	}
	minds := mindsOf(items, mis)
	paces := map[paceKey]memory.Pace{}
	tallies := newTally()
	rows, err := tx.Query(`SELECT 0, at, id, item, zone, way, verdict, grade, took, string, fret FROM answers
		UNION ALL SELECT 1, at, id, item, zone, way, 0, grade, 0, 0, 0 FROM takes WHERE grade IS NOT NULL ORDER BY 2, 3`)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var take bool
		var at, took, item int64
		var zone int
		var a Answer
		var id sql.RawBytes
		if err := rows.Scan(&take, &at, &id, &item, &zone, &a.Way, &a.Verdict, &a.Grade, &took, &a.Place.String, &a.Place.Fret); err != nil {
			return err
		}
		a.At, a.Took, a.Item = timeOf(at, zone), time.Duration(took)*time.Millisecond, items[item]
		minds.take(item, a.At, a.Grade)
		if take {
			continue
		}
		tallies.add(a)
		if mis.has(a.At) {
			continue
		}
		for _, group := range groups[item] {
			key := paceKey{a.Way, group}
			pace := paces[key]
			pace.Way = a.Way
			paces[key] = pace.With(a.Verdict, a.Took)
		}
	}
	if err := rows.Err(); err != nil {
		return err
	}
	rows.Close()
	for item, state := range minds.states {
		if err := writeState(tx, item, state); err != nil {
			return err
		}
	}
	for key, pace := range paces {
		if err := writePace(tx, key.group, pace); err != nil {
			return err
		}
	}
	return tallies.write(tx)
}

// itemsByNumber reads every item by the file's number.
func itemsByNumber(tx *sql.Tx) (map[int64]memory.Item, error) {
	rows, err := tx.Query(`SELECT n, key FROM items`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	items := map[int64]memory.Item{}
	for rows.Next() {
		var n int64
		var key string
		if err := rows.Scan(&n, &key); err != nil {
			return nil, err
		}
		if items[n], err = memory.ParseKey(key); err != nil {
			return nil, err
		}
	}
	return items, rows.Err()
}
