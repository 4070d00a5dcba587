package today

import (
	"math/rand/v2"
	"slices"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/harmony/tune"
)

// Work is a tune in work.
type Work struct {
	// Name is its name on the command line, Title what a player calls it.
	Name, Title string
	// Tempo is the tune's own, in quarter notes a minute.
	Tempo float64
	// Items are what its drills ask, in the order in which the tune needs them.
	Items []memory.Item
	// Bars are the bars in which the line first needs them, of those it needs.
	Bars map[memory.Item]int
	// Sections are the tune's in the order of the file, Whole one pass of the form.
	Sections []Part
	Whole    Part
}

// Part is a stretch of a tune and its length.
type Part struct {
	Section string
	// Quarters is the length in quarter notes, without count-in.
	Quarters float64
	// Bar is the length of a bar, which a count-in takes.
	Bar float64
}

// WorkOf makes work of a tune's material.
func WorkOf(m drills.Material) (Work, error) {
	line, err := m.Tune.Line(m.Neck.BassRange())
	if err != nil {
		return Work{}, err
	}
	w := Work{Name: m.Name, Title: m.Title, Tempo: m.Tune.Tempo}
	for i := range m.Tune.Sections {
		s := &m.Tune.Sections[i]
		bar := m.Tune.MeterOf(s).Quarters()
		w.Sections = append(w.Sections, Part{s.Name, bar * float64(len(s.Bars)), bar})
	}
	for i, fb := range m.Tune.Unroll() {
		bar := fb.Meter.Quarters()
		if i == 0 {
			w.Whole.Bar = bar
		}
		w.Whole.Quarters += bar
	}
	for _, k := range drills.Kinds {
		if k.Ordered {
			continue
		}
		qs, err := k.Draw(m)
		if err != nil {
			continue // this kind has nothing to ask of the tune
		}
		for _, q := range qs {
			w.Items = append(w.Items, q.Item())
		}
	}
	w.Bars = byNeed(w.Items, line)
	return w, nil
}

// byNeed sorts items by how soon a bass line needs them: those whose degree and
// root the line plays, in the order in which it first does, then the rest as
// they are. It returns the bars of the first.
func byNeed(items []memory.Item, line []tune.LineNote) map[memory.Item]int {
	type spot struct{ degree, root string }
	first := map[spot]int{}
	for i, n := range line {
		at := spot{n.Degree.String(), n.Chord.Root.String()}
		if _, seen := first[at]; !seen {
			first[at] = i
		}
	}
	rank := func(it memory.Item) int {
		// The degree of an item about a change is another chord's.
		if i, played := first[spot{it.Degree, it.Root}]; played && it.Next == "" {
			return i
		}
		return len(line)
	}
	slices.SortStableFunc(items, func(a, b memory.Item) int { return rank(a) - rank(b) })
	bars := map[memory.Item]int{}
	for _, it := range items {
		if i := rank(it); i < len(line) {
			bars[it] = line[i].At.Bar
		}
	}
	return bars
}

// Order puts the items of a pool in the order in which new ones are needed, and
// leaves out what is not to be asked. It does not change the pool.
type Order func(pool []memory.Item) []memory.Item

// Needed orders by need: that of the tune's bass line, where there is one.
func Needed(m drills.Material) Order {
	return func(pool []memory.Item) []memory.Item {
		pool = slices.Clone(pool)
		if m.Tune == nil {
			return pool
		}
		if line, err := m.Tune.Line(m.Neck.BassRange()); err == nil {
			byNeed(pool, line)
		}
		return pool
	}
}

// Only leaves out all but some items, in their order.
func Only(items []memory.Item) Order {
	return func(pool []memory.Item) []memory.Item {
		return slices.DeleteFunc(slices.Clone(items), func(it memory.Item) bool { return !slices.Contains(pool, it) })
	}
}

// InStep says whether a sitting is a step of a day, what was right before it, and what
// was asked in the step before the program was started again.
type InStep struct {
	Is bool
	// Level is set where the step is the level check, which is over once the level is found.
	Level  bool
	Before Last
	Tries  map[string]Try
}

func (in InStep) asked(it memory.Item) int {
	if len(in.Tries) == 0 {
		return 0
	}
	return in.Tries[it.Key()].Asked
}

// Chooser returns a chooser for one sitting of drills that asks what memory finds worth
// asking on a day, within limits: nothing twice running once it was right. Where order
// leaves nothing, the whole pool is asked.
func Chooser(known map[memory.Item]memory.State, day memory.Day, order Order, limits memory.Limits) drills.Chooser {
	return InStep{}.Chooser(known, day, order, limits)
}

// Chooser is the function Chooser within a step, where nothing is asked more than six
// times.
func (in InStep) Chooser(known map[memory.Item]memory.State, day memory.Day, order Order, limits memory.Limits) drills.Chooser {
	var deck *memory.Deck
	var at map[memory.Item][]int // a chord may stand there in two spellings
	var items, left []memory.Item
	told := 0
	var latest drills.Answer
	asked := map[memory.Item]int{}
	// deal makes the deck of what may still be asked, and tells it all that was.
	deal := func(pool []memory.Item, past []drills.Answer) {
		if items == nil {
			if items = order(pool); len(items) == 0 {
				items = slices.Clone(pool)
			}
			at = make(map[memory.Item][]int, len(pool))
			for i, it := range pool {
				at[it] = append(at[it], i)
			}
		}
		clear(asked)
		for _, a := range past {
			asked[a.Item]++
		}
		left = slices.DeleteFunc(slices.Clone(items), func(it memory.Item) bool {
			return in.Is && asked[it]+in.asked(it) >= mostAsked || len(past) == 0 && in.Before.Right && it == in.Before.Item && len(items) > 1
		})
		deck, told = nil, 0
		if len(left) > 0 {
			deck = memory.NewDeck(left, known, day, limits)
		}
	}
	return func(pool []memory.Item, past []drills.Answer, chance *rand.Rand) int {
		// Anew where an answer was taken back, and once the first is in.
		fresh := deck == nil || told > len(past) || told == 0 && len(past) > 0 || told > 0 && past[told-1] != latest
		for i := told; !fresh && i < len(past); i++ {
			asked[past[i].Item]++
			fresh = in.Is && asked[past[i].Item]+in.asked(past[i].Item) >= mostAsked
		}
		if fresh {
			deal(pool, past)
		}
		if deck == nil {
			return drills.NothingLeft
		}
		for ; told < len(past); told++ {
			a := past[told]
			latest = a
			deck.Answered(a.Item, a.Verdict, a.Grade, a.Took)
		}
		if in.Level && !deck.Placing() {
			return drills.NothingLeft
		}
		it := left[deck.Next(chance)]
		if n := len(past); n > 0 && past[n-1].Item == it && past[n-1].Right() {
			return drills.NothingLeft // there is no other
		}
		same := at[it]
		if len(same) == 1 {
			return same[0]
		}
		return same[chance.IntN(len(same))]
	}
}
