package take

import (
	"math"

	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/harmony/walk"
)

const (
	// A free walk is looked for elsewhere where fewer of its bars than freeClear are clear.
	freeClear = 0.85
	// earliestFree to latestFree are how many beats elsewhere, and freeSlipPrice is what a
	// slip costs, in clear bars: a line may be clear over other bars by chance.
	earliestFree, latestFree = -4, 8
	freeSlipPrice            = 2.0
	// leastFollowed is the least part of the bars that must be clear so: a line over other
	// chords is half clear somewhere.
	leastFollowed = 0.6
)

// worthOf is what a bar counts that was walked like this.
var worthOf = map[walk.Verdict]float64{walk.Clear: 1, walk.Thin: 0.3, walk.Silent: 0.2}

// placed are the notes of a free walk with the half beats they were played on.
type placed struct {
	halves []int
	notes  []int
}

// walked are the notes as if the player had been so many beats elsewhere in each bar.
func (w placed) walked(grid harmony.Grid, beats func(bar int) int) (out []walk.Walked) {
	for bar := 1; bar <= grid.Bars(); bar++ {
		by := 2 * beats(bar)
		for i, h := range w.halves {
			if h -= by; h >= grid.Start(bar) && h < grid.Start(bar+1) {
				out = append(out, walk.Walked{At: grid.At(h), MIDI: w.notes[i]})
			}
		}
	}
	return out
}

// judgeFollowed judges a free walk, and where hardly a bar is clear looks for the bars from
// which on the player was whole beats elsewhere: by what the line made clear over the
// bars as they would have been then.
func (w placed) judgeFollowed(t *tune.Tune, grid harmony.Grid) (*walk.FreeWalk, []Slip) {
	asked := walk.JudgeFree(t, w.walked(grid, func(int) int { return 0 }))
	bars := grid.Bars()
	if len(w.halves) == 0 || float64(asked.Clear) >= freeClear*float64(bars) {
		return asked, nil
	}
	const ways = latestFree - earliestFree + 1
	var judged [ways]*walk.FreeWalk
	for k := range judged {
		judged[k] = walk.JudgeFree(t, w.walked(grid, func(int) int { return earliestFree + k }))
	}
	// The best way through the bars, each slip at its price.
	best := [ways]float64{}
	from := make([][ways]int, bars)
	for bar := range bars {
		next := [ways]float64{}
		for k := range next {
			next[k] = math.Inf(-1)
			for j, v := range best {
				if bar == 0 {
					j = -earliestFree
				}
				if j != k {
					v -= freeSlipPrice
				}
				if v > next[k] {
					next[k], from[bar][k] = v, j
				}
			}
			next[k] += worthOf[judged[k].Bars[bar].Verdict]
		}
		best = next
	}
	k := 0
	for j, v := range best {
		if v > best[k] {
			k = j
		}
	}
	elsewhere := make([]int, bars+1)
	for bar := bars; bar > 0; bar-- {
		elsewhere[bar] = earliestFree + k
		k = from[bar-1][k]
	}
	var slips []Slip
	for bar := 1; bar <= bars; bar++ {
		if by := elsewhere[bar] - elsewhere[bar-1]; by != 0 {
			slips = append(slips, Slip{Bar: bar, Beats: float64(by), perBar: float64(grid.Start(bar+1)-grid.Start(bar)) / 2})
		}
	}
	if len(slips) == 0 {
		return asked, nil
	}
	followed := walk.JudgeFree(t, w.walked(grid, func(bar int) int { return elsewhere[bar] }))
	if followed.Clear < asked.Clear+2*len(slips) || float64(followed.Clear) < leastFollowed*float64(bars) {
		return asked, nil
	}
	return followed, slips
}
