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
	// seconds are the times from the note before to each slot.
	seconds []float64
	// centre is where a line rather stays, as a MIDI note number.
	centre int
	seed   uint64
	style  Style
	// freer is by how much more the seed's liking counts than the style has it.
	freer float64
	hand  *reach
}

// stance is a note of a slot and a position that plays it; there are dozens for each note
// of a line.
type stance struct{ pitch, position int16 }

// stances lists those of a slot, in the order of its notes.
func (p *problem) stances(i int) []stance {
	n := 0
	for _, midi := range p.pitches[i] {
		n += len(p.hand.of(midi))
	}
	all := make([]stance, 0, n)
	for k, midi := range p.pitches[i] {
		for _, position := range p.hand.of(midi) {
			all = append(all, stance{int16(k), int16(position)})
		}
	}
	return all
}

// stage is one slot of the best path: its stances, and for each note of the slot
// before and each stance the cheapest way there.
type stage struct {
	at    []stance
	cost  []float64 // [note before × stance], until the next stage has been reached
	first []uint8   // the note before that one
	from  []uint8   // the stance on that note
}

// solve finds the line of least cost: a best path whose states are a note and the
// stance after it, since the costs of pitch reach over three notes and no more
// and the hand's way over two. It takes time linear in the number of slots. Of
// equal lines it takes the lowest first notes.
func (p *problem) solve() ([]int, float64) {
	n := len(p.slots)
	if n == 0 {
		return nil, 0
	}
	own := make([]float64, len(p.pitches[0]))
	for j, midi := range p.pitches[0] {
		own[j] = p.unary(0, midi)
	}
	if n == 1 {
		j := least(own)
		return []int{p.pitches[0][j]}, own[j]
	}
	// shape[then][first] is the cost of two moves in a row; a move past an octave
	// has none.
	var shape [octaves + 1][octaves + 1]float64
	dearest := 0.0
	for first := range octaves {
		for then := range octaves {
			shape[then][first] = triple(p.style, first-12, then-12)
			dearest = max(dearest, shape[then][first])
		}
	}
	steps := make([]stage, n)
	steps[0].at = p.stances(0)
	var led []float64
	var by []uint8
	for i := 1; i < n; i++ {
		here, next := p.pitches[i-1], p.pitches[i]
		prev, s := &steps[i-1], &steps[i]
		ways := p.hand.costs(p.seconds[i])
		var firsts [][]lead
		if i > 1 {
			firsts = prev.leads(p.pitches[i-2], here, dearest)
		}
		s.at = p.stances(i)
		size := len(here) * len(s.at)
		s.cost, s.first, s.from = make([]float64, size), make([]uint8, size), make([]uint8, size)
		alone := make([]float64, len(next))
		for l, to := range next {
			alone[l] = p.unary(i, to)
		}
		for start := 0; start < len(prev.at); {
			k := int(prev.at[start].pitch)
			end := start
			for end < len(prev.at) && int(prev.at[end].pitch) == k {
				end++
			}
			from := here[k]
			for b := 0; b < len(s.at); {
				l := s.at[b].pitch
				to := next[l]
				// led is the least cost up to each stance of the note before, by the first
				// of the three notes; it depends on the notes alone.
				led, by = led[:0], by[:0]
				shapes := &shape[move(from, to)]
				for a := start; a < end; a++ {
					cheapest, which := math.Inf(1), 0
					if i == 1 {
						cheapest = own[k]
					}
					if i > 1 {
						for _, f := range firsts[a] {
							if c := f.cost + shapes[f.moved]; c < cheapest {
								cheapest, which = c, f.note
							}
						}
					}
					led, by = append(led, cheapest), append(by, uint8(which))
				}
				both := alone[l] + p.pair(i, from, to)
				for ; b < len(s.at) && s.at[b].pitch == l; b++ {
					cheapest, which := math.Inf(1), 0
					for a := range led {
						if c := led[a] + ways[int(prev.at[start+a].position)*p.hand.n+int(s.at[b].position)]; c < cheapest {
							cheapest, which = c, a
						}
					}
					at := k*len(s.at) + b
					s.cost[at], s.first[at], s.from[at] = cheapest+both, by[which], uint8(start+which)
				}
			}
			start = end
		}
		prev.cost = nil // most of the memory that a long tune takes
	}
	return p.trace(steps)
}

// lead is a way to a stance: the note before it, the move from there and the cost.
type lead struct {
	note, moved int
	cost        float64
}

// leads lists for each stance of a stage the ways there that can be the cheapest
// of any line: no shape of three notes makes up for more than the dearest one.
func (s *stage) leads(before, here []int, dearest float64) [][]lead {
	all := make([][]lead, len(s.at))
	for a, st := range s.at {
		cheapest := math.Inf(1)
		for h := range before {
			cheapest = min(cheapest, s.cost[h*len(s.at)+a])
		}
		for h, first := range before {
			if c := s.cost[h*len(s.at)+a]; c <= cheapest+dearest {
				all[a] = append(all[a], lead{h, move(first, here[st.pitch]), c})
			}
		}
	}
	return all
}

// trace reads the line off the path.
func (p *problem) trace(steps []stage) ([]int, float64) {
	n := len(steps)
	end := &steps[n-1]
	at := least(end.cost)
	cost := end.cost[at]
	line := make([]int, n)
	k, b := at/len(end.at), at%len(end.at)
	for i := n - 1; i >= 1; i-- {
		s := &steps[i]
		line[i] = p.pitches[i][s.at[b].pitch]
		line[i-1] = p.pitches[i-1][k]
		state := k*len(s.at) + b
		k, b = int(s.first[state]), int(s.from[state])
	}
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
