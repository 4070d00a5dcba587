package drills

import (
	"math/rand/v2"

	"footfall/drills/memory"
)

// Chooser picks the next question out of pool, items of the questions there
// are, as an index into it. past are the answers of this sitting, oldest first.
// NothingLeft where nothing is worth asking any more, which ends the sitting.
// pool is never empty and must not be changed.
type Chooser func(pool []memory.Item, past []Answer, chance *rand.Rand) int

// NothingLeft is what a Chooser returns where the sitting is over.
const NothingLeft = -1

// missedAgain is how many other questions come before a missed one does again.
const missedAgain = 3

// interleave is a Chooser that interleaves: a missed item comes back after three
// others, and else any item that was not asked in the last half of the pool.
func interleave(pool []memory.Item, past []Answer, chance *rand.Rand) int {
	if n := len(past) - missedAgain - 1; n >= 0 && past[n].Verdict == memory.Missed {
		for i, item := range pool {
			if item == past[n].Item {
				return i
			}
		}
	}
	recent := map[memory.Item]bool{}
	for n := len(past) - 1; n >= 0 && len(recent) < (len(pool)+1)/2 && len(recent) < 20; n-- {
		recent[past[n].Item] = true
	}
	fresh := make([]int, 0, len(pool))
	for i, item := range pool {
		if !recent[item] {
			fresh = append(fresh, i)
		}
	}
	if len(fresh) == 0 {
		return chance.IntN(len(pool))
	}
	return fresh[chance.IntN(len(fresh))]
}
