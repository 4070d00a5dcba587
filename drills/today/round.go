package today

import (
	"cmp"
	"maps"
	"math/rand/v2"
	"slices"

	"footfall/drills"
	"footfall/drills/memory"
)

// Bounds of a round.
const (
	// mostAsked is how often one thing is asked in a step: what does not stand by then
	// is tired of, and comes back tomorrow. Common practice, no source.
	mostAsked = 6
	// mostBeside is how often a known thing stands between new ones.
	mostBeside = 3
	// mostBegun is how many new things are under way at once.
	mostBegun = 3
	// missedApart is how many other questions come before a missed thing that is kept
	// is asked again.
	missedApart = 3
	// What stands was right and sure so often, of them so often without help.
	standsSure, standsAlone = 3, 2
	// ledTwice is how often a new thing is found with help.
	ledTwice = 2
)

// Try is how one thing has gone in a step so far.
type Try struct {
	Asked int `json:"asked"`
	Right int `json:"right"`
	// Led counts the questions asked with help, Found those of them that were right; once it
	// was missed without help, one of them is to come again.
	Led   int `json:"led,omitempty"`
	Found int `json:"found,omitempty"`
	// Sure counts the right and sure answers with another question since the one
	// before, Alone those of them without help.
	Sure  int `json:"sure,omitempty"`
	Alone int `json:"alone,omitempty"`
}

// Stands reports whether a new thing has been learned as far as a day goes.
func (t Try) Stands() bool { return t.Sure >= standsSure && t.Alone >= standsAlone }

// Way is how far a question is helped with.
type Way uint8

// The ways of asking.
const (
	ByItself Way = iota // no help
	Led                 // the way is told, but for its end
	Shown               // the way is told, and the answer
)

// Round asks the things of one step of a day: new ones are shown, found with help
// and by themselves, and mixed with what is known at a growing distance; what is kept
// is asked until it is right. Nothing is asked twice running once it was right, and
// nothing more than six times.
type Round struct {
	step   Step
	known  map[memory.Item]memory.State
	before Last
	// drill is set where things are asked for as long as there is time.
	drill bool

	items []memory.Item
	rows  map[memory.Item]*row
	asked int
	last  memory.Item
	right bool // the last answer
	told  int
	// alone are the answers about the step's own things without help, of this run.
	alone []bool
	// latest is the answer told last.
	latest drills.Answer
}

// Last is what was answered last.
type Last struct {
	Item  memory.Item
	Right bool
}

// row is where a thing of a round stands.
type row struct {
	try Try
	// learn is set for what is new, beside for what only stands between.
	learn, beside bool
	// at is the number of the question that asked it last, 0 for none in this run; next
	// that of the one from which it may come again.
	at, next int
}

func (r *row) settled() bool {
	switch {
	case r.beside:
		return true
	case r.try.Asked >= mostAsked:
		return true
	case r.learn:
		return r.try.Stands()
	}
	return r.try.Right > 0
}

// NewRound begins the round of a step, or goes on with it where it was left, after the
// answer before, which is not asked first where it was right.
func NewRound(s Step, known map[memory.Item]memory.State, before Last) *Round {
	r := &Round{step: s, known: known, before: before, drill: s.Task != nil}
	r.restart()
	return r
}

func (r *Round) restart() {
	r.items, r.rows, r.told, r.asked, r.alone = nil, map[memory.Item]*row{}, 0, 0, nil
	r.last, r.right = r.before.Item, r.before.Right
	add := func(it memory.Item, beside bool) {
		if r.rows[it] == nil {
			r.items = append(r.items, it)
			r.rows[it] = &row{try: r.step.Tries[it.Key()], beside: beside, learn: !beside && r.toLearn(it)}
		}
	}
	for _, it := range r.step.Items {
		add(it, false)
	}
	for _, it := range r.step.Beside {
		add(it, true)
	}
}

// toLearn reports whether a thing of the step is learned in it: whatever a step of new
// things holds, and what was never asked elsewhere.
func (r *Round) toLearn(it memory.Item) bool {
	return r.step.Kind == New || r.known[it].New() || r.step.Tries[it.Key()].Led+r.step.Tries[it.Key()].Found > 0
}

// Alone are the answers of this run about the step's own things that were given without
// help, whether they were right, the oldest first.
func (r *Round) Alone() []bool { return r.alone }

// Items are all that the round may ask.
func (r *Round) Items() []memory.Item { return r.items }

// Way says how far a question about a thing is helped with now.
func (r *Round) Way(it memory.Item) Way {
	w := r.rows[it]
	switch {
	case w == nil || !w.learn || w.try.Found >= ledTwice:
		return ByItself
	case w.try.Asked == 0 && r.known[it].Missed == r.known[it].Asked: // never right before
		return Shown
	case w.try.Asked == 0 || w.try.Found > 0:
		return Led
	}
	return Shown // the help was not enough
}

// Tries are how each thing has gone, by its key.
func (r *Round) Tries() map[string]Try {
	tries := map[string]Try{}
	for it, w := range r.rows {
		if w.try.Asked > 0 {
			tries[it.Key()] = w.try
		}
	}
	return tries
}

// Tried adds the answers of a sitting to how things had gone before.
func Tried(before map[string]Try, past []drills.Answer) map[string]Try {
	tries := map[string]Try{}
	maps.Copy(tries, before)
	for _, a := range past {
		t := tries[a.Item.Key()]
		t.Asked++
		if a.Right() {
			t.Right++
		}
		tries[a.Item.Key()] = t
	}
	return tries
}

// WithBeside returns a step of a lesson's drill with things that are known on a day to ask
// between its own, those that are forgotten soonest first: none that could be taken for one
// of its own, and none whose chord it does not name.
func (s Step) WithBeside(known map[memory.Item]memory.State, day memory.Day) Step {
	if s.Task == nil || s.Task.Drill == nil || s.Task.Drill.Tune != "" || s.Task.Drill.Kind.InTime() {
		return s
	}
	var beside []memory.Item
	for it, state := range known {
		if state.Missed < state.Asked && namesDegree(it) && symbolFor(it) != "" &&
			!slices.ContainsFunc(s.Items, func(own memory.Item) bool { return own == it || memory.Alike(own, it) }) {
			beside = append(beside, it)
		}
	}
	slices.SortFunc(beside, func(a, b memory.Item) int {
		return cmp.Or(cmp.Compare(known[a].Recall(day), known[b].Recall(day)), cmp.Compare(a.Key(), b.Key()))
	})
	s.Beside = beside[:min(len(beside), mostKnown)]
	return s
}

// Take takes in the answers of a sitting so far, oldest first.
func (r *Round) Take(past []drills.Answer) {
	if r.told > len(past) || r.told > 0 && past[r.told-1] != r.latest { // an answer was taken back
		r.restart()
	}
	for ; r.told < len(past); r.told++ {
		r.latest = past[r.told]
		r.answered(r.latest.Item, r.latest.Verdict)
	}
}

func (r *Round) answered(it memory.Item, v memory.Verdict) {
	w := r.rows[it]
	if w == nil {
		return
	}
	way, apart := r.Way(it), r.last != it
	r.asked++
	r.last, r.right = it, v != memory.Missed
	w.at = r.asked
	w.try.Asked++
	if way != ByItself {
		w.try.Led++
	} else if !w.beside {
		r.alone = append(r.alone, r.right)
	}
	if !r.right {
		w.next = r.asked + 1 + missedApart
		if way == ByItself && (w.learn || r.drill && !w.beside) { // what was missed is taught again
			w.learn, w.try.Found = true, ledTwice-1
		}
		if w.learn {
			w.next = r.asked + 2
		}
		return
	}
	w.try.Right++
	if way != ByItself {
		w.try.Found++
	}
	if v == memory.Sure && apart {
		w.try.Sure++
		if way == ByItself {
			w.try.Alone++
		}
	}
	// Two other questions between, then more.
	distance := []int{2, 2, 3, 4, 5, 5}[min(w.try.Right, mostAsked)-1]
	w.next = r.asked + 1 + distance
}

// Choose picks what to ask next as a drills.Chooser does.
func (r *Round) Choose(pool []memory.Item, past []drills.Answer, chance *rand.Rand) int {
	r.Take(past)
	it, ok := r.choose(func(it memory.Item) bool { return slices.Contains(pool, it) })
	if !ok {
		return drills.NothingLeft
	}
	var same []int // a chord may stand there in two spellings
	for i := range pool {
		if pool[i] == it {
			same = append(same, i)
		}
	}
	return same[chance.IntN(len(same))]
}

// enough reports whether a lesson's drill has asked what it asks for: each of the step's
// things until it stands or is tired of, and all of them so often without help.
func (r *Round) enough() bool {
	alone := 0
	for _, w := range r.rows {
		if w.beside {
			continue
		}
		if !w.settled() {
			return false
		}
		alone += w.try.Asked - w.try.Led
	}
	return r.step.Task.Drill == nil || alone >= r.step.Task.Drill.Of
}

// choose picks the next thing that can be asked; false where the round is over.
func (r *Round) choose(can func(memory.Item) bool) (memory.Item, bool) {
	var open []memory.Item
	begun := 0
	for _, it := range r.items {
		w := r.rows[it]
		if can(it) && (!w.settled() || r.drill && w.try.Asked < mostAsked) {
			open = append(open, it)
			if w.learn && w.try.Asked > 0 && !w.settled() {
				begun++
			}
		}
	}
	if len(open) == 0 || r.drill && r.enough() {
		return memory.Item{}, false
	}
	may := func(it memory.Item) bool {
		w := r.rows[it]
		return can(it) && (it != r.last || !r.right) && w.try.Asked < mostAsked
	}
	first := func(items []memory.Item, fits func(memory.Item, *row) bool, rank func(*row) int) (best memory.Item, found bool) {
		for _, it := range items {
			if w := r.rows[it]; may(it) && fits(it, w) && (!found || rank(w) < rank(r.rows[best])) {
				best, found = it, true
			}
		}
		return best, found
	}
	inOrder := func(*row) int { return 0 }
	soonest := func(w *row) int { return w.next }
	longestAgo := func(w *row) int { return 100*w.try.Asked + w.at }
	ready := func(_ memory.Item, w *row) bool { return w.at > 0 && !w.settled() && w.next <= r.asked+1 }
	fresh := func(_ memory.Item, w *row) bool {
		return w.at == 0 && !w.settled() && (!w.learn || begun < mostBegun || w.try.Asked > 0)
	}
	freshApart := func(it memory.Item, w *row) bool { return fresh(it, w) && !memory.Alike(it, r.last) }
	for _, pick := range []struct {
		items []memory.Item
		fits  func(memory.Item, *row) bool
		rank  func(*row) int
	}{
		{open, ready, soonest},
		{open, freshApart, inOrder},
		{open, fresh, inOrder},
		{open, func(_ memory.Item, w *row) bool { return w.settled() && !w.beside && w.next <= r.asked+1 }, soonest},
		{r.items, func(_ memory.Item, w *row) bool { return w.beside && w.try.Asked < mostBeside }, longestAgo},
		{r.items, func(_ memory.Item, w *row) bool { return w.settled() && !w.beside && (r.drill || w.learn) }, longestAgo},
		{open, func(_ memory.Item, w *row) bool { return w.at == 0 }, inOrder},
		{open, func(it memory.Item, w *row) bool { return it != r.last }, soonest},
		{open, func(_ memory.Item, w *row) bool { return w.learn }, soonest},
	} {
		if it, ok := first(pick.items, pick.fits, pick.rank); ok {
			return it, true
		}
	}
	return memory.Item{}, false
}
