package history_test

import (
	"bytes"
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/memory"
	"footfall/trainer/history"
)

// Each day has one plan, the one that was changed last, on whichever machine; it
// goes where the history goes.
func TestPlansGoWhereTheHistoryGoes(t *testing.T) {
	s := open(t, place(t))
	day := memory.Day(20800)
	at := day.Date().Add(18 * time.Hour)
	keep := func(s *history.Store, d memory.Day, at time.Time, text string) {
		require.NoError(t, s.KeepPlan(t.Context(), history.Plan{Day: d, At: at, Text: json.RawMessage(text)}))
	}
	last := func(s *history.Store, upTo memory.Day) string {
		p, found, err := s.LastPlan(t.Context(), upTo)
		require.NoError(t, err)
		if !found {
			return ""
		}
		return p.Day.String() + " " + string(p.Text)
	}
	assert.Empty(t, last(s, day))
	keep(s, day, at, `{"n":1}`)
	keep(s, day, at.Add(time.Minute), `{"n":2}`)
	keep(s, day, at.Add(-time.Minute), `{"n":0}`)
	keep(s, day+3, at, `{"n":9}`)
	assert.Equal(t, `2026-12-13 {"n":2}`, last(s, day+2))
	assert.Equal(t, `2026-12-16 {"n":9}`, last(s, day+3))

	var out bytes.Buffer
	require.NoError(t, s.ExportJSON(t.Context(), &out))
	for range 2 {
		other := open(t, place(t))
		keep(other, day, at.Add(time.Hour), `{"n":3}`)
		_, err := other.Import(t.Context(), bytes.NewReader(out.Bytes()))
		require.NoError(t, err)
		assert.Equal(t, `2026-12-13 {"n":3}`, last(other, day), "the later one")
		assert.Equal(t, `2026-12-16 {"n":9}`, last(other, day+3))
	}
	_, err := s.Import(t.Context(), bytes.NewReader([]byte(`{"version":1,"plans":[{"day":"2026-13-01","at":"2026-12-01T10:00:00.000Z","plan":"{}"}]}`)))
	assert.ErrorContains(t, err, "plan 1")
}
