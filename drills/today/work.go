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
	w := Work{Name: m.Name, Title: m.Title, Tempo: m.Tune.Tempo}
	bar := float64(m.Tune.Meter.Beats()) * m.Tune.Meter.BeatQuarters()
	for _, s := range m.Tune.Sections {
		w.Sections = append(w.Sections, Part{s.Name, bar * float64(len(s.Bars)), bar})
	}
	w.Whole = Part{"", bar * float64(len(m.Tune.Unroll())), bar}
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
	low, high := m.Neck.BassRange()
	line, err := m.Tune.Line(low, high)
	if err != nil {
		return Work{}, err
	}
	ByNeed(w.Items, line)
	return w, nil
}

// ByNeed sorts items by how soon a bass line needs them: those whose degree and
// root the line plays, in the order in which it first does, then the rest as
// they are.
func ByNeed(items []memory.Item, line []tune.LineNote) {
	type spot struct{ degree, root string }
	first := map[spot]int{}
	for i, n := range line {
		at := spot{n.Degree.String(), n.Chord.Root.String()}
		if _, seen := first[at]; !seen {
			first[at] = i
		}
	}
	rank := func(it memory.Item) int {
		if i, played := first[spot{it.Degree, it.Root}]; played {
			return i
		}
		return len(line)
	}
	slices.SortStableFunc(items, func(a, b memory.Item) int { return rank(a) - rank(b) })
}

// Chooser returns a chooser for one sitting of drills that asks what memory
// finds worth asking on a day, out of the items of only, or of the whole pool
// where only is nil. The pool's order, or only's, says which new item is needed
// first.
func Chooser(known map[memory.Item]memory.State, day memory.Day, limits memory.Limits, only []memory.Item) drills.Chooser {
	var deck *memory.Deck
	var at []int // of the deck's items in the pool
	paces := map[memory.Way]memory.Pace{}
	told := 0
	return func(pool []memory.Item, past []drills.Answer, chance *rand.Rand) int {
		if deck == nil {
			var items []memory.Item
			items, at = among(pool, only)
			deck = memory.NewDeck(items, known, day, limits)
		}
		for ; told < len(past); told++ {
			a := past[told]
			pace := paces[a.Way]
			pace.Way = a.Way
			deck.Answered(a.Item, a.Verdict, pace.Grade(a.Verdict, a.Took), a.Took)
			paces[a.Way] = pace.With(a.Verdict, a.Took)
		}
		return at[deck.Next(chance)]
	}
}

// among returns the items of only that are in the pool, in only's order, with
// their places; the whole pool where there are none.
func among(pool, only []memory.Item) (items []memory.Item, at []int) {
	places := make(map[memory.Item]int, len(pool))
	for i, it := range pool {
		if _, twice := places[it]; !twice {
			places[it] = i
		}
	}
	for _, it := range only {
		if i, ok := places[it]; ok {
			items, at = append(items, it), append(at, i)
		}
	}
	if len(items) > 0 {
		return items, at
	}
	for i := range pool {
		at = append(at, i)
	}
	return pool, at
}
