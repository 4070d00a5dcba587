package progress

import (
	"slices"
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

// Add counts answers that took the same time, some of them slow; took 0 counts
// missed ones. It makes the map where it is nil.
func (c *Counted[K]) Add(key K, took time.Duration, asked, slow int) {
	if *c == nil {
		*c = Counted[K]{}
	}
	(*c)[key] = (*c)[key].plus(took, asked, slow)
}

// Tally counts answers and holds the times of the right ones.
type Tally struct {
	Asked, Slow, Missed int
	// times are in rising order, each with how often it was taken.
	times []timed
}

type timed struct {
	took time.Duration
	n    int
}

func (t Tally) plus(took time.Duration, asked, slow int) Tally {
	t.Asked += asked
	t.Slow += slow
	if took == 0 {
		t.Missed += asked
		return t
	}
	i, found := slices.BinarySearchFunc(t.times, took, func(e timed, d time.Duration) int { return int(e.took - d) })
	if found {
		t.times = slices.Clone(t.times)
		t.times[i].n += asked
	} else {
		t.times = slices.Insert(slices.Clone(t.times), i, timed{took, asked})
	}
	return t
}

// Plus returns the two tallies as one.
func (t Tally) Plus(u Tally) Tally {
	for _, e := range u.times {
		t = t.plus(e.took, e.n, 0)
	}
	t.Asked += u.Missed
	t.Missed += u.Missed
	t.Slow += u.Slow
	return t
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
	for _, e := range t.times {
		if seen += e.n; float64(seen) >= rank {
			return e.took
		}
	}
	return 0
}
