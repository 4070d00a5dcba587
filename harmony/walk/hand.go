package walk

import (
	"math"
	"slices"

	"footfall/harmony/tune"
)

// Hand is what composing and criticism know of the player's hand. The zero Hand
// reaches everything.
type Hand struct {
	// Positions lists where the hand can lie to play a MIDI note number, as numbers
	// that mean something to ShiftMM alone; nil has a position for each note.
	Positions func(midi int) []int
	// ShiftMM returns how far in millimetres the hand shifts along the neck from
	// one position to another.
	ShiftMM func(from, to int) float64
	// SpeedMM is how far the hand shifts in a second, in millimetres, on top of
	// StartMM, which takes no time worth counting.
	SpeedMM, StartMM float64
}

// DefaultStartMM and DefaultSpeedMM are 20 mm and 200 mm a second of the time
// between two notes (common practice, no source).
const (
	DefaultStartMM = 20
	DefaultSpeedMM = 200
)

// pace is how long half a beat lasts, in seconds.
func pace(t *tune.Tune, m tune.Meter) float64 { return m.BeatQuarters() * 60 / t.Tempo / 2 }

// most is how far the hand shifts in some seconds, in millimetres.
func (h Hand) most(seconds float64) float64 { return h.StartMM + h.SpeedMM*seconds }

// free reports a hand that reaches everything.
func (h Hand) free() bool { return h.ShiftMM == nil || h.SpeedMM <= 0 }

// reach is a hand with its positions and distances worked out once for a range.
type reach struct {
	Hand
	low       int
	positions [][]int // by note, numbered through
	n         int
	mm        []float64
	priced    map[float64][]float64 // what costs returns, by seconds
}

// within works a hand out for the notes from low to high.
func (h Hand) within(low, high int) *reach {
	r := &reach{Hand: h, low: low, priced: map[float64][]float64{}}
	numbers := map[int]int{}
	var outer []int
	for midi := low; midi <= high; midi++ {
		at := []int{midi}
		if h.free() {
			at = []int{0}
		} else if h.Positions != nil {
			at = h.Positions(midi)
		}
		var own []int
		for _, position := range at {
			number, met := numbers[position]
			if !met {
				number = len(outer)
				numbers[position] = number
				outer = append(outer, position)
			}
			if !slices.Contains(own, number) {
				own = append(own, number)
			}
		}
		r.positions = append(r.positions, own)
	}
	r.n = len(outer)
	r.mm = make([]float64, r.n*r.n)
	if h.free() {
		return r
	}
	for a, from := range outer {
		for b, to := range outer {
			r.mm[a*r.n+b] = h.ShiftMM(from, to)
		}
	}
	return r
}

// of lists the positions for a note.
func (r *reach) of(midi int) []int {
	if midi < r.low || midi >= r.low+len(r.positions) {
		return nil
	}
	return r.positions[midi-r.low]
}

// least is the least way between two notes, wherever the hand lies; 0 for a note
// outside the range.
func (r *reach) least(from, to int) float64 {
	least := math.Inf(1)
	for _, a := range r.of(from) {
		for _, b := range r.of(to) {
			least = min(least, r.mm[a*r.n+b])
		}
	}
	if math.IsInf(least, 1) {
		return 0
	}
	return least
}

// late reports whether the hand cannot be at a note in time, some seconds after
// the note before.
func (r *reach) late(from, to int, seconds float64) bool {
	return !r.free() && r.least(from, to) > r.most(seconds)
}

// wayCost is the cost of the hand's way, as a share of what it can do in the
// time there is.
const wayCost = 1.2

// costs are the costs of going from one position to another in some seconds, by
// from·n + to.
func (r *reach) costs(seconds float64) []float64 {
	if all, ok := r.priced[seconds]; ok {
		return all
	}
	all := make([]float64, r.n*r.n)
	if !r.free() {
		for i, mm := range r.mm {
			share := mm / r.most(seconds)
			if all[i] = wayCost * share; share > 1 {
				all[i] = impossible
			}
		}
	}
	r.priced[seconds] = all
	return all
}
