package memory

import (
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
	// once no other is left: for a drill that a player asks for by name.
	Whole bool
}

const (
	// DefaultNew is how many new items a day lets in at most. What is due always
	// goes first, so that fewer come in as reviews grow; with the simulated
	// learner more than this gains nothing.
	DefaultNew = 40
	// newApart is how many other questions lie between two new items.
	newApart = 2
	// newTogether is how many new items may follow each other where all are let in.
	newTogether = 2
	// missedApart is how many other questions come before a missed item is asked
	// again.
	missedApart = 3
)

// Deck chooses what to ask next out of a pool, on one day. An item that was
// missed comes back after a few others until it is right; then come the items
// that are due; then, where none is waiting, a new one, in the order of the pool,
// never a look-alike of one that was new on the same day; then what is nearest
// to being due. Questions are interleaved: where there is a choice, the next one
// shares neither degree nor root with the last.
type Deck struct {
	pool    []Item
	entries []entry
	index   map[Item]int
	day     Day
	limits  Limits
	// start is the level at which new items are let in; placing is not nil while
	// it is looked for.
	start   int
	placing *Placing
	// asked counts questions, fresh the items first asked today, together the new ones
	// that were asked in a row last.
	asked    int
	fresh    int
	lastNew  int
	together int
	last     Item
}

type entry struct {
	state State
	// given is the item's index in the pool that the deck was made of.
	given int
	// at is the number of the latest question about it today, 0 for none.
	at     int
	missed bool
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
	d := &Deck{index: make(map[Item]int, len(pool)), day: day, limits: limits, lastNew: -newApart}
	for i, it := range pool {
		if _, twice := d.index[it]; twice {
			continue
		}
		d.index[it] = len(d.pool)
		d.pool = append(d.pool, it)
		d.entries = append(d.entries, entry{state: known[it], given: i})
	}
	for it, s := range known {
		if s.First >= day && !s.New() {
			d.letIn(it)
		}
	}
	if !Placed(known) {
		d.placing = NewPlacing(pool)
	} else {
		d.start = LevelOf(known)
	}
	return d
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

// Answered takes in how an item of the pool was answered. Others are ignored.
func (d *Deck) Answered(it Item, v Verdict, g Grade, took time.Duration) {
	i, known := d.index[it]
	if !known {
		return
	}
	d.asked++
	e := &d.entries[i]
	if e.state.New() {
		d.letIn(it)
		d.lastNew = d.asked
		d.together++
	} else {
		d.together = 0
	}
	e.state = e.state.After(d.day, g)
	e.at, e.missed = d.asked, v == Missed
	d.last = it
	if d.placing != nil && d.placing.Answered(v, took) {
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
	if i, ok := d.missedOne(); ok {
		return i
	}
	if i, ok := d.dueOne(chance); ok {
		return i
	}
	if i, ok := d.newOne(); ok {
		return i
	}
	return d.nearest()
}

// missedOne returns the item that was missed longest ago of those that have
// rested.
func (d *Deck) missedOne() (int, bool) {
	best, at := 0, d.asked-missedApart+1
	found := false
	for i := range d.entries {
		if e := &d.entries[i]; e.missed && e.at < at {
			best, at, found = i, e.at, true
		}
	}
	return best, found
}

// dueOne returns one of the due items that were not asked today, at random, and
// unlike the question before where there is one.
func (d *Deck) dueOne(chance *rand.Rand) (int, bool) {
	var due []int
	for i := range d.entries {
		e := &d.entries[i]
		if e.at == 0 && !e.state.New() && e.state.Due() <= d.day {
			due = append(due, i)
		}
	}
	if len(due) == 0 {
		return 0, false
	}
	apart := slices.DeleteFunc(slices.Clone(due), func(i int) bool { return neighbours(d.pool[i], d.last) })
	if len(apart) > 0 {
		due = apart
	}
	return due[chance.IntN(len(due))], true
}

// newOne returns the next new item that may be let in.
func (d *Deck) newOne() (int, bool) {
	if d.limits.Whole && d.together == newTogether {
		return 0, false
	}
	if !d.limits.Whole && (d.asked-d.lastNew < newApart || d.limits.NewADay < 0 || d.fresh >= d.limits.NewADay) {
		return 0, false
	}
	if i, ok := d.nextNew(func(Item) bool { return true }); ok || !d.limits.Whole {
		return i, ok
	}
	i := slices.IndexFunc(d.entries, func(e entry) bool { return e.state.New() })
	return i, i >= 0
}

// nextNew returns the first new item of the pool that is no look-alike, may
// serve, and is not below the player's level while there is one that is not.
func (d *Deck) nextNew(may func(Item) bool) (int, bool) {
	below, found := 0, false
	for i := range d.entries {
		if !d.entries[i].state.New() || d.entries[i].barred || !may(d.pool[i]) {
			continue
		}
		if Level(d.pool[i]) >= d.start-1 {
			return i, true
		}
		if !found {
			below, found = i, true
		}
	}
	return below, found
}

// letIn counts a new item and bars its look-alikes for the day.
func (d *Deck) letIn(it Item) {
	d.fresh++
	for i := range d.pool {
		if !d.entries[i].barred && Alike(d.pool[i], it) {
			d.entries[i].barred = true
		}
	}
}

// nearest returns the item that is nearest to being due of those that were
// not asked today, else what was asked longest ago; a new one only where there
// is nothing else.
func (d *Deck) nearest() int {
	best, bestRank := 0, 1<<62
	for i := range d.entries {
		e := &d.entries[i]
		rank := 0
		switch {
		case e.at > 0 && e.at == d.asked:
			rank = 1 << 61
		case e.state.New() && e.barred:
			rank = 1 << 60
		case e.state.New():
			rank = 1 << 59
		case e.at > 0 && d.asked-e.at < missedApart:
			rank = 1<<50 + e.at
		case e.at > 0:
			rank = 1<<30 + e.at // the longest ago first
		default:
			rank = int(e.state.Due())
		}
		if rank < bestRank {
			best, bestRank = i, rank
		}
	}
	return best
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
		i, ok := e.nextNew(func(it Item) bool { return !oneGroup || len(items) == 0 || it.Group() == items[0].Group() })
		if !ok {
			break
		}
		items = append(items, e.pool[i])
		e.entries[i].barred = true
		e.letIn(e.pool[i])
	}
	return items
}
