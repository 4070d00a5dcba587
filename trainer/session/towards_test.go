package session_test

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/memory"
	"footfall/drills/today"
	"footfall/trainer/history"
	"footfall/trainer/session"
)

// A tune to work towards is worked at first from then on, until another is picked, and
// the plan says how far it is.
func TestTowardsATune(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.db")
	at := time.Date(2026, 12, 1, 18, 0, 0, 0, time.UTC)
	d, k := standing(t, path, clockAt(t, at))
	goal, err := d.Towards("Short Ladder", "2027-01-31")
	require.NoError(t, err)
	plan, err := d.Today(session.Day{Towards: goal})
	require.NoError(t, err)
	require.NotNil(t, plan.Towards)
	assert.Contains(t, plan.Towards.Says, "bass not played clean yet")
	assert.Contains(t, plan.Towards.Says, "61 days to go")
	assert.Equal(t, "short-ladder", stepsOf(plan, today.Passage)[0].Tune)
	begun, err := k.Begin(t.Context(), history.Sitting{Tune: "tin-kettle-blues"})
	require.NoError(t, err)
	for day, tempo := range []float64{80, 84, 88} {
		_, err = k.AppendTake(t.Context(), history.Take{Sitting: begun.ID, At: at.AddDate(0, 0, day-3), Tempo: tempo, Judged: true, Clean: true,
			Item: memory.Item{Kind: memory.Passage, Tune: "short-ladder", Section: "A", Layer: "bass"}})
		require.NoError(t, err)
	}
	require.NoError(t, k.Close())

	d, k = standing(t, path, clockAt(t, at.AddDate(0, 0, 1)))
	defer k.Close()
	plan, err = d.Today(session.Day{})
	require.NoError(t, err)
	require.NotNil(t, plan.Towards)
	// 44 BPM left at 4 a day, from 2 December on.
	assert.Contains(t, plan.Towards.Says, "bass clean at 88 of 132 BPM, at your rate so far there by 13 Dec 26")
	assert.Equal(t, "short-ladder", stepsOf(plan, today.Passage)[0].Tune)
	agenda, err := d.Agenda(session.Day{})
	require.NoError(t, err)
	require.NoError(t, agenda.NextGoal(1))
	assert.NotEqual(t, "short-ladder", agenda.Plan().Towards.Tune)
	require.NoError(t, agenda.NextGoal(-1))
	assert.Equal(t, "short-ladder", agenda.Plan().Towards.Tune)
	plan, err = d.Today(session.Day{Towards: &today.Towards{}})
	require.NoError(t, err)
	assert.Nil(t, plan.Towards)
	for by, says := range map[string]string{"soon": "is no day", "2020-01-01": "is over"} {
		_, err = d.Towards("short-ladder", by)
		assert.ErrorContains(t, err, says)
	}
	_, err = d.Towards("nothing", "")
	assert.ErrorContains(t, err, "no tune is called")
}

// Other minutes lay the rest of the day anew, and what is done stays done.
func TestOtherMinutesKeepWhatIsDone(t *testing.T) {
	d, k := standing(t, filepath.Join(t.TempDir(), "history.db"), clockAt(t, time.Date(2026, 12, 1, 18, 0, 0, 0, time.UTC)))
	defer k.Close()
	agenda, err := d.Agenda(session.Day{Minutes: 15})
	require.NoError(t, err)
	_, err = agenda.Ended(1, true)
	require.NoError(t, err)
	plan, err := d.Today(session.Day{Minutes: 15})
	require.NoError(t, err)
	assert.True(t, plan.Steps[0].Done)
	longer, err := d.Today(session.Day{Minutes: 25})
	require.NoError(t, err)
	assert.Equal(t, plan.Steps[0], longer.Steps[0])
	assert.Equal(t, 25, longer.Minutes)
	assert.LessOrEqual(t, longer.Total(), 25)
	assert.Greater(t, longer.Total(), plan.Total())
	for i, s := range longer.Numbered() {
		assert.Equal(t, i+1, s.N)
	}
	again, err := d.Today(session.Day{})
	require.NoError(t, err)
	assert.Equal(t, longer, again)
}
