package today_test

import (
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/drills/today"
)

// asking runs a round over answers: each says how the next question goes. It returns
// what was asked and how far each was helped with.
func asking(t require.TestingT, r *today.Round, most int, verdict func(memory.Item, today.Way) memory.Verdict) (past []drills.Answer, ways []today.Way) {
	pool, chance := r.Items(), rand.New(rand.NewPCG(1, 1))
	at := time.Unix(0, 0)
	for len(past) < most {
		i := r.Choose(pool, past, chance)
		if i == drills.NothingLeft {
			return past, ways
		}
		at = at.Add(time.Second)
		way := r.Way(pool[i])
		past = append(past, drills.Answer{Item: pool[i], Verdict: verdict(pool[i], way), Asked: at})
		ways = append(ways, way)
	}
	r.Take(past)
	return past, ways
}

func learning(fresh, beside int) (today.Step, map[memory.Item]memory.State) {
	items := works["tin-kettle-blues"].Items
	s := today.Step{Kind: today.New, Items: items[:fresh], Beside: items[fresh : fresh+beside]}
	known := map[memory.Item]memory.State{}
	for _, it := range s.Beside {
		known[it] = memory.State{}.After(day-3, memory.Good)
	}
	return s, known
}

// A new thing is shown, found with help, found twice without, and is then done with;
// the questions between grow more.
func TestANewThingIsShownAndFound(t *testing.T) {
	s, known := learning(1, 12)
	r := today.NewRound(s, known, today.Last{})
	past, ways := asking(t, r, 100, func(memory.Item, today.Way) memory.Verdict { return memory.Sure })
	var at []int
	var seen []today.Way
	for i, a := range past {
		if a.Item == s.Items[0] {
			at, seen = append(at, i), append(seen, ways[i])
		}
	}
	assert.Equal(t, []today.Way{today.Shown, today.Led, today.ByItself, today.ByItself}, seen)
	assert.Equal(t, []int{0, 2, 4, 7}, at)
	assert.True(t, r.Tries()[s.Items[0].Key()].Stands())
	assert.Equal(t, s.Items[0], past[len(past)-1].Item, "the round ends when all stand")
}

// Right but slow does not stand, and comes back tomorrow after six questions.
func TestSlowDoesNotStand(t *testing.T) {
	s, known := learning(2, 6)
	r := today.NewRound(s, known, today.Last{})
	asking(t, r, 100, func(memory.Item, today.Way) memory.Verdict { return memory.Slow })
	for _, it := range s.Items {
		assert.Equal(t, 6, r.Tries()[it.Key()].Asked)
		assert.False(t, r.Tries()[it.Key()].Stands())
	}
	p := today.Plan{Day: day.String(), Steps: []today.Step{s}}
	p.Steps[0].Tries = r.Tries()
	assert.Equal(t, s.Items, p.Unfinished(day+1))
	assert.Empty(t, p.Unfinished(day+30), "a month on it is forgotten")
}

// However the answers fall, and however often the program is started again: nothing
// twice running once it was right, nothing more than six times, an end; what stands was
// sure three times, twice without help.
func TestRoundKeepsItsRules(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, known := learning(rapid.IntRange(1, 8).Draw(t, "new"), rapid.IntRange(0, 12).Draw(t, "beside"))
		s.Kind = rapid.SampledFrom([]today.Kind{today.New, today.Due, today.Mixed}).Draw(t, "kind")
		if s.Kind != today.New {
			for _, it := range s.Items {
				known[it] = memory.State{}.After(day-9, memory.Good)
			}
		}
		share := rapid.IntRange(0, 100).Draw(t, "right, %")
		chance := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 2))
		asked, sure, alone := map[memory.Item]int{}, map[memory.Item]int{}, map[memory.Item]int{}
		var last memory.Item
		right := false
		for range 30 { // starts of the program
			r := today.NewRound(s, known, today.Last{Item: last, Right: right})
			ended := true
			past, ways := asking(t, r, 1+chance.IntN(20), func(memory.Item, today.Way) memory.Verdict {
				if chance.IntN(100) < share {
					return memory.Sure
				}
				return memory.Missed
			})
			for i, a := range past {
				require.False(t, right && a.Item == last, "%s twice running", a.Item.Text())
				asked[a.Item]++
				require.LessOrEqual(t, asked[a.Item], 6)
				if a.Right() && a.Item != last {
					sure[a.Item]++
					if ways[i] == today.ByItself {
						alone[a.Item]++
					}
				}
				last, right = a.Item, a.Right()
				ended = false
			}
			s.Tries = r.Tries()
			if ended {
				break
			}
		}
		for _, it := range s.Items {
			try := s.Tries[it.Key()]
			require.Equal(t, asked[it], try.Asked)
			if s.Kind == today.New {
				require.Equal(t, sure[it] >= 3 && alone[it] >= 2, try.Stands(), "%s %+v", it.Text(), try)
			}
		}
	})
}

// An answer that is taken back counts for nothing, also where another has taken its
// place since.
func TestASlipInARound(t *testing.T) {
	s, known := learning(2, 3)
	r := today.NewRound(s, known, today.Last{})
	past, _ := asking(t, r, 3, func(memory.Item, today.Way) memory.Verdict { return memory.Missed })
	again := past[2]
	again.Verdict, again.Asked = memory.Sure, again.Asked.Add(time.Second)
	r.Take(append(past[:2:2], again))
	assert.Equal(t, 1, r.Tries()[again.Item.Key()].Right)
}
