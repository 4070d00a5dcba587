package walk

import "math"

// problem is a line to compose: its places, what may stand on each, and the
// seed.
type problem struct {
	slots []slot
	// notes is how many of the slots are the line's; one more is the first note
	// again, where the last bar leads back to it.
	notes int
	// pitches holds the MIDI note numbers that each slot may take, low to high,
	// never none.
	pitches [][]int
	// centre is where a line rather stays, as a MIDI note number.
	centre int
	seed   uint64
	style  Style
	hand   Hand
	pace   pace
	beats  int // of a bar
}

func (p *problem) unary(i, midi int) float64 {
	s := &p.slots[i]
	cost := unary(s, midi, p.centre) + noise(p.seed, i, midi)
	if p.style != Approaches && s.arrival && s.kept == nil && s.roles[mod12(midi)] != root {
		cost += schoolArrival
	}
	return cost
}

func (p *problem) pair(i, from, to int) float64 {
	a, b := &p.slots[i-1], &p.slots[i]
	cost := pair(a, b, from, to)
	if p.hand.late(from, to, p.between(i), p.pace) {
		cost += impossible
	}
	return cost
}

// between returns the half beats from the start of the note before slot i to its
// own; what follows the line's end is as good as a beat away.
func (p *problem) between(i int) int {
	a, b := p.slots[i-1].at, p.slots[i].at
	if b.Bar < a.Bar {
		return 2
	}
	n := 2 * ((b.Bar-a.Bar)*p.beats + b.Beat - a.Beat)
	if b.Off {
		n++
	}
	if a.Off {
		n--
	}
	return n
}

// solve finds the line of least cost: a best path whose states are the pairs of
// neighbouring notes, since a cost reaches over three notes and no more. It
// takes time linear in the number of slots. Of equal lines it takes the lowest
// first notes.
func (p *problem) solve() ([]int, float64) {
	n := len(p.slots)
	if n == 0 {
		return nil, 0
	}
	best := make([]float64, len(p.pitches[0])) // of lines of one note
	for j, midi := range p.pitches[0] {
		best[j] = p.unary(0, midi)
	}
	if n == 1 {
		j := least(best)
		return []int{p.pitches[0][j]}, best[j]
	}
	// shape[then][first] is the cost of two moves in a row; a move past an octave
	// has none.
	var shape [octaves + 1][octaves + 1]float64
	for first := range octaves {
		for then := range octaves {
			shape[then][first] = triple(first-12, then-12)
		}
	}
	// state[k*len(b)+l] is the least cost of a line that ends in pitch k of the
	// slot before and pitch l of this one; back says which pitch came before.
	back := make([][]uint8, n)
	prev, here := p.pitches[0], p.pitches[1]
	state := make([]float64, len(prev)*len(here))
	for k, from := range prev {
		for l, to := range here {
			state[k*len(here)+l] = best[k] + p.unary(1, to) + p.pair(1, from, to)
		}
	}
	var came []float64 // of a pitch k, the state and the move from each pitch before
	var moved []int
	for i := 2; i < n; i++ {
		next := p.pitches[i]
		out := make([]float64, len(here)*len(next))
		back[i] = make([]uint8, len(out))
		own := make([]float64, len(next))
		for l, to := range next {
			own[l] = p.unary(i, to)
		}
		for k, from := range here {
			came, moved = came[:0], moved[:0]
			for h, first := range prev {
				came = append(came, state[h*len(here)+k])
				moved = append(moved, move(first, from))
			}
			for l, to := range next {
				cheapest, which := math.Inf(1), 0
				shapes := &shape[move(from, to)]
				for h, c := range came {
					if c += shapes[moved[h]]; c < cheapest {
						cheapest, which = c, h
					}
				}
				out[k*len(next)+l] = own[l] + p.pair(i, from, to) + cheapest
				back[i][k*len(next)+l] = uint8(which)
			}
		}
		prev, here, state = here, next, out
	}
	end := least(state)
	cost := state[end]
	line := make([]int, n)
	k, l := end/len(here), end%len(here)
	for i := n - 1; i >= 2; i-- {
		line[i] = p.pitches[i][l]
		k, l = int(back[i][k*len(p.pitches[i])+l]), k
	}
	line[1], line[0] = p.pitches[1][l], p.pitches[0][k]
	return line, cost
}

// octaves counts the moves of an octave down to an octave up.
const octaves = 25

// move numbers a move for a table: 0 for an octave down to 24 for one up, 25 for
// any further.
func move(from, to int) int {
	if by := to - from + 12; by >= 0 && by < octaves {
		return by
	}
	return octaves
}

func least(costs []float64) int {
	at := 0
	for i, c := range costs {
		if c < costs[at] {
			at = i
		}
	}
	return at
}
