package take

import (
	"cmp"
	"math"
	"slices"
	"time"

	"footfall/harmony"
)

// Timing is how the matched events of a take lie in time. A small steady lead is
// no fault (Repp 2005), so the mean stands apart from the spread.
type Timing struct {
	// Mean is the mean offset, early below 0; Spread the standard deviation about
	// it (of the whole, not of a sample).
	Mean, Spread time.Duration
	// Drift is how much later the end of the take is than its beginning, slips
	// apart: by the tempo that was fitted, and the straight line that fits what is left.
	Drift time.Duration
}

// Offbeats is how what is due on the offbeat lies against the swing ratio.
type Offbeats struct {
	// Expected and Matched count the notes and strikes.
	Expected, Matched int
	// Wanted and Heard are swing ratios, long to short to one: what the tune asks
	// and what was played, the player's mean lead or lag on the beats taken off.
	// Heard is 0 where none was matched.
	Wanted, Heard float64
	// Late is how much later they are than asked, against the beats; Spread the
	// standard deviation of their offsets.
	Late, Spread time.Duration
}

// Tally is how the events of one bar or of one degree went.
type Tally struct {
	// Section, SectionBar and Bar (through the form) say which bar it is; they
	// are zero in a tally by degree, as Degree is in one by bar.
	Section         string
	SectionBar, Bar int
	Degree          harmony.Degree
	Counts
	Mean, Spread time.Duration
}

// Faults counts what went wrong.
func (t Tally) Faults() int { return t.Missed + t.Wrong + t.Extra }

func (sc *Score) measure() {
	var all, onBeat, offbeat offsets
	var long, short time.Duration
	for i := range sc.Outcomes {
		e, o := &sc.Events[i], &sc.Outcomes[i]
		off := offOf(e) == 1 && o.Verdict != Skipped
		if off {
			sc.Offbeats.Expected++
			long, short = long+e.Into, short+e.Beat-e.Into
		}
		if !o.Verdict.Right() {
			continue
		}
		all.add(e.Time, o.Offset)
		if !off {
			onBeat.add(e.Time, o.Offset)
		} else {
			offbeat.add(e.Time, o.Offset)
		}
	}
	sc.Timing.Mean, sc.Timing.Spread = all.mean(), all.spread()
	if len(sc.Events) > 1 {
		length := sc.Events[len(sc.Events)-1].Time - sc.Events[0].Time
		sc.Timing.Drift = time.Duration((all.slope() + 1/sc.Fit.TempoRatio - 1) * float64(length))
	}
	if n := sc.Offbeats.Expected; n > 0 {
		sc.Offbeats.Wanted = float64(long) / float64(short)
		sc.Offbeats.Matched, sc.Offbeats.Spread = len(offbeat.at), offbeat.spread()
		if len(offbeat.at) > 0 {
			late := offbeat.mean() - onBeat.mean() + time.Duration(sc.Fit.Swing*float64((long+short)/time.Duration(n)))
			sc.Offbeats.Late = late
			sc.Offbeats.Heard = float64(long/time.Duration(n)+late) / float64(short/time.Duration(n)-late)
		}
	}
	sc.tally()
}

// tally sums up by bar and by degree.
func (sc *Score) tally() {
	type entry struct {
		Tally
		offsets offsets
	}
	bars, degrees := map[int]*entry{}, map[harmony.Degree]*entry{}
	of := func(e *Expected) [2]*entry {
		bar, degree := bars[e.At.Bar], degrees[e.Degree]
		if bar == nil {
			bar = &entry{Tally: Tally{Section: e.Section, SectionBar: e.SectionBar, Bar: e.At.Bar}}
			bars[e.At.Bar] = bar
		}
		if degree == nil {
			degree = &entry{Tally: Tally{Degree: e.Degree}}
			degrees[e.Degree] = degree
		}
		return [2]*entry{bar, degree}
	}
	for i := range sc.Outcomes {
		for _, t := range of(&sc.Events[i]) {
			t.addVerdict(sc.Outcomes[i].Verdict)
			if sc.Outcomes[i].Verdict.Right() {
				t.offsets.add(sc.Events[i].Time, sc.Outcomes[i].Offset)
			}
		}
	}
	// An extra note belongs to the bar of the last event due before it, and to no
	// degree.
	for _, j := range sc.Extras {
		at := sc.Played[j].Time
		i, _ := slices.BinarySearchFunc(sc.due, at, func(due, t time.Duration) int {
			if due <= t {
				return -1
			}
			return 1
		})
		if len(sc.Events) > 0 {
			bars[sc.Events[max(i-1, 0)].At.Bar].Extra++
		}
	}
	worst := func(a, b Tally) int {
		return cmp.Or(cmp.Compare(b.Faults(), a.Faults()), cmp.Compare(b.Spread, a.Spread),
			cmp.Compare(a.Bar, b.Bar), cmp.Compare(a.Degree.Number, b.Degree.Number),
			cmp.Compare(a.Degree.Alter, b.Degree.Alter))
	}
	for _, t := range bars {
		t.Mean, t.Spread = t.offsets.mean(), t.offsets.spread()
		sc.Bars = append(sc.Bars, t.Tally)
	}
	for _, t := range degrees {
		t.Mean, t.Spread = t.offsets.mean(), t.offsets.spread()
		sc.Degrees = append(sc.Degrees, t.Tally)
	}
	slices.SortFunc(sc.Bars, worst)
	slices.SortFunc(sc.Degrees, worst)
}

// addVerdict counts one expected event.
func (c *Counts) addVerdict(v Verdict) {
	if v == Skipped {
		return
	}
	c.Expected++
	switch v {
	case Missed:
		c.Missed++
	case NotHeard:
		c.NotHeard++
	case Unsure:
		c.Unsure++
	case Matched:
		c.Matched++
	case WrongString:
		c.Matched++
		c.WrongString++
	case WrongOctave:
		c.Wrong++
		c.WrongOctave++
	case WrongPitch:
		c.Wrong++
		c.WrongPitch++
	}
}

// offsets are offsets with the times they were due, both in nanoseconds.
type offsets struct{ at, late []float64 }

func (o *offsets) add(at, late time.Duration) {
	o.at = append(o.at, float64(at))
	o.late = append(o.late, float64(late))
}

func (o *offsets) mean() time.Duration { return time.Duration(math.Round(average(o.late))) }

// spread is the standard deviation about the mean, 0 without offsets.
func (o *offsets) spread() time.Duration {
	m, sum := average(o.late), 0.0
	for _, x := range o.late {
		sum += (x - m) * (x - m)
	}
	if len(o.late) == 0 {
		return 0
	}
	return time.Duration(math.Round(math.Sqrt(sum / float64(len(o.late)))))
}

// slope is that of the line of least squares, in offset by time; 0 where there
// is no telling.
func (o *offsets) slope() float64 {
	at, late := average(o.at), average(o.late)
	var up, across float64
	for i := range o.at {
		up += (o.at[i] - at) * (o.late[i] - late)
		across += (o.at[i] - at) * (o.at[i] - at)
	}
	if across == 0 {
		return 0
	}
	return up / across
}

func average(xs []float64) float64 {
	if len(xs) == 0 {
		return 0
	}
	sum := 0.0
	for _, x := range xs {
		sum += x
	}
	return sum / float64(len(xs))
}
