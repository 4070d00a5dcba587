package memory

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"time"
)

// Levels is how many levels there are.
const Levels = 7

// Level places an item on a scale from 0, the roots of natural notes, to
// Levels−1, tensions over roots with an accidental. It goes by how soon a degree
// is commonly taught; common practice, no source. Items without a degree, such as
// shapes, have the highest: no level is too high for them to be let in.
func Level(it Item) int {
	if !it.ofDegree() {
		return Levels - 1
	}
	level := 5
	switch it.Degree {
	case "1":
		level = 0
	case "5":
		level = 1
	case "3", "b3":
		level = 2
	case "7", "b7":
		level = 3
	case "6", "b5", "#5", "bb7", "4", "2":
		level = 4
	}
	if strings.ContainsAny(it.Root, "b#") {
		level++
	}
	return level
}

// LevelOf finds the level that a player's answers speak for: the first one of
// which fewer than 7 in 10 of at least three answers were right, or of which
// fewer were asked.
func LevelOf(known map[Item]State) int {
	var asked, right [Levels]int
	for it, s := range known {
		if !it.ofDegree() {
			continue
		}
		l := Level(it)
		asked[l] += s.Asked
		right[l] += s.Asked - s.Missed
	}
	for l := range asked {
		if asked[l] < 3 || 10*right[l] < 7*asked[l] {
			return l
		}
	}
	return Levels - 1
}

// Placing is the round of a player's first day that finds where to begin, with no
// question asked about the player. It halves: on each string the rungs of a ladder,
// triads on natural notes, then on others, then what lies above triads, are told apart by
// asking the middle one of those in doubt; string by string in turn, finding before
// shapes. A sure answer passes a rung. What is missed or slow is asked once more, of
// another item of the rung, so that a slip alone decides nothing.
type Placing struct {
	columns []column
	spent   time.Duration
	// at is the column asked last.
	at int
}

// column is the ladder of a string; of shapes where string is 0, on one rung.
type column struct {
	kind   Kind
	string int
	// there are the rungs that the pool has items of.
	there [rungs]bool
	// passed is how many rungs are known to be held, open from which on none is.
	passed, open int
	// top is the highest rung that the pool has, and one more.
	top int
	// again is set where the rung that is asked was missed once.
	again bool
	// asked and right count its answers.
	asked, right int
}

// The rungs of a ladder.
const rungs = 4

var rungWords = [rungs]string{
	"triads on natural notes", "triads on sharps and flats", "sevenths and beyond on natural notes", "sevenths and beyond on sharps and flats",
}

// rungLevels are the levels at which new items are let in for so many rungs passed.
var rungLevels = [rungs + 1]int{0, 2, 3, 4, 5}

// PlacingLength is how long a placing round lasts at most, and perQuestion what a question
// costs beside its answer time, for reading the verdict.
const (
	PlacingLength = 2 * time.Minute
	perQuestion   = 2 * time.Second
)

// rung is where an item stands on its ladder.
func rung(it Item) int {
	if !it.ofDegree() {
		return 0
	}
	r := 0
	if Level(Item{Kind: Spell, Degree: it.Degree, Root: "C"}) > 2 {
		r = 2
	}
	if strings.ContainsAny(it.Root, "b#") {
		r++
	}
	return r
}

// columnOf is what tells the ladder of an item: its string where a degree is to be found
// or named on it, or one for all shapes that are built on a string. It is false for what no
// ladder has.
func columnOf(it Item) (Kind, int, bool) {
	switch {
	case it.ofDegree() && it.Kind != Spell:
		return it.Kind, it.String, true
	case it.Kind == Spell, it.Kind == Build:
		return it.Kind, 0, true
	}
	return "", 0, false
}

// NewPlacing begins a placing round over a pool: by finding where the pool has that, else by
// naming, else by spelling; and by building shapes after that.
func NewPlacing(pool []Item) *Placing {
	p := &Placing{at: -1}
	asked := []Kind{Build}
	for _, k := range []Kind{Find, Name, Spell} {
		if slices.ContainsFunc(pool, func(it Item) bool { return it.Kind == k }) {
			asked = []Kind{k, Build}
			break
		}
	}
	for _, it := range pool {
		k, str, ok := columnOf(it)
		if !ok || !slices.Contains(asked, k) {
			continue
		}
		i := slices.IndexFunc(p.columns, func(c column) bool { return c.kind == k && c.string == str })
		if i < 0 {
			i = len(p.columns)
			p.columns = append(p.columns, column{kind: k, string: str})
		}
		c := &p.columns[i]
		c.there[rung(it)] = true
		c.open = max(c.open, rung(it)+1)
		c.top = c.open
	}
	slices.SortFunc(p.columns, func(a, b column) int {
		return cmp.Or(cmp.Compare(slices.Index(asked, a.kind), slices.Index(asked, b.kind)), cmp.Compare(b.string, a.string))
	})
	return p
}

// middle is the rung to ask, the lower middle one of those in doubt that the pool has; false
// where none is left.
func (c column) middle() (int, bool) {
	var open []int
	for r := c.passed; r < c.open; r++ {
		if c.there[r] {
			open = append(open, r)
		}
	}
	if len(open) == 0 {
		return 0, false
	}
	return open[(len(open)-1)/2], true
}

// beforeShapes is how many rungs are held on all strings before shapes are asked, which are of
// sevenths.
const beforeShapes = 3

// next is the column to ask: the one after that asked last which has a rung in doubt,
// shapes after all others, and not where what they are made of was missed.
func (p *Placing) next() (int, bool) {
	all := []bool{false, true}
	if slices.ContainsFunc(p.columns, func(c column) bool { return c.kind != Build && c.passed < min(beforeShapes, c.top) }) {
		all = all[:1]
	}
	for _, shapes := range all {
		for k := range p.columns {
			i := (p.at + 1 + k) % len(p.columns)
			if _, open := p.columns[i].middle(); open && (p.columns[i].kind == Build) == shapes {
				return i, true
			}
		}
	}
	return 0, false
}

// Answered takes in an answer about an item and reports whether the round is over.
func (p *Placing) Answered(it Item, v Verdict, took time.Duration) bool {
	p.spent += took + perQuestion
	k, str, _ := columnOf(it)
	if i := slices.IndexFunc(p.columns, func(c column) bool { return c.kind == k && c.string == str }); i >= 0 {
		c := &p.columns[i]
		p.at = i
		c.asked++
		if v != Missed {
			c.right++
		}
		switch r := rung(it); {
		case v == Sure:
			c.passed, c.again = max(c.passed, r+1), false
		case c.again || v == Missed && r < c.passed:
			c.open, c.again = min(c.open, r), false
		default:
			c.again = true
		}
	}
	_, open := p.next()
	return !open || p.spent >= PlacingLength
}

// Level returns the level found so far: that of the string on which the fewest rungs are held.
func (p *Placing) Level() int {
	least := rungs
	for _, c := range p.columns {
		if c.kind != Build {
			least = min(least, c.passed)
		}
	}
	return rungLevels[least]
}

// Next picks a new item of the rung to ask; false where there is none left.
func (p *Placing) Next(d *Deck, chance *rand.Rand) (int, bool) {
	for range p.columns {
		at, open := p.next()
		if !open {
			return 0, false
		}
		c := &p.columns[at]
		r, _ := c.middle()
		var found []int
		for i, it := range d.pool {
			if k, str, ok := columnOf(it); ok && k == c.kind && str == c.string && rung(it) == r && d.entries[i].state.New() && !d.entries[i].barred {
				found = append(found, i)
			}
		}
		if len(found) > 0 {
			return found[chance.IntN(len(found))], true
		}
		c.there[r] = false
	}
	return 0, false
}

// Holds reports whether an item of a degree is of a rung that the round found to be held: on
// its string, or on every one where it has none. Who held all there was to ask holds the
// rungs above it too, as far as can be told.
func (p *Placing) Holds(it Item) bool {
	if !it.ofDegree() {
		return false
	}
	held := false
	for _, c := range p.columns {
		if c.kind == Build || it.String != 0 && c.string != 0 && c.string != it.String {
			continue
		}
		if c.passed <= rung(it) && c.passed < c.top {
			return false
		}
		held = true
	}
	return held
}

// Found says what the round found, and where the ladder begins: a line each.
func (p *Placing) Found() []string {
	var lines []string
	first, where := rungs, ""
	for _, c := range p.columns {
		name := map[bool]string{true: fmt.Sprintf("String %d", c.string), false: "Notes"}[c.string > 0]
		switch {
		case c.kind == Build && c.passed > 0:
			lines = append(lines, "Shapes: you build them.")
		case c.kind == Build && c.asked == 0:
			lines = append(lines, "Shapes: they come with their lessons.")
		case c.kind == Build:
			lines = append(lines, "Shapes: not yet.")
		case c.passed == 0 && c.right > 0:
			lines = append(lines, name+": some of it, not for sure yet.")
		case c.passed == 0:
			lines = append(lines, name+": nothing yet.")
		default:
			lines = append(lines, fmt.Sprintf("%s: you know it up to %s.", name, rungWords[c.passed-1]))
		}
		if c.kind != Build && c.passed < first {
			first, where = c.passed, name
		}
	}
	if first < rungs {
		return append(lines, fmt.Sprintf("You begin with %s: %s%s.", rungWords[first], strings.ToLower(where[:1]), where[1:]))
	}
	return append(lines, "You know all that was asked: what is new comes from the tunes.")
}

// Trial is an answer as a placing round takes it in.
type Trial struct {
	Item    Item
	Verdict Verdict
	Took    time.Duration
}

// PlacedBy is a placing round over a pool as it stands after some answers, and whether it is
// over.
func PlacedBy(pool []Item, answers []Trial) (p *Placing, over bool) {
	p = NewPlacing(pool)
	for _, a := range answers {
		over = p.Answered(a.Item, a.Verdict, a.Took)
	}
	return p, over
}
