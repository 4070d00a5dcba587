package memory

import (
	"cmp"
	"maps"
	"math"
	"slices"
)

// Estimate is what is believed of the parts that items share, and so of items that were
// never met. An item made of parts goes right where each part does: each has a strength
// in log odds, with a variance, that every answer about one of its items moves by as
// much as it is in doubt, that grows with practice and that time takes from (a logistic
// model with a term for each part: Pavlik, Cen and Koedinger 2009, performance factors;
// Cen, Koedinger and Junker 2008, the product of parts; the variance as in Glicko,
// from memory). What an item asks beyond its parts is kept by FSRS, told only as much of
// a miss as the parts do not explain.
//
// Whether a player's items go as their parts do shows in their answers: the chance of
// the next one is foretold in three ways, by the item alone, by its parts, and by both,
// and each counts as it foretold the ones before (a Bayesian mixture).
type Estimate struct {
	index   map[Item]int
	items   []itemBelief
	numbers map[Part]int
	parts   []belief
	classes map[class]classBelief
	// met and unmet are how well the three ways foretold answers about items that had
	// been met and about others, in log chances.
	met, unmet [ways]float64
	// first counts first answers about items, own what of them was the item's own.
	first, own share
}

// The ways of foretelling an answer.
const (
	byItem  = iota // FSRS for the item; for one never met, the share of first answers that were right
	byParts        // its parts alone
	byBoth         // its parts, and FSRS for what is its own
	ways
)

type itemBelief struct {
	parts  [mostParts]int
	n      int
	state  State
	beyond State
}

type belief struct {
	part           Part
	mean, variance float64
	last           Day
	asked          int
}

type classBelief struct{ mean float64 }

// share is a share of so many, with what it is taken for before any were counted.
type share struct{ right, asked float64 }

func (s share) of() float64 { return s.right / s.asked }

// What is believed before there are answers, and how it moves. They are round numbers,
// tried on the simulated learners.
const (
	startMean     = 1.0   // log odds of a part never met
	startVariance = 2.0   // of it
	lost          = 0.3   // log odds by the logarithm of 1 + days without it
	gained        = 0.05  // log odds by an answer, right or wrong
	driftAnswer   = 0.01  // variance that an answer adds
	driftDay      = 0.02  // variance that a day adds
	fading        = 0.998 // what an older answer counts against the next in the mixture
	classStep     = 0.3   // how far a class follows the first answer about its parts
	mostStrength  = 6.0   // log odds
)

// NewEstimate knows nothing.
func NewEstimate() *Estimate {
	return &Estimate{
		index: map[Item]int{}, numbers: map[Part]int{}, classes: map[class]classBelief{},
		first: share{1, 2}, own: share{9, 10},
	}
}

// Clone returns an estimate that goes its own way from here.
func (e *Estimate) Clone() *Estimate {
	c := *e
	c.index, c.numbers, c.classes = maps.Clone(e.index), maps.Clone(e.numbers), maps.Clone(e.classes)
	c.items, c.parts = slices.Clone(e.items), slices.Clone(e.parts)
	return &c
}

// at is the number of an item in the estimate.
func (e *Estimate) at(it Item) int {
	if i, there := e.index[it]; there {
		return i
	}
	b := itemBelief{}
	for _, p := range it.Parts() {
		n, there := e.numbers[p]
		if !there {
			n = len(e.parts)
			e.numbers[p] = n
			e.parts = append(e.parts, belief{part: p})
		}
		b.parts[b.n] = n
		b.n++
	}
	e.index[it] = len(e.items)
	e.items = append(e.items, b)
	return len(e.items) - 1
}

// now is what is believed of a part on a day.
func (e *Estimate) now(part int, day Day) belief {
	b := e.parts[part]
	if b.asked == 0 {
		b.mean, b.variance, b.last = startMean, startVariance, day
		if c, met := e.classes[b.part.class()]; met {
			b.mean = c.mean
		}
		return b
	}
	gap := float64(max(0, day-b.last))
	b.mean -= lost * math.Log1p(gap)
	b.variance += driftDay * gap
	return b
}

// recall is the chance that a part comes right. What is in doubt is nearer to even.
func (b belief) recall() float64 { return logistic(b.mean / math.Sqrt(1+math.Pi*b.variance/8)) }

func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

// foretold is what is expected of an answer on a day.
type foretold struct {
	parts  [mostParts]belief
	recall [mostParts]float64
	// all is the chance that all parts come right, beyond that of what is the item's own.
	all, beyond float64
	by          [ways]float64
}

func (e *Estimate) foretell(i int, day Day) foretold {
	it := &e.items[i]
	f := foretold{all: 1, beyond: e.own.of()}
	for k := range it.n {
		f.parts[k] = e.now(it.parts[k], day)
		f.recall[k] = f.parts[k].recall()
		f.all *= f.recall[k]
	}
	if !it.beyond.New() {
		f.beyond = it.beyond.Recall(day)
	}
	f.by = [ways]float64{byItem: e.first.of(), byParts: f.all, byBoth: f.all * f.beyond}
	if !it.state.New() {
		f.by[byItem] = it.state.Recall(day)
	}
	if it.n == 0 {
		f.by[byParts], f.by[byBoth] = f.by[byItem], f.by[byItem]
	}
	for k := range f.by {
		f.by[k] = min(max(f.by[k], 0.01), 0.995)
	}
	return f
}

func (e *Estimate) counted(i int) *[ways]float64 {
	if e.items[i].state.New() {
		return &e.unmet
	}
	return &e.met
}

// weights are what the ways count, together 1.
func weights(logs [ways]float64) [ways]float64 {
	most, sum := slices.Max(logs[:]), 0.0
	for k, l := range logs {
		logs[k] = math.Exp(l - most)
		sum += logs[k]
	}
	for k := range logs {
		logs[k] /= sum
	}
	return logs
}

func mixed(weights, of [ways]float64) float64 {
	p := 0.0
	for k, w := range weights {
		p += w * of[k]
	}
	return p
}

// Recall returns the chance, 0 to 1, that an item is answered right on a day, be it met
// or not.
func (e *Estimate) Recall(it Item, day Day) float64 { return e.recallOf(e.at(it), day) }

func (e *Estimate) recallOf(i int, day Day) float64 {
	return mixed(weights(*e.counted(i)), e.foretell(i, day).by)
}

// keeps is the chance that what a met item asks beyond its parts is remembered on a day: by
// the item's own memory as far as items are on their own, else by that of what is its own.
func (e *Estimate) keeps(i int, day Day) float64 {
	it := &e.items[i]
	if it.n == 0 {
		return it.state.Recall(day)
	}
	alone := weights(e.met)[byItem]
	return alone*it.state.Recall(day) + (1-alone)*it.beyond.Recall(day)
}

// Sure reports whether a met item is so sure to be right on a day, by its own memory and
// by its parts, that it is enough to ask some of its like.
func (e *Estimate) Sure(it Item, day Day) bool {
	i, there := e.index[it]
	return there && !e.items[i].state.New() && e.keeps(i, day) >= firmRecall
}

// Answered takes in an answer about an item and what it was graded.
func (e *Estimate) Answered(it Item, day Day, g Grade) {
	i := e.at(it)
	f, right := e.foretell(i, day), 0.0
	if g != Again {
		right = 1
	}
	logs := e.counted(i)
	for k, p := range f.by {
		logs[k] = fading*logs[k] + math.Log(right*p+(1-right)*(1-p))
	}
	w := weights(*logs)
	beyond := 1.0
	if sum := w[byParts] + w[byBoth]; sum > 0 {
		beyond = (w[byParts] + w[byBoth]*f.beyond) / sum
	}
	p := min(max(f.all*beyond, 0.001), 0.999)
	b := &e.items[i]
	for k := range b.n {
		e.learn(b.parts[k], f.parts[k], (1-f.recall[k])/(1-p), p, right, day)
	}
	blame := 0.0
	if right == 0 {
		blame = min(1, (1-f.beyond)/(1-min(f.all*f.beyond, 0.995)))
	}
	if b.state.New() {
		e.first.asked, e.first.right = e.first.asked+1, e.first.right+right
		e.own.asked, e.own.right = e.own.asked+1, e.own.right+1-blame
	}
	b.beyond = b.beyond.afterBlame(day, g, blame)
	b.state = b.state.After(day, g)
}

// learn moves what is believed of a part by an answer that was expected right with
// chance p, whose log odds go by slope with the part's.
func (e *Estimate) learn(part int, b belief, slope, p, right float64, day Day) {
	b.variance = 1 / (1/b.variance + p*(1-p)*slope*slope)
	b.mean += b.variance * (right - p) * slope
	if b.asked == 0 {
		c, met := e.classes[b.part.class()]
		if !met {
			c.mean = startMean
		}
		c.mean += classStep * (b.mean - c.mean)
		e.classes[b.part.class()] = c
	} else {
		b.mean += lost * math.Log1p(float64(max(0, day-e.parts[part].last))) // the answer brings it back
	}
	b.mean = min(max(b.mean+gained, -mostStrength), mostStrength)
	b.variance += driftAnswer
	b.last = max(b.last, day)
	b.asked++
	e.parts[part] = b
}

// afterBlame is the state after an answer that was missed for its sake with the given
// chance: between that after a miss and that after a right answer.
func (s State) afterBlame(day Day, g Grade, blame float64) State {
	after := s.After(day, max(g, Good))
	if blame > 0 {
		missed := s.After(day, Again)
		after.Stability = math.Pow(after.Stability, 1-blame) * math.Pow(missed.Stability, blame)
		after.Difficulty += blame * (missed.Difficulty - after.Difficulty)
	}
	return after
}

// retold is how many answers of an item count in EstimateOf.
const retold = 3

// EstimateOf is what the states of items alone tell of their parts, without the order
// of the answers.
func EstimateOf(known map[Item]State) *Estimate {
	e := NewEstimate()
	items := make([]Item, 0, len(known))
	for it, s := range known {
		if !s.New() {
			items = append(items, it)
		}
	}
	slices.SortFunc(items, func(a, b Item) int {
		return cmp.Or(cmp.Compare(known[a].First, known[b].First), cmp.Compare(known[a].Last, known[b].Last), a.compare(b))
	})
	for _, it := range items {
		s := known[it]
		n := min(s.Asked, retold)
		missed := int(math.Round(float64(n*s.Missed) / float64(s.Asked)))
		i := e.at(it)
		for k := range n {
			g := Good
			if k < missed {
				g = Again
			}
			// The days between the first answer and the latest, evenly.
			day := s.First
			if n > 1 {
				day += Day(k) * (s.Last - s.First) / Day(n-1)
			}
			e.Answered(it, day, g)
		}
		e.items[i].state = s
	}
	return e
}
