package memory

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"time"
)

// Limits say how a deck lets items in and mixes them. The zero value takes the
// defaults.
type Limits struct {
	// NewADay is the most items asked for the first time on one day, DefaultNew if
	// 0, none if negative.
	NewADay int
	// Whole lets in all new items of the pool, up to two of them in a row, look-alikes
	// once no other is left, and has what was missed come back before anything else: for a
	// drill that a player asks for by name.
	Whole bool
	// Parts is what is believed of the parts of items; nil takes what their states tell.
	Parts *Estimate
}

const (
	// DefaultNew is how many new items a day lets in at most. What is due always goes
	// first, so that fewer come in as reviews grow; with the simulated learners more than
	// this gains nothing.
	DefaultNew = 80
	// newTogether is how many new items may follow each other where all are let in.
	newTogether = 2
	// missedApart is how many other questions come before a missed item is asked
	// again.
	missedApart = 3
	// among is how many new items one is chosen from, and amongNext how many where they come
	// in the order of need.
	among, amongNext = 60, 12
	// firmRecall is the chance of recall under which an item is asked before new ones; over
	// it, it is only sampled: asked where time is left. It is over Retention, for what waits
	// until then is asked late: simulated learners of each truth know 2 % more than at 0.92,
	// which is 3 % more than at 0.9, and less again at 0.95.
	firmRecall = 0.94
	// ahead is in how many days an item should still be known, where the one to ask is
	// looked for that is least sure of it.
	ahead = 7
)

// Deck chooses what to ask next out of a pool, on one day. First come the items whose
// own memory, beyond their parts, is fading, the least sure before others; those whose
// own memory holds are only sampled, however long ago they were asked. Then
// comes a new one, of a few the one that is likeliest to go right
// 85 % of the time, so that what is weak in it stands beside what is known; never
// a look-alike of one that had to be learned on the same day; then what is least sure to
// be known in a week, parts and all. What was missed comes back when all this has been asked, after a few others,
// until it is right, and tomorrow in any case. Questions are
// interleaved: where there is a choice, the next one shares neither degree nor root with
// the last.
type Deck struct {
	pool    []Item
	entries []entry
	index   map[Item]int
	day     Day
	limits  Limits
	parts   *Estimate
	// due are the items to ask, the first first.
	due []int
	// start is the level at which new items are let in; placing is not nil while
	// it is looked for.
	start   int
	placing *Placing
	// asked counts questions, fresh the items first asked today, together the new ones
	// that were asked in a row last.
	asked    int
	fresh    int
	together int
	last     Item
	foreseen bool
}

type entry struct {
	state State
	// given is the item's index in the pool that the deck was made of, part its number in
	// the estimate.
	given, part int
	// at is the number of the latest question about it today, 0 for none.
	at     int
	missed bool
	// later is the chance that it is right in a week, once that is foreseen.
	later float64
	// barred marks look-alikes of what was new today.
	barred bool
}

// NewDeck makes the deck of a day out of a pool, whose order says which new
// item is needed first, and what is known of its items. Items that were first
// asked earlier on the same day count as that day's new ones, and so do those of a
// later day, whose player has travelled west over the date line. Where nothing is
// known of any item it begins with a placing round.
func NewDeck(pool []Item, known map[Item]State, day Day, limits Limits) *Deck {
	known = Lend(known, pool)
	if limits.NewADay == 0 {
		limits.NewADay = DefaultNew
	}
	d := &Deck{index: make(map[Item]int, len(pool)), day: day, limits: limits}
	if limits.Parts != nil {
		d.parts = limits.Parts.Clone()
	} else {
		d.parts = EstimateOf(known)
	}
	for i, it := range pool {
		if _, twice := d.index[it]; twice {
			continue
		}
		d.index[it] = len(d.pool)
		d.pool = append(d.pool, it)
		d.entries = append(d.entries, entry{state: known[it], given: i, part: d.parts.at(it)})
	}
	for it, s := range known {
		if s.First >= day && !s.New() {
			d.letIn(it, true)
		}
	}
	d.layDue()
	if !Placed(known) {
		d.placing = NewPlacing(pool)
	} else {
		d.start = LevelOf(known)
	}
	return d
}

// layDue lays out the items that were not asked today and are fading, the one that is
// least sure first.
func (d *Deck) layDue() {
	keeps := make([]float64, len(d.entries))
	for i := range d.entries {
		if e := &d.entries[i]; !e.state.New() && e.state.Last < d.day {
			if keeps[i] = d.parts.keeps(e.part, d.day); keeps[i] < firmRecall { // the others are Sure
				d.due = append(d.due, i)
			}
		}
	}
	slices.SortStableFunc(d.due, func(a, b int) int { return cmp.Compare(keeps[a], keeps[b]) })
}

// Placed reports whether anything is known of an item that has a degree, so
// that no placing round is needed.
func Placed(known map[Item]State) bool {
	for it, s := range known {
		if it.ofDegree() && !s.New() {
			return true
		}
	}
	return false
}

// Placing reports whether the next question belongs to the placing round.
func (d *Deck) Placing() bool { return d.placing != nil }

// Answered takes in how an item of the pool was answered. Others are ignored.
func (d *Deck) Answered(it Item, v Verdict, g Grade, took time.Duration) {
	i, known := d.index[it]
	if !known {
		return
	}
	d.asked++
	e := &d.entries[i]
	if e.state.New() {
		d.letIn(it, v != Sure)
		d.together++
	} else {
		d.together = 0
	}
	d.parts.Answered(it, d.day, g)
	e.state = e.state.After(d.day, g)
	e.at, e.missed = d.asked, v == Missed
	d.last = it
	if d.placing != nil && d.placing.Answered(it, v, took) {
		d.start = d.placing.Level()
		d.placing = nil
	}
}

// Next returns the item to ask next, as its index in the pool that the deck was
// made of. The pool must not be empty.
func (d *Deck) Next(chance *rand.Rand) int { return d.entries[d.next(chance)].given }

func (d *Deck) next(chance *rand.Rand) int {
	if d.placing != nil {
		if i, ok := d.placing.Next(d, chance); ok {
			return i
		}
		d.start, d.placing = d.placing.Level(), nil
	}
	ways := []func(*rand.Rand) (int, bool){d.dueOne, d.newOne}
	if d.limits.Whole {
		ways = []func(*rand.Rand) (int, bool){d.missedOne, d.dueOne, d.newOne}
	}
	for _, way := range ways {
		if i, ok := way(chance); ok {
			return i
		}
	}
	return d.leastSure()
}

// missedOne returns the item that was missed longest ago of those that have
// rested.
func (d *Deck) missedOne(*rand.Rand) (int, bool) {
	best, at := 0, d.asked-missedApart+1
	found := false
	for i := range d.entries {
		if e := &d.entries[i]; e.missed && e.at < at {
			best, at, found = i, e.at, true
		}
	}
	return best, found
}

// dueOne returns the first of the due items that was not asked today, unlike the
// question before where there is one.
func (d *Deck) dueOne(*rand.Rand) (int, bool) {
	d.due = slices.DeleteFunc(d.due, func(i int) bool { return d.entries[i].at > 0 })
	if len(d.due) == 0 {
		return 0, false
	}
	i := slices.IndexFunc(d.due, func(i int) bool { return !neighbours(d.pool[i], d.last) })
	return d.due[max(i, 0)], true
}

// newOne returns the next new item that may be let in.
func (d *Deck) newOne(chance *rand.Rand) (int, bool) {
	if d.limits.Whole && d.together == newTogether {
		return 0, false
	}
	if !d.limits.Whole && (d.limits.NewADay < 0 || d.fresh >= d.limits.NewADay) {
		return 0, false
	}
	if i, ok := d.nextNew(chance, func(Item) bool { return true }); ok || !d.limits.Whole {
		return i, ok
	}
	i := slices.IndexFunc(d.entries, func(e entry) bool { return e.state.New() })
	return i, i >= 0
}

// bestRight is the share of right answers at which learning is quickest (Wilson et al.
// 2019, The Eighty Five Percent Rule for optimal learning), and alikeRight how far from
// it is as good.
const bestRight, alikeRight = 0.85, 0.03

// nextNew returns the new item that is likeliest to go right as often as is best for
// learning, of some that are no look-alikes, may serve, and are not below the player's
// level while there are such: of the next ones of the pool without chance, with chance of some
// of all.
func (d *Deck) nextNew(chance *rand.Rand, may func(Item) bool) (int, bool) {
	var level, below []int
	for i := range d.entries {
		if !d.entries[i].state.New() || d.entries[i].barred || !may(d.pool[i]) {
			continue
		}
		if Level(d.pool[i]) >= d.start-1 {
			level = append(level, i)
		} else {
			below = append(below, i)
		}
	}
	if len(level) == 0 {
		level = below
	}
	if len(level) == 0 {
		return 0, false
	}
	if d.parts.items[d.entries[level[0]].part].n == 0 {
		return level[0], true // nothing tells how it will go: as it is needed
	}
	best, far, from := 0, 2.0, among
	if chance == nil {
		from = amongNext
	}
	for k := range min(from, len(level)) {
		i := level[k]
		if chance != nil && len(level) > among {
			i = level[chance.IntN(len(level))]
		}
		off := max(alikeRight, math.Abs(d.parts.recallOf(d.entries[i].part, d.day)-bestRight))
		if off < far {
			best, far = i, off
		}
	}
	return best, true
}

// letIn counts a new item, and where it had to be learned bars its look-alikes for the
// day: two of them new at once are set against each other, and what is known at first
// sight was not new but to the program.
func (d *Deck) letIn(it Item, learned bool) {
	d.fresh++
	if !learned {
		return
	}
	for i := range d.pool {
		if !d.entries[i].barred && Alike(d.pool[i], it) {
			d.entries[i].barred = true
		}
	}
}

// leastSure returns the item that is least sure to be right in a week of those that were
// not asked today, unlike the question before where there is one; else what was missed
// longest ago, else what was asked longest ago; a new one only where there is nothing else.
func (d *Deck) leastSure() int {
	d.foresee()
	best, bestRank := 0, math.Inf(1)
	for i := range d.entries {
		e := &d.entries[i]
		rank := float64(e.at)
		switch {
		case e.at > 0 && e.at == d.asked:
			rank = 1e9
		case e.state.New() && e.barred:
			rank = 1e8
		case e.state.New():
			rank = 1e7
		case e.at > 0 && d.asked-e.at < missedApart:
			rank += 1e6
		case e.at > 0 && !e.missed:
			rank += 1e4 // the longest ago first
		case e.at > 0:
			rank += 1e2
		default:
			if rank = e.later; neighbours(d.pool[i], d.last) {
				rank++
			}
		}
		if rank < bestRank {
			best, bestRank = i, rank
		}
	}
	return best
}

// foresee fills in, once a day, how sure each met item is to be right in a week.
func (d *Deck) foresee() {
	if d.foreseen {
		return
	}
	d.foreseen = true
	for i := range d.entries {
		if e := &d.entries[i]; !e.state.New() {
			e.later = d.parts.recallOf(e.part, d.day+ahead)
		}
	}
}

// neighbours reports whether two items share their degree or root, so that
// asking one after the other would give the second away.
func neighbours(a, b Item) bool {
	if a.Root != "" && b.Root != "" {
		return a.Root == b.Root || a.Degree == b.Degree
	}
	return a == b || Alike(a, b)
}

// Fresh returns the next new items, n at most, that the deck would let in today
// once nothing due is waiting: in the order of the pool, from the player's level
// on, no look-alikes among them or with what was new today. With oneGroup all are
// of the group of the first.
func (d *Deck) Fresh(n int, oneGroup bool) []Item {
	e := *d
	e.entries = slices.Clone(d.entries)
	var items []Item
	for len(items) < n {
		i, ok := e.nextNew(nil, func(it Item) bool { return !oneGroup || len(items) == 0 || it.Group() == items[0].Group() })
		if !ok {
			break
		}
		items = append(items, e.pool[i])
		e.entries[i].barred = true
		e.letIn(e.pool[i], true)
	}
	return items
}
