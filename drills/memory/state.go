package memory

import (
	"math"
	"time"

	"github.com/open-spaced-repetition/go-fsrs/v4"
)

// Day is a calendar day where the player is, counted from 1970-01-01 = 0. Gaps
// between answers are counted in days, as the memory model does.
type Day int

// DayOf returns the calendar day of a moment in its own time zone.
func DayOf(t time.Time) Day {
	_, offset := t.Zone()
	seconds := t.Unix() + int64(offset)
	return Day(math.Floor(float64(seconds) / 86400))
}

// String writes the day as 2026-11-25.
func (d Day) String() string { return d.Date().Format(time.DateOnly) }

// Date returns midnight UTC of the day.
func (d Day) Date() time.Time { return time.Unix(int64(d)*86400, 0).UTC() }

// ParseDay reads a day written 2026-11-25.
func ParseDay(s string) (Day, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return 0, err
	}
	return DayOf(t), nil
}

// Dated writes a day that is written 2026-11-25 in a form of package time; what is no day
// stays as it is.
func Dated(day, form string) string {
	d, err := ParseDay(day)
	if err != nil {
		return day
	}
	return d.Date().Format(form)
}

// Retention is the chance of recall at which an item is due again.
const Retention = 0.9

// params are those of FSRS-6 with its published default weights. No fuzz: a
// plan must come out the same for the same history.
var params = func() fsrs.Parameters {
	p := fsrs.DefaultParam()
	p.RequestRetention = Retention
	return p
}()

// State is what is known of a player's memory of one item. The zero value is
// an item that was never asked.
type State struct {
	// Stability is the days after which recall has fallen to 0.9.
	Stability float64
	// Difficulty runs from 1 (easy) to 10.
	Difficulty float64
	// First and Last are the days of the first and the latest answer.
	First, Last Day
	// Asked, Slow and Missed count answers, Days the days on which there were any.
	Asked, Slow, Missed, Days int
}

// New reports whether the item was never asked.
func (s State) New() bool { return s.Asked == 0 }

// After returns the state after one more answer. An answer dated before the
// latest one counts as given on the same day.
func (s State) After(day Day, grade Grade) State {
	var current *fsrs.MemoryState
	gap := 0
	if s.New() {
		s.First = day
		s.Last = day
		s.Days = 1
	} else {
		current = &fsrs.MemoryState{Stability: s.Stability, Difficulty: s.Difficulty}
		gap = max(0, int(day-s.Last))
		if gap > 0 {
			s.Days++
		}
		s.Last = max(s.Last, day)
	}
	next := params.NextState(current, Retention, uint64(gap), fsrs.Rating(grade))
	s.Stability, s.Difficulty = next.Memory.Stability, next.Memory.Difficulty
	s.Asked++
	switch grade {
	case Again:
		s.Missed++
	case Hard:
		s.Slow++
	}
	return s
}

// Recall returns the chance, 0 to 1, that the item is recalled on a day; 0 for
// one that was never asked.
func (s State) Recall(day Day) float64 {
	if s.New() {
		return 0
	}
	return params.ForgettingCurve(math.Max(0, float64(day-s.Last)), s.Stability)
}

// Due returns the first day on which the item should be asked again: when its
// recall falls to Retention, and never the day of its latest answer.
func (s State) Due() Day {
	return s.Last + Day(max(1, math.Round(s.Stability)))
}

// Keeping is how well an item is kept.
type Keeping uint8

// The ways of being kept.
const (
	Unmet    Keeping = iota // never asked: new
	Learning                // asked, and not firm
	Firm                    // expected to last FirmDays, and asked on FirmAsked days at least
)

const (
	// FirmDays is how long what is firm is expected to last, at a recall of Retention.
	// Three weeks are common practice, no source.
	FirmDays = 21
	// FirmAsked is on how many days it was asked at least, so that one good day makes
	// nothing firm.
	FirmAsked = 3
)

// Kept says how well the item is kept.
func (s State) Kept() Keeping {
	switch {
	case s.New():
		return Unmet
	case s.Stability >= FirmDays && s.Days >= FirmAsked:
		return Firm
	}
	return Learning
}

// Known reports whether the item will still be recalled with at least the
// given chance a number of days after a day.
func (s State) Known(day, after Day, chance float64) bool {
	return !s.New() && s.Recall(day+after) >= chance
}
