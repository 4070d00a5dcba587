package history

import (
	"database/sql"
	"errors"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"footfall/drills/memory"
)

// minds work the states of items out, answer by answer in order of time. The first of
// an old item's heirs that is answered begins with the state that the old one had
// (memory.Item.Lender).
type minds struct {
	states map[int64]memory.State
	// lenders are the old items by the numbers of their heirs.
	lenders map[int64]int64
	lent    map[int64]bool
	mis     misdated
}

func mindsOf(items map[int64]memory.Item, mis misdated) *minds {
	m := &minds{states: map[int64]memory.State{}, lenders: map[int64]int64{}, lent: map[int64]bool{}, mis: mis}
	old := map[memory.Item]int64{}
	for n, it := range items {
		if it.Degrees != "" {
			old[it] = n
		}
	}
	for n, it := range items {
		if len(old) == 0 {
			break
		}
		if from, ok := it.Lender(); ok {
			if lender, there := old[from]; there {
				m.lenders[n] = lender
			}
		}
	}
	return m
}

func (m *minds) take(item int64, at time.Time, g memory.Grade) {
	state, met := m.states[item]
	if lender, ok := m.lenders[item]; ok && !met && !m.lent[lender] {
		if from, known := m.states[lender]; known {
			state, m.lent[lender] = from, true
		}
	}
	day := memory.DayOf(at)
	if m.mis.has(at) {
		day = m.mis.noticed
		if !state.New() {
			day = state.Last
		}
	}
	m.states[item] = state.After(day, g)
}

// kinOf returns an item, with all whose states hang together with its own: an old
// item and its heirs.
func kinOf(tx *sql.Tx, item int64) (map[int64]memory.Item, error) {
	var key string
	if err := tx.QueryRow(`SELECT key FROM items WHERE n = ?`, item).Scan(&key); err != nil {
		return nil, err
	}
	it, err := memory.ParseKey(key)
	if err != nil {
		return nil, err
	}
	kin := map[int64]memory.Item{item: it}
	lender, ok := it.Lender()
	if it.Degrees != "" {
		lender, ok = it, true
	}
	if !ok {
		return kin, nil
	}
	var n int64
	err = tx.QueryRow(`SELECT n FROM items WHERE key = ?`, lender.Key()).Scan(&n)
	if errors.Is(err, sql.ErrNoRows) {
		return kin, nil
	}
	if err != nil {
		return nil, err
	}
	kin[n] = lender
	all, err := itemsByNumber(tx)
	for n, other := range all {
		if from, ok := other.Lender(); ok && from == lender {
			kin[n] = other
		}
	}
	return kin, err
}

// replayState works the state of an item out anew, with its kin's.
func replayState(tx *sql.Tx, item int64) error {
	kin, err := kinOf(tx, item)
	if err != nil {
		return err
	}
	return replayStates(tx, kin)
}

// replayStates works the states of items out anew. One that nothing is left of has
// none.
func replayStates(tx *sql.Tx, items map[int64]memory.Item) error {
	mis, err := misdatedOf(tx)
	if err != nil {
		return err
	}
	m := mindsOf(items, mis)
	if err := eachGrade(tx, slices.Collect(maps.Keys(items)), m.take); err != nil {
		return err
	}
	for n := range items {
		var err error
		if state, met := m.states[n]; met {
			err = writeState(tx, n, state)
		} else {
			_, err = tx.Exec(`DELETE FROM item_states WHERE item = ?`, n)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// eachGrade calls each with what the memory model is told of some items, in order of
// time.
func eachGrade(tx *sql.Tx, items []int64, each func(int64, time.Time, memory.Grade)) error {
	var numbers []string
	for _, n := range items {
		numbers = append(numbers, strconv.FormatInt(n, 10))
	}
	in := strings.Join(numbers, ",")
	rows, err := tx.Query(`SELECT at, id, item, zone, grade FROM answers WHERE item IN (` + in + `)
		UNION ALL SELECT at, id, item, zone, grade FROM takes WHERE item IN (` + in + `) AND grade IS NOT NULL ORDER BY at, id`)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var milli, item int64
		var id []byte
		var zone int
		var g memory.Grade
		if err := rows.Scan(&milli, &id, &item, &zone, &g); err != nil {
			return err
		}
		each(item, timeOf(milli, zone), g)
	}
	return rows.Err()
}
