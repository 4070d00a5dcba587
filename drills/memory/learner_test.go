package memory_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/open-spaced-repetition/go-fsrs/v4"
	"github.com/stretchr/testify/assert"

	"footfall/drills/memory"
)

// The simulated learner.
//
// Material: find and name, 12 chord qualities with their 4 or 5 degrees, the 17
// roots that charts spell, strings 6 and 5: 3,468 items, about what the program
// can ask.
//
// Memory: each item has a true FSRS-6 state that the program never sees. Each
// learner's weights are drawn about the published defaults with the spread
// published beside them (the standard deviations in the FSRS project's
// optimizer, from memory), cut to the library's ranges, so that the program's
// weights are never the learner's; first stabilities stay at their defaults,
// whose spread is wider than they are. An item never met has to be worked out:
// the first answer is missed with chance .60, hard .25, good .12, easy .03
// (assumed). Later an item is recalled with the chance its forgetting curve
// gives; what is not recalled is missed.
//
// Time: an answer takes 1 s + 4 s·n^−0.4 for the item's n-th answer (power law of
// practice, Logan 1988; the constants are assumed), times exp(N(0, 0.3)); a
// missed one twice that; 2 s more go by with each verdict.
//
// A day has 20 minutes. An item is known if its true recall is at least 90 % a
// week after the last day.
type learner struct {
	chance *rand.Rand
	params fsrs.Parameters
	states map[memory.Item]*truth
}

type truth struct {
	memory *fsrs.MemoryState
	last   int
	n      int
}

const (
	simDays    = 30
	simMinutes = 20
)

// first holds the chances of a first answer: missed, hard, good, else easy.
var first = [3]float64{.60, .25, .12}

// spread holds the standard deviations of the weights from the fifth on.
var spread = [21]float64{4: 0.57, 0.28, 0.6, 0.12, 0.39, 0.18, 0.33, 0.3, 0.09, 0.16, 0.57, 0.25, 1.03, 0.31, 0.32, 0.14, 0.27}

var simRoots = []string{"C", "C#", "Db", "D", "D#", "Eb", "E", "F", "F#", "Gb", "G", "G#", "Ab", "A", "A#", "Bb", "B"}

var simPool = func() []memory.Item {
	var pool []memory.Item
	chords := []struct {
		quality string
		degrees []string
	}{
		{"7", []string{"1", "3", "5", "b7"}}, {"m7", []string{"1", "b3", "5", "b7"}},
		{"maj7", []string{"1", "3", "5", "7"}}, {"m7b5", []string{"1", "b3", "b5", "b7"}},
		{"6", []string{"1", "3", "5", "6"}}, {"m6", []string{"1", "b3", "5", "6"}},
		{"dim7", []string{"1", "b3", "b5", "bb7"}},
		{"7(#5)", []string{"1", "3", "#5", "b7"}},
		{"9", []string{"1", "3", "5", "b7", "9"}}, {"m9", []string{"1", "b3", "5", "b7", "9"}},
		{"maj9", []string{"1", "3", "5", "7", "9"}},
		{"m(maj7)", []string{"1", "b3", "5", "7"}},
	}
	for _, kind := range []memory.Kind{memory.Find, memory.Name} {
		for _, root := range simRoots {
			for _, c := range chords {
				for _, d := range c.degrees {
					for s := 5; s <= 6; s++ {
						pool = append(pool, memory.Item{Kind: kind, Quality: c.quality, Degree: d, Root: root, String: s})
					}
				}
			}
		}
	}
	return pool
}()

func newLearner(seed uint64) *learner {
	c := rand.New(rand.NewPCG(seed, 99))
	p := fsrs.DefaultParam()
	for i, sd := range spread {
		p.W[i] += sd * c.NormFloat64()
	}
	return &learner{chance: c, params: fsrs.NewFSRS(p).Parameters, states: map[memory.Item]*truth{}}
}

func (l *learner) recall(s *truth, day int) float64 {
	return l.params.ForgettingCurve(float64(day-s.last), s.memory.Stability)
}

// answer asks the learner on a day: right or not, the time it took.
func (l *learner) answer(it memory.Item, day int) (bool, time.Duration) {
	s := l.states[it]
	rating := fsrs.Good
	gap := 0
	if s == nil {
		s = &truth{last: day}
		l.states[it] = s
		switch r := l.chance.Float64(); {
		case r < first[0]:
			rating = fsrs.Again
		case r < first[0]+first[1]:
			rating = fsrs.Hard
		case r < first[0]+first[1]+first[2]:
		default:
			rating = fsrs.Easy
		}
	} else {
		gap = day - s.last
		if l.chance.Float64() >= l.recall(s, day) {
			rating = fsrs.Again
		}
	}
	next := l.params.NextState(s.memory, 0.9, uint64(gap), rating)
	s.memory, s.last = &next.Memory, day
	s.n++
	seconds := (1 + 4*math.Pow(float64(s.n), -0.4)) * math.Exp(0.3*l.chance.NormFloat64())
	if rating == fsrs.Again {
		seconds *= 2
	}
	return rating != fsrs.Again, time.Duration(seconds * float64(time.Second))
}

// known counts the items known a week after the last day.
func (l *learner) known() int {
	n := 0
	for _, s := range l.states {
		if l.recall(s, simDays-1+7) >= 0.9 {
			n++
		}
	}
	return n
}

// practise runs the days with what a policy asks; a policy makes each day's
// chooser, and learned is told how each answer went.
func (l *learner) practise(day0 memory.Day, begin func(day memory.Day) (next func() memory.Item, learned func(memory.Item, bool, time.Duration))) int {
	for day := range simDays {
		next, learned := begin(day0 + memory.Day(day))
		for spent := time.Duration(0); spent < simMinutes*time.Minute; {
			it := next()
			right, took := l.answer(it, day)
			spent += took + 2*time.Second
			learned(it, right, took)
		}
	}
	return l.known()
}

func ours(seed uint64, limits memory.Limits) int {
	l := newLearner(seed)
	chance := rand.New(rand.NewPCG(seed, 1))
	states := map[memory.Item]memory.State{}
	var pace memory.Pace
	return l.practise(20000, func(day memory.Day) (func() memory.Item, func(memory.Item, bool, time.Duration)) {
		deck := memory.NewDeck(simPool, states, day, limits)
		return func() memory.Item { return simPool[deck.Next(chance)] },
			func(it memory.Item, right bool, took time.Duration) {
				v := pace.Verdict(right, took)
				g := pace.Grade(v, took)
				pace = pace.With(v, took)
				states[it] = states[it].After(day, g)
				deck.Answered(it, v, g, took)
			}
	})
}

func random(seed uint64) int {
	l := newLearner(seed)
	chance := rand.New(rand.NewPCG(seed, 2))
	return l.practise(20000, func(memory.Day) (func() memory.Item, func(memory.Item, bool, time.Duration)) {
		return func() memory.Item { return simPool[chance.IntN(len(simPool))] }, func(memory.Item, bool, time.Duration) {}
	})
}

// blocks asks one degree a day, all the degrees of the chords in turn, each of
// its items in a random order and again from the start.
func blocks(seed uint64) int {
	l := newLearner(seed)
	chance := rand.New(rand.NewPCG(seed, 3))
	var names []string
	byDegree := map[string][]memory.Item{}
	for _, it := range simPool {
		if byDegree[it.Degree] == nil {
			names = append(names, it.Degree)
		}
		byDegree[it.Degree] = append(byDegree[it.Degree], it)
	}
	return l.practise(20000, func(day memory.Day) (func() memory.Item, func(memory.Item, bool, time.Duration)) {
		block := byDegree[names[int(day-20000)%len(names)]]
		order := chance.Perm(len(block))
		i := -1
		return func() memory.Item { i++; return block[order[i%len(order)]] }, func(memory.Item, bool, time.Duration) {}
	})
}

// compare runs both ways over a number of seeds and returns the ratios of items
// known.
func compare(seeds int) (toRandom, toBlocks []float64, known [3]float64) {
	for seed := range uint64(seeds) {
		a, b, c := ours(seed, memory.Limits{}), random(seed), blocks(seed)
		toRandom = append(toRandom, float64(a)/float64(max(1, b)))
		toBlocks = append(toBlocks, float64(a)/float64(max(1, c)))
		known[0] += float64(a) / float64(seeds)
		known[1] += float64(b) / float64(seeds)
		known[2] += float64(c) / float64(seeds)
	}
	return toRandom, toBlocks, known
}

// interval returns the mean and the half width of its 95 % interval.
func interval(v []float64) (mean, half float64) {
	for _, x := range v {
		mean += x / float64(len(v))
	}
	for _, x := range v {
		half += (x - mean) * (x - mean)
	}
	return mean, 1.96 * math.Sqrt(half/float64(len(v)-1)/float64(len(v)))
}

func TestSimulatedLearnerKnowsMore(t *testing.T) {
	if testing.Short() {
		t.Skip("six learners practise for 30 days each, three ways")
	}
	toRandom, toBlocks, _ := compare(6)
	for name, v := range map[string][]float64{"random": toRandom, "blocks": toBlocks} {
		mean, half := interval(v)
		assert.GreaterOrEqual(t, mean, 1.5, "%s: %.2f ± %.2f", name, mean, half)
	}
}

// BenchmarkSimulatedLearner prints how many times more items are known after 30
// days than with random questions and with blocks, over 100 seeds:
// go test -run '^$' -bench SimulatedLearner -benchtime 1x ./drills/memory
func BenchmarkSimulatedLearner(b *testing.B) {
	for b.Loop() {
		toRandom, toBlocks, known := compare(100)
		r, rh := interval(toRandom)
		k, kh := interval(toBlocks)
		fmt.Printf("\nitems known: %.0f, random %.0f, blocks %.0f; %.2f ± %.2f times random, %.2f ± %.2f times blocks (95 %%)\n",
			known[0], known[1], known[2], r, rh, k, kh)
		b.ReportMetric(r, "×random")
		b.ReportMetric(k, "×blocks")
	}
}
