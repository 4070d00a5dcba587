package memory

import (
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

// Placing is the round of a player's first day that finds the level to begin
// at, with no question asked about the player. A sure answer goes up a level, a
// missed one goes down; slow ones stay.
type Placing struct {
	level   int
	up      bool
	turns   []int
	spent   time.Duration
	asked   int
	highest int
}

const (
	// PlacingLength is how long a placing round lasts at most.
	PlacingLength = 2 * time.Minute
	// placingTurns ends the round early: the level has been passed so often.
	placingTurns = 6
	// perQuestion is what a question costs beside its answer time, for reading
	// the verdict.
	perQuestion = 2 * time.Second
)

// NewPlacing begins a placing round over a pool.
func NewPlacing(pool []Item) *Placing {
	p := &Placing{up: true}
	for _, it := range pool {
		if it.ofDegree() {
			p.highest = max(p.highest, Level(it))
		}
	}
	return p
}

// Answered takes in an answer and reports whether the round is over.
func (p *Placing) Answered(v Verdict, took time.Duration) bool {
	p.asked++
	p.spent += took + perQuestion
	before := p.up
	switch v {
	case Sure:
		p.up = true
	case Missed:
		p.up = false
	}
	if p.asked > 1 && p.up != before {
		p.turns = append(p.turns, p.level)
	}
	if v != Slow {
		step := -1
		if p.up {
			step = 1
		}
		p.level = min(max(p.level+step, 0), p.highest)
	}
	return p.spent >= PlacingLength || len(p.turns) >= placingTurns
}

// Level returns the level found so far: the middle of the levels at which the
// answers turned, or the present one where they never did.
func (p *Placing) Level() int {
	if len(p.turns) == 0 {
		return p.level
	}
	turns := slices.Sorted(slices.Values(p.turns))
	return turns[len(turns)/2]
}

// Next picks a new item with a degree, of the present level, or of the nearest that has one;
// false where there is none left.
func (p *Placing) Next(d *Deck, chance *rand.Rand) (int, bool) {
	for away := range Levels {
		var found []int
		for i, it := range d.pool {
			l := Level(it)
			if it.ofDegree() && d.entries[i].state.New() && (l == p.level+away || l == p.level-away) && !d.entries[i].barred {
				found = append(found, i)
			}
		}
		if len(found) > 0 {
			return found[chance.IntN(len(found))], true
		}
	}
	return 0, false
}
