package session_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/drills/memory"
	"footfall/trainer/history"
	"footfall/trainer/session"
)

// lastTakes is a history of nothing but last takes.
type lastTakes struct {
	session.History
	takes map[memory.Item]history.Take
}

func (l lastTakes) LastTakes(context.Context) (map[memory.Item]history.Take, error) {
	return l.takes, nil
}

// A tune opens in the layer and at the tempo of its last pass, whatever section that was,
// unless a layer or a ramp is asked for.
func TestATuneOpensAsItWasLeft(t *testing.T) {
	built, ok := content.Tune("two-gateposts")
	require.True(t, ok)
	tn := session.Tune{Name: "two-gateposts", Tune: built}
	kept := lastTakes{takes: map[memory.Item]history.Take{}}
	d := &session.Desk{Tunes: []session.Tune{tn}, History: kept}
	at := time.Date(2026, 11, 30, 18, 0, 0, 0, time.UTC)
	take := func(tune, section, layer string, tempo float64, ramp string) {
		it := memory.Item{Kind: memory.Passage, Tune: tune, Section: section, Layer: layer}
		at = at.Add(time.Minute)
		kept.takes[it] = history.Take{Item: it, At: at, Tempo: tempo, Ramp: ramp}
	}
	left := func(asked session.Passage) session.Passage {
		asked.Tune = tn
		p, err := d.LeftOff(asked, nil)
		require.NoError(t, err)
		return p
	}
	assert.Equal(t, session.Passage{Tune: tn}, left(session.Passage{}), "nothing is known of it")
	take("two-gateposts", "A", "bass", 48, "")
	assert.Equal(t, session.Passage{Tune: tn, Layer: "bass", Ramp: "48"}, left(session.Passage{}))
	take("two-gateposts", "", "bass+changes", 74, "")
	take("lantern-street", "", "bass+halves", 104, "")
	assert.Equal(t, session.Passage{Tune: tn, Layer: "bass+changes", Ramp: "74"}, left(session.Passage{}), "the last of this tune")
	assert.Equal(t, session.Passage{Tune: tn, Layer: "bass+halves"}, left(session.Passage{Layer: "bass+halves"}))
	assert.Equal(t, session.Passage{Tune: tn, Ramp: "60:80"}, left(session.Passage{Ramp: "60:80"}))
}
