package progress

import (
	"time"

	"footfall/drills/memory"
	"footfall/fretboard"
)

// Counts are a span's answers counted by what the tables ask for.
type Counts struct {
	Days    Counted[DayWay]
	Degrees Counted[DegreeCell]
	Places  Counted[fretboard.Place]
}

// DayWay is a day and a way of answering.
type DayWay struct {
	Day memory.Day
	Way memory.Way
}

// DegreeCell is a degree asked of a chord quality in one kind of question.
type DegreeCell struct {
	Kind            memory.Kind
	Quality, Degree string
}

// Counted holds a tally for each key.
type Counted[K comparable] map[K]Tally

// Tally counts answers and holds the times of the right ones.
type Tally struct {
	Asked, Slow, Missed int
	// Times are in rising order, each once.
	Times []Timed
}

// Timed is an answer time and how many right answers took it.
type Timed struct {
	Took time.Duration
	N    int
}

// Plus returns the two tallies as one. Neither is changed.
func (t Tally) Plus(u Tally) Tally {
	sum := Tally{Asked: t.Asked + u.Asked, Slow: t.Slow + u.Slow, Missed: t.Missed + u.Missed,
		Times: make([]Timed, 0, len(t.Times)+len(u.Times))}
	a, b := t.Times, u.Times
	for len(a) > 0 && len(b) > 0 {
		switch {
		case a[0].Took < b[0].Took:
			sum.Times, a = append(sum.Times, a[0]), a[1:]
		case a[0].Took > b[0].Took:
			sum.Times, b = append(sum.Times, b[0]), b[1:]
		default:
			sum.Times = append(sum.Times, Timed{a[0].Took, a[0].N + b[0].N})
			a, b = a[1:], b[1:]
		}
	}
	sum.Times = append(append(sum.Times, a...), b...)
	return sum
}

// Right counts the answers that were not missed.
func (t Tally) Right() int { return t.Asked - t.Missed }

// Share returns the share right, 0 to 1, and false where nothing was asked.
func (t Tally) Share() (float64, bool) {
	if t.Asked == 0 {
		return 0, false
	}
	return float64(t.Right()) / float64(t.Asked), true
}

// Quantile returns the answer time that a share q, 0 to 1, of the right answers
// did not go over; 0 where none was right. The median is Quantile(0.5).
func (t Tally) Quantile(q float64) time.Duration {
	right := t.Right()
	rank, seen := q*float64(right), 0
	for _, e := range t.Times {
		if seen += e.N; float64(seen) >= rank {
			return e.Took
		}
	}
	return 0
}
