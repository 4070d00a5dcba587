package memory_test

import (
	"math"
	"math/rand/v2"

	"github.com/open-spaced-repetition/go-fsrs/v4"

	"footfall/harmony"
)

// Simulated learners.
//
// Material: find and name, 12 chord qualities with their 4 or 5 degrees, the 17
// roots that charts spell, strings 6 and 5: 3,468 items, about what the program
// can ask.
//
// Truth of items: each item is remembered on its own, by a true FSRS-6 state that
// the program never sees. Each learner's weights are drawn about the published
// defaults with the spread published beside them (the standard deviations in the
// FSRS project's optimizer, from memory), cut to the library's ranges, so that the
// program's weights are never the learner's; first stabilities stay at their
// defaults, whose spread is wider than they are. A first answer is missed, hard,
// good or easy with given chances; later an item is recalled with the chance that
// its forgetting curve gives; what is not recalled is missed.
//
// Truth of parts: an item is answered right where the degree in the quality, the
// note of the degree over the root and, apart for find and name, the place of the
// note on the string all come to mind, and what the item asks beyond them does too.
// A part comes with log odds that are drawn for each learner from a normal
// distribution, grow by as much with every answer about it, and fall by the
// logarithm of 1 + the days since the last (the conjunctive factors of Cen,
// Koedinger and Junker 2008, from memory; the forgetting and all numbers are
// assumed). What is the item's own, its noise, is an FSRS-6 state as above, of
// easier first answers.
//
// Why parts are not FSRS states too: they are so few, some 400, that random order
// asks each every day, and knew 98 % of all items after the 30 days (measured), so
// that there would be nothing to tell plans apart by.
//
// Time: an answer takes 1 s + 4 s·n^−0.4 for the n-th answer about what is
// remembered, on average over an item's parts (power law of practice, Logan 1988;
// the constants are assumed), times exp(N(0, 0.3)); a missed one twice that; 2 s
// more go by with each verdict.
//
// A day has 15 minutes. An item is known if its true recall is at least 90 % a
// week after the last day.
//
// This file uses nothing of the package, so that testdata/firstbuild can lay it
// into the first build and measure the same learners there.

// simItem is an item of the material.
type simItem struct {
	find                  bool
	quality, degree, root string
	str                   int
}

var simRoots = []string{"C", "C#", "Db", "D", "D#", "Eb", "E", "F", "F#", "Gb", "G", "G#", "Ab", "A", "A#", "Bb", "B"}

var simChords = []struct {
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

var simItems = func() []simItem {
	var all []simItem
	for _, find := range []bool{true, false} {
		for _, root := range simRoots {
			for _, c := range simChords {
				for _, d := range c.degrees {
					for s := 5; s <= 6; s++ {
						all = append(all, simItem{find, c.quality, d, root, s})
					}
				}
			}
		}
	}
	return all
}()

// simParts are the parts of each item, as numbers from 0, and how many there are.
var simParts, simPartCount = func() ([][3]int, int) {
	numbers := map[[4]any]int{}
	number := func(part [4]any) int {
		if _, there := numbers[part]; !there {
			numbers[part] = len(numbers)
		}
		return numbers[part]
	}
	parts := make([][3]int, len(simItems))
	for i, it := range simItems {
		d, _ := harmony.ParseDegree(it.degree)
		root, _ := harmony.ParseNote(it.root)
		parts[i] = [3]int{
			number([4]any{"degree", it.quality, it.degree}),
			number([4]any{"note", it.degree, it.root}),
			number([4]any{"place", it.find, d.Of(root).String(), it.str}),
		}
	}
	return parts, len(numbers)
}()

// truth is what is true of a kind of learner.
type truth struct {
	name  string
	parts bool
	// first holds the chances of a first answer about an item on its own, or about what
	// is its own beyond its parts: missed, hard, good, else easy.
	first [3]float64
	// Of parts, in log odds: mean and spread at first, what an answer adds, and what is
	// lost by ln(1 + days).
	mean, spread, gain, lost float64
}

var truths = []truth{
	// The first answers of the first set of figures, assumed.
	{name: "items, first answers assumed", first: [3]float64{.60, .25, .12}},
	// Those of the FSRS project's simulator: missed 0.24, hard 0.094, good 0.495, easy
	// 0.171. Read from its compiled default configuration (npm package
	// fsrs-rs-nodejs-linux-x64-gnu 0.9.1: four 32-bit floats one after the other).
	{name: "items, first answers published", first: [3]float64{.24, .094, .495}},
	{name: "parts", parts: true, first: [3]float64{.10, .05, .25}, mean: 1.5, spread: 2.5, gain: .12, lost: .3},
}

// simSpread holds the standard deviations of the weights from the fifth on.
var simSpread = [21]float64{4: 0.57, 0.28, 0.6, 0.12, 0.39, 0.18, 0.33, 0.3, 0.09, 0.16, 0.57, 0.25, 1.03, 0.31, 0.32, 0.14, 0.27}

// learner is a simulated learner.
type learner struct {
	truth  truth
	chance *rand.Rand
	params fsrs.Parameters
	// traces are what is remembered: of the items, then of the parts.
	traces []trace
}

type trace struct {
	memory *fsrs.MemoryState
	// strength is a part's, in log odds, as it was on the last day.
	strength float64
	last, n  int
}

func newLearner(t truth, seed uint64) *learner {
	c := rand.New(rand.NewPCG(seed, 99))
	p := fsrs.DefaultParam()
	for i, sd := range simSpread {
		p.W[i] += sd * c.NormFloat64()
	}
	l := &learner{truth: t, chance: c, params: fsrs.NewFSRS(p).Parameters, traces: make([]trace, len(simItems)+simPartCount)}
	for i := len(simItems); i < len(l.traces); i++ {
		l.traces[i].strength = t.mean + t.spread*c.NormFloat64()
	}
	return l
}

// recall is the chance that a trace comes to mind on a day.
func (l *learner) recall(trace, day int) float64 {
	tr := l.traces[trace]
	switch {
	case trace >= len(simItems):
		logOdds := tr.strength
		if tr.n > 0 {
			logOdds -= l.truth.lost * math.Log(float64(1+day-tr.last))
		}
		return 1 / (1 + math.Exp(-logOdds))
	case tr.memory == nil:
		return 1 - l.truth.first[0]
	}
	return l.params.ForgettingCurve(float64(day-tr.last), tr.memory.Stability)
}

// of are the traces of an item: its own, and those of its parts.
func (l *learner) of(item int) []int {
	if !l.truth.parts {
		return []int{item}
	}
	p := simParts[item]
	return []int{item, len(simItems) + p[0], len(simItems) + p[1], len(simItems) + p[2]}
}

// chanceOf is the true chance that an item is answered right on a day.
func (l *learner) chanceOf(item, day int) float64 {
	p := 1.0
	for _, t := range l.of(item) {
		p *= l.recall(t, day)
	}
	return p
}

// answer asks the learner on a day: right or not, and the seconds it took.
func (l *learner) answer(item, day int) (right bool, seconds float64) {
	traces := l.of(item)
	right = true
	for _, t := range traces {
		came := l.chance.Float64() < l.recall(t, day)
		right = right && came
		tr := &l.traces[t]
		if t >= len(simItems) {
			tr.strength += l.truth.gain
		} else {
			rating := fsrs.Good
			switch {
			case !came:
				rating = fsrs.Again
			case tr.memory == nil:
				rating = l.firstRating()
			}
			next := l.params.NextState(tr.memory, 0.9, uint64(day-tr.last), rating)
			tr.memory = &next.Memory
		}
		tr.last = day
		tr.n++
		seconds += 4 * math.Pow(float64(tr.n), -0.4) / float64(len(traces))
	}
	seconds = (1 + seconds) * math.Exp(0.3*l.chance.NormFloat64())
	if !right {
		seconds *= 2
	}
	return right, seconds
}

// firstRating draws how well came what came to mind at its first meeting.
func (l *learner) firstRating() fsrs.Rating {
	first := l.truth.first
	switch r := first[0] + l.chance.Float64()*(1-first[0]); {
	case r < first[0]+first[1]:
		return fsrs.Hard
	case r < first[0]+first[1]+first[2]:
		return fsrs.Good
	}
	return fsrs.Easy
}

// known counts the items whose true recall is at least 90 % a week after a day, and those of
// them that are find items.
func (l *learner) known(day int) (all, find int) {
	for i, it := range simItems {
		if l.chanceOf(i, day+7) >= 0.9 {
			all++
			if it.find {
				find++
			}
		}
	}
	return all, find
}

// policy chooses what a learner is asked: it makes each day's chooser, and learned is
// told how each answer went.
type policy func(day int) (next func() int, learned func(item int, right bool, seconds float64))

const (
	simDays    = 30
	simMinutes = 15
)

// practise runs so many days with what a policy asks, and returns how many answers were
// given. each is told of the end of every day, and ends the run where it returns true.
func (l *learner) practise(p policy, days int, each func(day int) bool) (answers int) {
	for day := range days {
		next, learned := p(day)
		for spent := 0.0; spent < simMinutes*60; answers++ {
			item := next()
			right, took := l.answer(item, day)
			spent += took + 2
			learned(item, right, took)
		}
		if each != nil && each(day) {
			break
		}
	}
	return answers
}

func randomOrder(seed uint64) policy {
	chance := rand.New(rand.NewPCG(seed, 2))
	return func(int) (func() int, func(int, bool, float64)) {
		return func() int { return chance.IntN(len(simItems)) }, func(int, bool, float64) {}
	}
}

// blocks asks one degree a day, all the degrees of the chords in turn, each of
// its items in a random order and again from the start.
func blocks(seed uint64) policy {
	chance := rand.New(rand.NewPCG(seed, 3))
	var names []string
	byDegree := map[string][]int{}
	for i, it := range simItems {
		if byDegree[it.degree] == nil {
			names = append(names, it.degree)
		}
		byDegree[it.degree] = append(byDegree[it.degree], i)
	}
	return func(day int) (func() int, func(int, bool, float64)) {
		block := byDegree[names[day%len(names)]]
		order := chance.Perm(len(block))
		i := -1
		return func() int { i++; return block[order[i%len(order)]] }, func(int, bool, float64) {}
	}
}

// knowsAllFinds practises find items only until 90 % of them are known, mostDays at
// most, and returns how many answers that took.
func (l *learner) knowsAllFinds(p policy, mostDays int) int {
	finds := len(simItems) / 2
	return l.practise(p, mostDays, func(day int) bool {
		_, known := l.known(day)
		return 10*known >= 9*finds
	})
}
