package history_test

import (
	"database/sql"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/history"
)

// An answer that is taken back leaves nothing behind: what is worked out from the
// answers is what it was before, for an item met for the first time and for others,
// and for the latest answer and one in between.
func TestAnAnswerTakenBackLeavesNothing(t *testing.T) {
	for _, then := range []int{0, 5} {
		for _, before := range []int{0, 150} {
			one, other := open(t, place(t)), open(t, place(t))
			p, q := newPlayer(7), newPlayer(7)
			p.play(t, one, before)
			q.play(t, other, before)
			sit, err := one.Begin(ctx, history.Sitting{Began: p.at})
			require.NoError(t, err)
			slip := p.answer()
			slip.Sitting = sit.ID
			slip, err = one.Append(ctx, slip)
			require.NoError(t, err)
			q.answer()
			q.at = p.at
			p.play(t, one, then)
			q.play(t, other, then)
			require.NoError(t, one.Withdraw(ctx, slip))
			assert.Equal(t, derived(t, other), derived(t, one), "%d before, %d after", before, then)
			assert.Len(t, allAnswers(t, one), before+then)
			c, err := one.Check(ctx)
			require.NoError(t, err)
			assert.False(t, c.Rebuilt)
			assert.ErrorContains(t, one.Withdraw(ctx, slip), "is not in this history")
		}
	}
}

// A keeper takes back what it keeps in memory, too.
func TestAKeeperTakesBack(t *testing.T) {
	k, err := history.Keep(place(t), nil, nil)
	require.NoError(t, err)
	defer k.Close()
	sit, err := k.Begin(ctx, history.Sitting{Began: start})
	require.NoError(t, err)
	a := newPlayer(1).answer()
	a.Sitting, a.At = sit.ID, start.Add(time.Minute)
	a, err = k.Append(ctx, a)
	require.NoError(t, err)
	require.NoError(t, k.Withdraw(ctx, a))
	assert.Zero(t, asked(t, k))
}

// An answer that is on the disk is taken back while that cannot be written, and is gone
// from it as soon as it can.
func TestAKeeperTakesBackLater(t *testing.T) {
	t.Parallel()
	path := place(t)
	c := &clock{now: start}
	k := keep(t, path, c)
	p := newPlayer(2)
	sit(t, k, p, 3, history.Unknown)
	a, err := k.Append(ctx, p.answer())
	require.NoError(t, err)
	lock, err := sql.Open("sqlite", "file:"+path)
	require.NoError(t, err)
	defer lock.Close()
	lock.SetMaxOpenConns(1)
	_, err = lock.Exec("BEGIN IMMEDIATE")
	require.NoError(t, err)
	sit(t, k, p, 1, history.Locked)
	assert.Equal(t, history.Locked, history.TroubleOf(k.Withdraw(ctx, a)))
	_, err = lock.Exec("ROLLBACK")
	require.NoError(t, err)
	c.Move(3 * time.Second)
	sit(t, k, p, 1, history.Unknown)
	require.NoError(t, k.Close())
	wantKept(t, path, 5)
}
