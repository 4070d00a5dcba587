package take

import (
	"math"
	"slices"

	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/harmony/walk"
)

const (
	// A free walk is looked for elsewhere where fewer of its bars than freeClear are clear,
	// or begin with a note.
	freeClear = 0.85
	// earliestFree to latestFree are how many beats elsewhere, and freeSlipPrice is what a
	// slip costs, in clear bars: a line may be clear over other bars by chance. Where the
	// player was seen to stop for so long it costs freeStopPrice.
	earliestFree, latestFree = -4, 8
	freeSlipPrice            = 2.0
	freeStopPrice            = 0.9
	// onOne is what a clear bar counts more that has a note on its first beat: of two notes
	// a bar, both are clear on 2 and 4 as well.
	onOne = 0.15
	// leastFollowed is the least part of the bars that must be clear so: a line over other
	// chords is half clear somewhere.
	leastFollowed = 0.6
)

// worthOf is what a bar counts that was walked like this.
var worthOf = map[walk.Verdict]float64{walk.Clear: 1, walk.Thin: 0.3, walk.Silent: 0.2}

// judgedAt is a pass as it is judged where the player was so many beats elsewhere.
type judgedAt struct {
	*walk.FreeWalk
	ones []bool // the bars with a note on their first beat
}

func (w placed) judge(t *tune.Tune, grid harmony.Grid, beats func(bar int) int) judgedAt {
	walked := w.walked(grid, beats)
	j := judgedAt{walk.JudgeFree(t, walked), make([]bool, grid.Bars())}
	for _, n := range walked {
		if n.At.Beat == 1 && !n.At.Off {
			j.ones[n.At.Bar-1] = true
		}
	}
	return j
}

// worth is what a bar counts, from 0.
func (j *judgedAt) worth(bar int) float64 {
	v := j.Bars[bar].Verdict
	if v == walk.Clear && j.ones[bar] {
		return worthOf[v] + onOne
	}
	return worthOf[v]
}

// sum is what the clear bars count together.
func (j *judgedAt) sum() (sum float64) {
	for i, b := range j.Bars {
		if b.Verdict == walk.Clear {
			sum += j.worth(i)
		}
	}
	return sum
}

// onOnes counts the bars that begin with a note or have none.
func (j *judgedAt) onOnes() int {
	n := 0
	for i, b := range j.Bars {
		if j.ones[i] || b.Verdict == walk.Silent {
			n++
		}
	}
	return n
}

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

// usual is the median of the half beats from note to note.
func (w placed) usual() int {
	var gaps []int
	for i := 1; i < len(w.halves); i++ {
		gaps = append(gaps, w.halves[i]-w.halves[i-1])
	}
	if len(gaps) == 0 {
		return 0
	}
	slices.Sort(gaps)
	return gaps[len(gaps)/2]
}

// stopped reports whether the player left a gap of so many beats more than usual in a bar
// or the one before, from which on they were late by these beats.
func (w placed) stopped(grid harmony.Grid, bar, before, after, usual int) bool {
	if after <= before {
		return false
	}
	from, to := grid.Start(max(1, bar-1))+2*before, grid.Start(bar+1)+2*after
	i, _ := slices.BinarySearch(w.halves, from+1)
	for i = max(i, 1); i < len(w.halves) && w.halves[i] <= to; i++ {
		if w.halves[i]-w.halves[i-1] >= usual+2*(after-before) {
			return true
		}
	}
	return false
}

// judgeFollowed judges a free walk, and where hardly a bar is clear looks for the bars from
// which on the player was whole beats elsewhere: by what the line made clear over the
// bars as they would have been then.
func (w placed) judgeFollowed(t *tune.Tune, grid harmony.Grid) (*walk.FreeWalk, []Slip) {
	asked := w.judge(t, grid, func(int) int { return 0 })
	bars := grid.Bars()
	if len(w.halves) == 0 || float64(min(asked.Clear, asked.onOnes())) >= freeClear*float64(bars) {
		return asked.FreeWalk, nil
	}
	const ways = latestFree - earliestFree + 1
	var judged [ways]judgedAt
	for k := range judged {
		judged[k] = w.judge(t, grid, func(int) int { return earliestFree + k })
	}
	// The best way through the bars, each slip at its price.
	best := [ways]float64{}
	from := make([][ways]int, bars)
	usual := w.usual()
	price := func(bar, j, k int) float64 {
		switch {
		case j == k:
			return 0
		case w.stopped(grid, bar+1, earliestFree+j, earliestFree+k, usual):
			return freeStopPrice
		}
		return freeSlipPrice
	}
	for bar := range bars {
		next := [ways]float64{}
		for k := range next {
			next[k] = math.Inf(-1)
			for j, v := range best {
				if bar == 0 {
					j = -earliestFree
				}
				if v -= price(bar, j, k); v > next[k] {
					next[k], from[bar][k] = v, j
				}
			}
			next[k] += judged[k].worth(bar)
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
	least := asked.sum()
	for bar := 1; bar <= bars; bar++ {
		if by := elsewhere[bar] - elsewhere[bar-1]; by != 0 {
			least += price(bar-1, elsewhere[bar-1]-earliestFree, elsewhere[bar]-earliestFree)
			slips = append(slips, Slip{Bar: bar, Beats: float64(by), perBar: float64(grid.Start(bar+1)-grid.Start(bar)) / 2})
		}
	}
	if len(slips) == 0 {
		return asked.FreeWalk, nil
	}
	followed := w.judge(t, grid, func(bar int) int { return elsewhere[bar] })
	if followed.sum() < least || float64(followed.Clear) < leastFollowed*float64(bars) {
		return asked.FreeWalk, nil
	}
	return followed.FreeWalk, slips
}
