package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"footfall/drills/memory"
)

// Withdraw takes an answer back that Append has kept, and all that it said of its
// item and of the player's pace. An answer that is not there is an error.
func (s *Store) Withdraw(ctx context.Context, a Answer) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		item, err := itemNumber(tx, a.Item)
		if err != nil {
			return err
		}
		r, err := tx.Exec(`DELETE FROM answers WHERE id = ?`, a.ID[:])
		if err != nil {
			return err
		}
		if n, err := r.RowsAffected(); err != nil || n == 0 {
			return errors.Join(err, fmt.Errorf("the answer of %s is not in this history", a.At.Format("15:04:05")))
		}
		state, err := stateFromAnswers(tx, item)
		if err != nil {
			return err
		}
		if state == (memory.State{}) {
			_, err = tx.Exec(`DELETE FROM item_states WHERE item = ?`, item)
		} else {
			err = writeState(tx, item, state)
		}
		if err != nil {
			return err
		}
		for _, group := range []string{string(a.Item.Kind), a.Item.Group()} {
			pace, err := paceFromAnswers(tx, a.Way, group)
			if err != nil {
				return err
			}
			if _, err := tx.Exec(`DELETE FROM paces WHERE way = ? AND grp = ?`, a.Way, group); err != nil {
				return err
			}
			if err := writePace(tx, group, pace); err != nil {
				return err
			}
		}
		t := newTally()
		t.add(a)
		return t.take(tx)
	})
}

// Withdraw is Store.Withdraw, of what is kept in memory where it must be.
func (k *Keeper) Withdraw(ctx context.Context, a Answer) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.keep(func(s *Store) error { return s.Withdraw(ctx, a) })
}
