package today_test

import (
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/drills/today"
	"footfall/fretboard"
)

func TestChooserAsksThePoolWhereNothingIsLeft(t *testing.T) {
	w := works["short-ladder"]
	choose := today.Chooser(nil, day, today.Only([]memory.Item{{Kind: memory.Spell, Degree: "b7", Root: "H"}}), memory.Limits{})
	i := choose(w.Items, nil, rand.New(rand.NewPCG(1, 1)))
	assert.Contains(t, w.Items, w.Items[i])
}

func TestNeedFollowsTheLine(t *testing.T) {
	w := works["tin-kettle-blues"]
	require.NotEmpty(t, w.Items)
	assert.Equal(t, "1", w.Items[0].Degree)
	assert.Equal(t, "F", w.Items[0].Root, "what the line plays first is needed first")
}

func TestChooserAsksOnlyWhatItIsGiven(t *testing.T) {
	w := works["lantern-street"]
	var only []memory.Item
	for i := 0; i < len(w.Items); i += len(w.Items) / 8 {
		only = append(only, w.Items[i])
	}
	choose := today.Chooser(nil, day, today.Only(only), memory.Limits{})
	chance := rand.New(rand.NewPCG(1, 1))
	var past []drills.Answer
	seen := map[memory.Item]bool{}
	for range 30 {
		it := w.Items[choose(w.Items, past, chance)]
		require.Contains(t, only, it)
		seen[it] = true
		past = append(past, drills.Answer{Exchange: &drills.Exchange{Item: it}, Verdict: memory.Sure, Grade: memory.Good, Took: 2 * time.Second})
	}
	assert.Greater(t, len(seen), 3)
}

// A chord in two spellings is one memory, and asked in both.
func TestSpellingsTakeTurns(t *testing.T) {
	m, err := drills.OfSymbols("", "", "Dm7 D-7", fretboard.StandardNeck())
	require.NoError(t, err)
	find, err := drills.KindsNamed("find")
	require.NoError(t, err)
	qs, err := find[0].Draw(m)
	require.NoError(t, err)
	pool := make([]memory.Item, len(qs))
	for i, q := range qs {
		pool[i] = q.Item()
	}
	choose := today.Chooser(nil, day, today.Needed(m), memory.Limits{})
	chance, asked := rand.New(rand.NewPCG(1, 2)), map[string]int{}
	var past []drills.Answer
	for range 40 {
		q := qs[choose(pool, past, chance)]
		asked[q.Ask().Chord]++
		past = append(past, drills.Answer{Exchange: &drills.Exchange{Item: q.Item()}, Verdict: memory.Sure, Grade: memory.Good, Took: time.Second})
	}
	assert.Greater(t, asked["Dm7"], 5)
	assert.Greater(t, asked["D-7"], 5)
}
