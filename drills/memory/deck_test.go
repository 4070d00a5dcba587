package memory_test

import (
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/drills/memory"
)

// knownSome gives the first items of the pool states from days before today.
func knownSome(n int, today memory.Day, chance *rand.Rand) map[memory.Item]memory.State {
	known := map[memory.Item]memory.State{}
	for _, it := range simPool[:n] {
		known[it] = memory.State{}.After(today-1-memory.Day(chance.IntN(20)), memory.Grade(1+chance.IntN(4)))
	}
	return known
}

func TestDeckKeepsItsRules(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		chance := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 5))
		today := memory.Day(20000)
		start := rapid.IntRange(0, 600).Draw(t, "start")
		pool := simPool[start : start+rapid.IntRange(1, 400).Draw(t, "pool")]
		known := map[memory.Item]memory.State{}
		some := knownSome(800, today, chance)
		share := rapid.IntRange(0, 3).Draw(t, "share")
		for _, it := range simPool[:800] {
			if chance.IntN(3) < share {
				known[it] = some[it]
			}
		}
		limits := memory.Limits{NewADay: rapid.IntRange(-1, 20).Draw(t, "new")}
		deck := memory.NewDeck(pool, known, today, limits)
		placing := len(known) == 0

		due := map[memory.Item]bool{}
		for _, it := range deck.LaidDue() {
			require.Less(t, known[it].Last, today)
			due[it] = true
		}
		var fresh, asked []memory.Item
		seen := map[memory.Item]bool{}
		missedAt, letIn := map[memory.Item]int{}, 0
		for q := range 150 {
			it := pool[deck.Next(chance)]
			isNew := deck.State(it).New()
			if isNew && !placing && met(pool, known, seen) > 1 {
				require.Empty(t, due, "a new item only when nothing due is waiting")
				for _, f := range fresh {
					require.False(t, memory.Alike(f, it), "%s after %s", it.Text(), f.Text())
				}
				if limits.NewADay > 0 {
					require.Less(t, letIn, limits.NewADay)
				}
			}
			if at, missed := missedAt[it]; missed && met(pool, known, seen) > 4 {
				require.GreaterOrEqual(t, q-at, 4, "a missed item rests for three others")
			}
			v := memory.Verdict(chance.IntN(3))
			if isNew {
				letIn++
			}
			if isNew && v != memory.Sure {
				fresh = append(fresh, it)
			}
			delete(missedAt, it)
			if v == memory.Missed {
				missedAt[it] = q
			}
			deck.Answered(it, v, memory.Pace{}.Grade(v, 4*time.Second), 4*time.Second)
			delete(due, it)
			seen[it] = true
			asked = append(asked, it)
			if len(pool) > 1 && q > 0 {
				require.NotEqual(t, asked[q-1], it, "never the same item twice running")
			}
		}
	})
}

// met counts the items of the pool that are not new: where there are too few, a
// look-alike or an item that has not rested has to serve.
func met(pool []memory.Item, known map[memory.Item]memory.State, seen map[memory.Item]bool) int {
	n := 0
	for _, it := range pool {
		if _, ok := known[it]; ok || seen[it] {
			n++
		}
	}
	return n
}

// Look-alikes of what had to be learned wait for a day of their own, but in a drill asked
// for by name they come once nothing else is new.
func TestAWholeDeckComesToAllItsItems(t *testing.T) {
	chance := rand.New(rand.NewPCG(1, 1))
	pool := []memory.Item{}
	for _, it := range simPool {
		if it.Root == simPool[0].Root && it.Quality == simPool[0].Quality && it.Kind == memory.Find {
			pool = append(pool, it)
		}
	}
	require.Greater(t, len(pool), 5)
	for _, whole := range []bool{false, true} {
		deck := memory.NewDeck(pool, nil, 20000, memory.Limits{Whole: whole})
		met := map[memory.Item]bool{}
		for range 12 * len(pool) {
			it := pool[deck.Next(chance)]
			v, g := memory.Sure, memory.Good
			if !met[it] {
				v, g = memory.Missed, memory.Again
			}
			met[it] = true
			deck.Answered(it, v, g, time.Second)
		}
		assert.Equal(t, whole, len(met) == len(pool), "%d of %d", len(met), len(pool))
	}
}

func TestDueItemsAreInterleaved(t *testing.T) {
	chance := rand.New(rand.NewPCG(1, 1))
	today := memory.Day(20000)
	known := map[memory.Item]memory.State{}
	for _, it := range simPool[:800] {
		known[it] = memory.State{Stability: 1, Difficulty: 5, First: today - 9, Last: today - 5, Asked: 1}
	}
	deck := memory.NewDeck(simPool[:800], known, today, memory.Limits{})
	var last memory.Item
	for range 400 {
		it := simPool[deck.Next(chance)]
		require.False(t, it.Root == last.Root || it.Degree == last.Degree, "%s after %s", it.Text(), last.Text())
		deck.Answered(it, memory.Sure, memory.Good, time.Second)
		last = it
	}
}

// An item that was never met goes as its parts do: what is new is met where one thing in
// it is weak and the rest is known; of what is as good, that which is needed first.
func TestWhatIsNewStandsBesideWhatIsKnown(t *testing.T) {
	item := func(key string) memory.Item {
		it, err := memory.ParseKey(key)
		require.NoError(t, err)
		return it
	}
	estimate, known := memory.NewEstimate(), map[memory.Item]memory.State{}
	tell := func(times int, g memory.Grade, keys ...string) {
		for _, key := range keys {
			for range times {
				estimate.Answered(item(key), 19999, g)
				known[item(key)] = known[item(key)].After(19999, g)
			}
		}
	}
	// The b7 of D and of G, the 5 of G and C on string 5 are known; the bb7 is not, nor is F# on string 6.
	tell(8, memory.Good, "find:m7:b7:D:5", "find:7:b7:G:5", "find:7:5:G:5", "find:m7:5:D:5", "find:7:5:C:6", "find:m7:b7:A:6")
	tell(6, memory.Again, "find:dim7:bb7:B:6", "find:dim7:bb7:F:6", "find:dim7:bb7:C:6")
	hopeless, firm, weak := item("find:dim7:bb7:A:6"), item("find:7:b7:D:5"), item("find:m7:b7:G:6")
	assert.Less(t, estimate.Recall(hopeless, 20000), 0.3)
	assert.Greater(t, estimate.Recall(firm, 20000), estimate.Recall(weak, 20000))
	assert.Greater(t, estimate.Recall(weak, 20000), 0.6)
	deck := memory.NewDeck([]memory.Item{hopeless, weak}, known, 20000, memory.Limits{Parts: estimate})
	assert.Equal(t, []memory.Item{weak}, deck.Fresh(1, false))
	// As good: in the order of the pool.
	a, b := item("find:7:5:G:6"), item("find:m7:5:G:6")
	assert.Equal(t, []memory.Item{b}, memory.NewDeck([]memory.Item{b, a}, nil, 20000, memory.Limits{}).Fresh(1, false))
	assert.Equal(t, []memory.Item{a}, memory.NewDeck([]memory.Item{a, b}, nil, 20000, memory.Limits{}).Fresh(1, false))
}

func TestPlacingFindsTheLevel(t *testing.T) {
	for knows := range memory.Levels {
		chance := rand.New(rand.NewPCG(uint64(knows), 1))
		deck := memory.NewDeck(simPool, nil, 20000, memory.Limits{})
		require.True(t, deck.Placing())
		spent := time.Duration(0)
		states := map[memory.Item]memory.State{}
		for deck.Placing() {
			it := simPool[deck.Next(chance)]
			v, g, took := memory.Sure, memory.Good, 3*time.Second
			if memory.Level(it) > knows {
				v, g, took = memory.Missed, memory.Again, 8*time.Second
			}
			states[it] = states[it].After(20000, g)
			deck.Answered(it, v, g, took)
			spent += took + 2*time.Second
		}
		assert.LessOrEqual(t, spent, memory.PlacingLength+10*time.Second, "two minutes and the answer under way")
		// What comes next is new and lies about the level.
		above := 0
		for range 6 {
			it := simPool[deck.Next(chance)]
			if deck.State(it).New() && memory.Level(it) >= knows-1 {
				above++
			}
			deck.Answered(it, memory.Sure, memory.Good, time.Second)
		}
		assert.Positive(t, above, "a player of level %d is not sent back to the start", knows)
	}
}

func TestLevelOf(t *testing.T) {
	known := map[memory.Item]memory.State{}
	assert.Equal(t, 0, memory.LevelOf(known))
	for _, it := range simPool {
		if memory.Level(it) <= 2 {
			known[it] = memory.State{Stability: 1, Asked: 10, Missed: 2}
		}
	}
	assert.Equal(t, 3, memory.LevelOf(known))
	for it, s := range known {
		if memory.Level(it) == 1 {
			s.Missed = 4
			known[it] = s
		}
	}
	assert.Equal(t, 1, memory.LevelOf(known))
}

// BenchmarkNext chooses among 3,468 items of which all are known. Budget: 2 ms.
func BenchmarkNext(b *testing.B) {
	chance := rand.New(rand.NewPCG(1, 1))
	known := knownSome(len(simPool), 20000, chance)
	deck := memory.NewDeck(simPool, known, 20000, memory.Limits{})
	for b.Loop() {
		it := simPool[deck.Next(chance)]
		deck.Answered(it, memory.Sure, memory.Good, 2*time.Second)
	}
}

// With nothing due and nothing new let in, what comes nearest to being due is
// asked, each once before any comes again, the longest ago first.
func TestAheadOfTime(t *testing.T) {
	const today = memory.Day(20000)
	known := map[memory.Item]memory.State{}
	var pool []memory.Item
	for i, key := range []string{"find:m7:b3:D:6", "find:7:5:G:6", "find:maj7:7:C:5", "find:6:6:A:5", "find:7:b7:E:6"} {
		it, err := memory.ParseKey(key)
		require.NoError(t, err)
		pool = append(pool, it)
		known[it] = memory.State{Stability: float64(50 - 10*i), Difficulty: 5, First: 1, Last: today - 1, Asked: 3}
	}
	fresh, err := memory.ParseKey("find:7:3:Bb:6")
	require.NoError(t, err)
	deck := memory.NewDeck(append(pool, fresh), known, today, memory.Limits{NewADay: -1})
	chance := rand.New(rand.NewPCG(1, 1))
	var order []int
	for range 10 {
		i := deck.Next(chance)
		order = append(order, i)
		deck.Answered(append(pool, fresh)[i], memory.Sure, memory.Good, time.Second)
	}
	assert.Equal(t, []int{4, 3, 2, 1, 0, 4, 3, 2, 1, 0}, order)

	// What is no item of the pool changes nothing, twice in the pool is once.
	other, err := memory.ParseKey("spell:b7:D")
	require.NoError(t, err)
	deck.Answered(other, memory.Missed, memory.Again, time.Second)
	assert.Equal(t, 4, deck.Next(chance))
	twice := memory.NewDeck([]memory.Item{pool[0], pool[0], pool[1]}, known, today, memory.Limits{NewADay: -1})
	assert.Equal(t, 2, twice.Next(chance), "its place in the pool that was given")
}

// Items without a degree have the highest level: no player is too far for them.
func TestLevels(t *testing.T) {
	for key, want := range map[string]int{
		"find:m7:1:D:5": 0, "find:m7:1:Db:5": 1, "find:m7:5:D:5": 1, "spell:b3:D": 2, "find:7:b7:F#:6": 4,
		"find:dim7:bb7:D:5": 4, "spell:#11:C": 5, "spell:#11:Db": 6, "shape:8-x-8-9-8-x:3": 6, "passage:t:A:bass": 6,
	} {
		it, err := memory.ParseKey(key)
		require.NoError(t, err)
		assert.Equal(t, want, memory.Level(it), key)
	}
}

// The round halves: of four rungs the second is asked first, a sure answer passes it and
// those below, and one that was missed is asked once more.
func TestPlacingHalves(t *testing.T) {
	type ask struct {
		rung int
		v    memory.Verdict
	}
	// On one string, by what is asked and how it went: the rungs held in the end.
	for _, c := range []struct {
		asks  []ask
		level int
		words string
	}{
		{[]ask{{1, memory.Sure}, {2, memory.Sure}, {3, memory.Sure}}, 5, "You know all that was asked"},
		{[]ask{{1, memory.Sure}, {2, memory.Sure}, {3, memory.Missed}, {3, memory.Slow}}, 4, "You begin with sevenths and beyond on sharps and flats: string 5."},
		{[]ask{{1, memory.Sure}, {2, memory.Missed}, {2, memory.Missed}}, 3, "You begin with sevenths and beyond on natural notes: string 5."},
		{[]ask{{1, memory.Slow}, {1, memory.Missed}, {0, memory.Sure}}, 2, "You begin with triads on sharps and flats: string 5."},
		{[]ask{{1, memory.Missed}, {1, memory.Missed}, {0, memory.Missed}, {0, memory.Missed}}, 0, "You begin with triads on natural notes: string 5."},
		{[]ask{{1, memory.Missed}, {1, memory.Sure}, {2, memory.Sure}, {3, memory.Sure}}, 5, "You know all that was asked"},
	} {
		var pool []memory.Item
		for _, it := range simPool {
			if it.Kind == memory.Find && it.String == 5 {
				pool = append(pool, it)
			}
		}
		deck := memory.NewDeck(pool, nil, 20000, memory.Limits{})
		chance := rand.New(rand.NewPCG(1, 1))
		var trials []memory.Trial
		for _, a := range c.asks {
			require.True(t, deck.Placing())
			it := pool[deck.Next(chance)]
			require.Equal(t, a.rung, memory.Rung(it), "%v: %s", c.asks, it.Text())
			trials = append(trials, memory.Trial{Item: it, Verdict: a.v, Took: 3 * time.Second})
			deck.Answered(it, a.v, memory.Pace{}.Grade(a.v, 3*time.Second), 3*time.Second)
		}
		assert.False(t, deck.Placing(), "%v", c.asks)
		assert.Equal(t, c.level, deck.Start())
		placed, over := memory.PlacedBy(pool, trials)
		assert.True(t, over, "%v", c.asks)
		found := placed.Found()
		assert.Contains(t, found[len(found)-1], c.words)
	}
	// Two minutes are the end of it, with the time to read the verdicts.
	p := memory.NewPlacing(simPool)
	assert.False(t, p.Answered(simPool[0], memory.Sure, 117*time.Second))
	assert.True(t, p.Answered(simPool[0], memory.Sure, 0))
}

// Who misses what shapes are made of is not asked for shapes; what was right is told even
// where it passed no rung.
func TestShapesWaitForTheirDegrees(t *testing.T) {
	pool := []memory.Item{}
	for _, root := range []string{"C", "D", "F", "G", "A"} {
		for _, degree := range []string{"1", "3", "5", "b7"} {
			pool = append(pool, memory.Item{Kind: memory.Find, Quality: "7", Degree: degree, Root: root, String: 5},
				memory.Item{Kind: memory.Build, Quality: "7", Bass: degree, Root: root, String: 5})
		}
	}
	for _, v := range []memory.Verdict{memory.Missed, memory.Sure} {
		p := memory.NewPlacing(pool)
		deck := memory.NewDeck(pool, nil, 20000, memory.Limits{})
		chance := rand.New(rand.NewPCG(5, 1))
		shapes := 0
		for deck.Placing() {
			it := pool[deck.Next(chance)]
			if it.Kind == memory.Build {
				shapes++
			}
			p.Answered(it, v, 4*time.Second)
			deck.Answered(it, v, memory.Pace{}.Grade(v, 4*time.Second), 4*time.Second)
		}
		if v == memory.Sure {
			assert.Positive(t, shapes)
			continue
		}
		assert.Zero(t, shapes)
		assert.Contains(t, p.Found(), "Shapes: they come with their lessons.")
	}
	p := memory.NewPlacing(pool)
	p.Answered(pool[0], memory.Slow, 9*time.Second)
	assert.Equal(t, "String 5: some of it, not for sure yet.", p.Found()[0])
}

// A player who holds everything, and one who holds all but string 6, are placed within two
// minutes at five seconds an answer; strings take turns.
func TestAnExperiencedPlayerIsPlacedInTwoMinutes(t *testing.T) {
	for _, weak := range []int{0, 6} {
		deck := memory.NewDeck(simPool, nil, 20000, memory.Limits{})
		chance := rand.New(rand.NewPCG(3, 1))
		spent, strings := time.Duration(0), map[int]int{}
		var trials []memory.Trial
		for deck.Placing() {
			it := simPool[deck.Next(chance)]
			v := memory.Sure
			if it.String == weak {
				v = memory.Missed
			}
			strings[it.String]++
			trials = append(trials, memory.Trial{Item: it, Verdict: v, Took: 5 * time.Second})
			deck.Answered(it, v, memory.Pace{}.Grade(v, 5*time.Second), 5*time.Second)
			spent += 7 * time.Second
		}
		assert.LessOrEqual(t, spent, memory.PlacingLength)
		assert.Len(t, strings, 2)
		placed, _ := memory.PlacedBy(simPool, trials)
		found := placed.Found()
		assert.Equal(t, "String 5: you know it up to sevenths and beyond on sharps and flats.", found[1])
		if weak == 6 {
			assert.Equal(t, "String 6: nothing yet.", found[0])
			assert.Equal(t, "You begin with triads on natural notes: string 6.", found[2])
		}
	}
}
