package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
)

// Withdraw takes an answer back that Append has kept, and all that it said of its
// item and of the player's pace. An answer that is not there is an error.
func (s *Store) Withdraw(ctx context.Context, a Answer) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		var item int64
		err := tx.QueryRow(`DELETE FROM answers WHERE at = ? AND id = ? RETURNING item`, a.At.UnixMilli(), a.ID[:]).Scan(&item)
		if errors.Is(err, sql.ErrNoRows) {
			return fmt.Errorf("the answer of %s %w", a.At.Format("15:04:05"), errNoAnswer)
		}
		if err != nil {
			return err
		}
		if err := replayState(tx, item); err != nil {
			return err
		}
		for _, group := range groupsOf(a.Item) {
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

// errNoAnswer is the error of taking back what is not kept.
var errNoAnswer = errors.New("is not in this history")

// Withdraw is Store.Withdraw. What is on the disk is taken back there as soon as that
// can be written.
func (k *Keeper) Withdraw(ctx context.Context, a Answer) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.done.withdrawn(a.ID)
	return k.keep(func(s *Store) error {
		err := s.Withdraw(ctx, a)
		if s == k.spare && errors.Is(err, errNoAnswer) {
			k.withdrawn, err = append(k.withdrawn, a), nil
		}
		return err
	})
}
