package today_test

import (
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/drills"
	"footfall/drills/lesson"
	"footfall/drills/memory"
	"footfall/drills/today"
)

// asking runs a round over answers: each says how the next question goes. It returns
// what was asked and how far each was helped with.
func asking(t require.TestingT, r *today.Round, most int, verdict func(memory.Item, today.Way) memory.Verdict) (past []drills.Answer, ways []today.Way) {
	pool, chance := r.Items(), rand.New(rand.NewPCG(1, 1))
	at := time.Duration(0)
	for len(past) < most {
		i := r.Choose(pool, past, chance)
		if i == drills.NothingLeft {
			return past, ways
		}
		at += time.Second
		way := r.Way(pool[i])
		past = append(past, drills.Answer{Exchange: &drills.Exchange{Item: pool[i]}, Verdict: verdict(pool[i], way), Asked: at})
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
	assert.Equal(t, []int{0, 3, 6, 10}, at)
	assert.True(t, r.Tries()[s.Items[0].Key()].Stands())
	assert.Equal(t, s.Items[0], past[len(past)-1].Item, "the round ends when all stand")
}

// What is missed without help is helped with once more, also what was known when a lesson's
// drill began; what only stands between is not.
func TestWhatWasMissedIsTaughtAgain(t *testing.T) {
	for _, kind := range []today.Kind{today.New, today.Lesson} {
		s, known := learning(2, 6)
		it := s.Items[0]
		want := []today.Way{today.Shown, today.Led, today.ByItself, today.Led, today.ByItself, today.ByItself}
		missedAt := 2
		if s.Kind = kind; kind == today.Lesson {
			s.Task = &lesson.Task{Drill: &lesson.Drill{Kind: memory.Find, Right: 1, Of: 4}}
			for _, own := range s.Items {
				known[own] = memory.State{}.After(day-3, memory.Good)
			}
			want, missedAt = []today.Way{today.ByItself, today.Led, today.ByItself, today.ByItself}, 0
		}
		var ways []today.Way
		asking(t, today.NewRound(s, known, today.Last{}), 60, func(asked memory.Item, way today.Way) memory.Verdict {
			if asked != it {
				return memory.Sure
			}
			ways = append(ways, way)
			if len(ways) == missedAt+1 {
				return memory.Missed
			}
			return memory.Sure
		})
		assert.Equal(t, want, ways[:min(len(want), len(ways))], kind)
	}
	s, known := learning(1, 1)
	_, ways := asking(t, today.NewRound(s, known, today.Last{}), 60, func(asked memory.Item, way today.Way) memory.Verdict {
		if asked == s.Beside[0] {
			assert.Equal(t, today.ByItself, way)
			return memory.Missed
		}
		return memory.Sure
	})
	assert.Greater(t, len(ways), 3)
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
	again.Verdict, again.Asked = memory.Sure, again.Asked+time.Second
	r.Take(append(past[:2:2], again))
	assert.Equal(t, 1, r.Tries()[again.Item.Key()].Right)
}

// The drill of a lesson ends once its things stand and so many answers without help are
// given as it asks for; what is known stands between, counts for nothing, and keeps two
// things from taking turns.
func TestADrillOfALesson(t *testing.T) {
	for _, c := range []struct{ fresh, beside, of int }{{4, 8, 8}, {4, 8, 14}, {2, 12, 8}, {5, 0, 12}, {3, 5, 40}} {
		s, known := learning(c.fresh, c.beside)
		s.Kind, s.Task = today.Lesson, &lesson.Task{Drill: &lesson.Drill{Kind: memory.Find, Right: 1, Of: c.of}}
		r := today.NewRound(s, known, today.Last{})
		past, _ := asking(t, r, 300, func(memory.Item, today.Way) memory.Verdict { return memory.Sure })
		s.Tries = r.Tries()
		asked := len(r.Alone())
		most := 0
		for _, it := range s.Items {
			try := s.Tries[it.Key()]
			assert.True(t, try.Stands(), "%+v: %s", c, it.Text())
			assert.LessOrEqual(t, try.Asked, 6)
			most += 6 - try.Led
		}
		assert.GreaterOrEqual(t, asked, min(c.of, most), "%+v", c)
		assert.LessOrEqual(t, asked, max(c.of, 4*c.fresh), "%+v: no more than it takes", c)
		for i := 3; i < len(past); i++ {
			turns := past[i].Item == past[i-2].Item && past[i-1].Item == past[i-3].Item
			assert.False(t, turns, "%+v: %s and %s take turns at %d", c, past[i].Item.Text(), past[i-1].Item.Text(), i)
		}
	}
}

// What stands between the things of a lesson's drill is known, can be asked by its chord, and
// looks like none of them.
func TestWhatStandsBesideALesson(t *testing.T) {
	s, known := learning(3, 0)
	items := works["tin-kettle-blues"].Items
	for i, it := range items[:80] {
		known[it] = memory.State{}.After(day-memory.Day(i), memory.Good)
	}
	s.Task = &lesson.Task{Drill: &lesson.Drill{Kind: memory.Find, Chords: "C7"}}
	beside := s.WithBeside(known, day).Beside
	assert.Len(t, beside, 12)
	for i, it := range beside {
		assert.False(t, known[it].New())
		for _, own := range s.Items {
			assert.False(t, own == it || memory.Alike(own, it), "%s beside %s", it.Text(), own.Text())
		}
		if i > 0 {
			assert.LessOrEqual(t, known[beside[i-1]].Recall(day), known[it].Recall(day), "what is forgotten soonest first")
		}
		assert.NotEmpty(t, today.Symbols([]memory.Item{it}, nil))
	}
	s.Task = &lesson.Task{Drill: &lesson.Drill{Kind: memory.Find, Tune: "tin-kettle-blues"}}
	assert.Empty(t, s.WithBeside(known, day).Beside, "a tune has enough of its own")
	assert.Empty(t, today.Step{Kind: today.New}.WithBeside(known, day).Beside)
}
