package take

import (
	"cmp"
	"math"
	"slices"
)

// link is a pair of a row: an expected point, what was played for it, and by how
// much, in seconds of the time asked, what follows is moved from here on.
type link struct {
	point, played int
	slip          float64
}

const (
	// mostSlip is how many beats a player may be elsewhere to be found.
	mostSlip = 9
	// lookBack is how many beats before a pair the ones that it may follow are sought.
	lookBack = 6
	// slipPrice is what a slip of whole beats costs, in pairs, and breakPrice one to
	// any other place.
	slipPrice  = 3.5
	breakPrice = 6
	// mostOfOne is how many pairs of one point are looked at, those that lie nearest
	// to their time, and together how near in seconds notes count as one: a strum's.
	mostOfOne = 12
	together  = 0.06
	// ofClass is what a pair counts that has only the pitch class in common.
	ofClass = 0.6
	// jitter is how far, in seconds, a note may wander from the one before without
	// costing much: some standard deviations of a player's time (Repp 2005: 10 to 30
	// ms of asynchrony).
	jitter = 0.05
)

// candidate is a pair that may be part of a row.
type candidate struct {
	point, played int
	x, lag        float64 // when it was asked for, stretched, and how late it came
	beat          float64
	value         float64 // of the best row that ends with it
	before        int     // the pair before it there, −1 for none
	slip          float64
}

// chain returns the row of pairs of the same pitch class that says most, in order.
// Times asked are stretched first; waver is how much the lag may change without
// a slip, as a part of the time between two pairs.
func chain(points []point, played []Played, stretch, waver float64) []link {
	all := candidates(points, played, stretch, waver)
	if len(all) == 0 {
		return nil
	}
	best, from, farthest := 0, 0, -1
	for k := range all {
		c := &all[k]
		beats, gain := math.Round(c.lag/c.beat), c.value
		rest := c.lag/c.beat - beats
		c.value, c.before, c.slip = gain-rest*rest, -1, beats*c.beat
		if beats != 0 {
			c.value -= slipPrice
		}
		follow := func(l int) {
			if b := &all[l]; b.value+gain > c.value && b.point != c.point && b.played < c.played {
				price, slip := follows(b, c, waver)
				if v := b.value + gain - price; v > c.value {
					c.value, c.before, c.slip = v, l, slip
				}
			}
		}
		for from < k && all[from].x < c.x-lookBack*c.beat {
			if farthest < 0 || all[from].value >= all[farthest].value {
				farthest = from
			}
			from++
		}
		if farthest >= 0 {
			follow(farthest)
		}
		for l := k - 1; l >= from; l-- { // the nearest first: most others then need no price
			follow(l)
		}
		if c.value > all[best].value {
			best = k
		}
	}
	var row []link
	for k := best; k >= 0; k = all[k].before {
		row = append(row, link{all[k].point, all[k].played, all[k].slip / stretch})
	}
	slices.Reverse(row)
	return row
}

// follows prices one pair following another, in pairs, and tells the slip between
// them.
func follows(b, c *candidate, waver float64) (price, slip float64) {
	far := math.Min(c.x-b.x, 4*c.beat)
	free := math.Min(jitter+waver*far, 0.3*c.beat)
	change := c.lag - b.lag
	beats := math.Round(change / c.beat)
	rest := (change - beats*c.beat) / free
	// Steeper the farther: a slip taken in several steps must not be cheaper than one.
	price = 0.25 * rest * rest * (1 + 0.25*rest*rest)
	if beats != 0 {
		price += slipPrice
	}
	if price > breakPrice {
		return breakPrice, change
	}
	return price, beats * c.beat
}

// candidates are the pairs in order of the times asked, and of those played.
func candidates(points []point, played []Played, stretch, waver float64) (all []candidate) {
	var of [12][]int
	for j, p := range played {
		if p.Unsure() || !inMIDI(p.MIDI) {
			continue
		}
		c := byPitchClass(p.MIDI)
		if n := len(of[c]); n > 0 && (p.Time-played[of[c][n-1]].Time).Seconds() < together {
			continue // of one strum
		}
		of[c] = append(of[c], j)
	}
	begins := points[0].x
	for i, p := range points {
		x, beat := p.x*stretch, p.beat*stretch
		reach := mostSlip*beat + waver*math.Min(p.x-begins, tempoBeats*p.beat)
		same := of[byPitchClass(p.midi)]
		from, _ := slices.BinarySearchFunc(same, x, func(j int, t float64) int { return cmp.Compare(played[j].Time.Seconds(), t) })
		to := from
		for to-from < mostOfOne {
			early, late := reach, reach
			if from > 0 {
				early = x - played[same[from-1]].Time.Seconds()
			}
			if to < len(same) {
				late = played[same[to]].Time.Seconds() - x
			}
			switch {
			case early >= reach && late >= reach:
			case early < late:
				from--
				continue
			default:
				to++
				continue
			}
			break
		}
		for _, j := range same[from:to] {
			gain := 1.0
			if played[j].MIDI != p.midi {
				gain = ofClass
			}
			all = append(all, candidate{point: i, played: j, x: x, lag: played[j].Time.Seconds() - x, beat: beat, value: gain})
		}
	}
	return all
}
