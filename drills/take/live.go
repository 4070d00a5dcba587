package take

import (
	"slices"
	"time"
)

// Live marks notes one by one while passes go on. It only knows what has been
// heard so far: what counts in the end is Grade, which sees the whole pass.
type Live struct {
	settings    Settings
	notes, free []slot
	taken       []bool
	freeTaken   []bool
	// gone is how many events are forgotten: all that is kept by event begins with
	// that one.
	gone int
	// heard says of each event whether anything was played for it.
	heard []bool
	due   []time.Duration // when each event's window closes
	// from is the first slot whose window may still be open for a note that
	// comes; freeFrom is that of the free notes; next the first event that may
	// still be reported as missed.
	from, freeFrom, next int
}

// LiveMark is what a note seems to be. Event is the index of the expected event,
// −1 for an extra note, whose Verdict and Offset mean nothing.
type LiveMark struct {
	Event   int
	Verdict Verdict
	Offset  time.Duration
}

// lateOrder is how far notes may come out of the order of their times: strings
// have delays of their own.
const lateOrder = 100 * time.Millisecond

const (
	// forgetAfter is how long after its window an event is kept at most, and
	// forgetMany how many are forgotten at a time.
	forgetAfter = 5 * time.Second
	forgetMany  = 256
)

// NewLive starts with nothing expected.
func NewLive(s Settings) *Live { return &Live{settings: s} }

// Add says what is expected next: events in order of time, none before those
// that were added already. Their indices go on from there. Events that were told
// as missed or heard, and whose windows are long closed, are forgotten.
func (l *Live) Add(expected []Expected) {
	l.forget()
	first := l.gone + len(l.due)
	notes, free := l.settings.slots(expected)
	for i := range notes {
		notes[i].event += first
	}
	for i := range free {
		free[i].event += first
	}
	l.notes, l.free = append(l.notes, notes...), append(l.free, free...)
	l.taken = append(l.taken, make([]bool, len(notes))...)
	l.freeTaken = append(l.freeTaken, make([]bool, len(free))...)
	l.heard = append(l.heard, make([]bool, len(expected))...)
	l.due = append(l.due, make([]time.Duration, len(expected))...)
	for _, sl := range notes {
		l.due[sl.event-l.gone] = max(l.due[sl.event-l.gone], sl.hi)
	}
	for i := max(first-l.gone, 1); i < len(l.due); i++ {
		l.due[i] = max(l.due[i], l.due[i-1])
	}
}

// First returns the first event that is not forgotten. No mark and no miss tells
// of those before it any more.
func (l *Live) First() int { return l.gone }

// forget lets go of events that are over, so that hours of passes take no more
// room than a few bars.
func (l *Live) forget() {
	over := l.next
	if l.from < len(l.notes) {
		over = min(over, l.notes[l.from].event)
	}
	if l.freeFrom < len(l.free) {
		over = min(over, l.free[l.freeFrom].event)
	}
	n := over - l.gone
	if n < forgetMany {
		return
	}
	drop := func(slots []slot, taken []bool, from int) ([]slot, []bool, int) {
		k := 0
		for k < from && slots[k].event < over {
			k++
		}
		return slices.Delete(slots, 0, k), slices.Delete(taken, 0, k), from - k
	}
	l.notes, l.taken, l.from = drop(l.notes, l.taken, l.from)
	l.free, l.freeTaken, l.freeFrom = drop(l.free, l.freeTaken, l.freeFrom)
	l.heard, l.due = slices.Delete(l.heard, 0, n), slices.Delete(l.due, 0, n)
	l.gone = over
}

// Void takes back the events from an index on: they are neither marked nor missed.
func (l *Live) Void(first int) {
	void := func(slots []slot, taken []bool) {
		for i := len(slots) - 1; i >= 0 && slots[i].event >= first; i-- {
			taken[i] = true
		}
	}
	void(l.notes, l.taken)
	void(l.free, l.freeTaken)
	for i := max(0, first-l.gone); i < len(l.heard); i++ {
		l.heard[i] = true
	}
}

// Hear marks a note. It takes a time that does not grow with the pass.
func (l *Live) Hear(p Played) LiveMark {
	l.close(p.Time - lateOrder)
	claim := func(slots []slot, taken []bool, from int, v Verdict, key func(int) int) (LiveMark, bool) {
		best := -1
		for i := from; i < len(slots) && slots[i].lo <= p.Time; i++ {
			if taken[i] || slots[i].hi < p.Time || key(slots[i].want.MIDI) != key(p.MIDI) {
				continue
			}
			if best < 0 || apart(&slots[i], p) < apart(&slots[best], p) {
				best = i
			}
		}
		if best < 0 {
			return LiveMark{}, false
		}
		sl := &slots[best]
		taken[best], l.heard[sl.event-l.gone] = true, true
		if v == Matched && wrongString(sl.want, p) {
			v = WrongString
		}
		return LiveMark{Event: sl.event, Verdict: v, Offset: p.Time - sl.due}, true
	}
	if m, ok := claim(l.notes, l.taken, l.from, Matched, byPitch); ok {
		return m
	}
	if m, ok := claim(l.free, l.freeTaken, l.freeFrom, Matched, byPitch); ok {
		m.Verdict = Matched
		return m
	}
	if m, ok := claim(l.notes, l.taken, l.from, WrongOctave, byPitchClass); ok {
		return m
	}
	if m, ok := claim(l.notes, l.taken, l.from, WrongPitch, byNothing); ok {
		return m
	}
	return LiveMark{Event: -1}
}

// Missed returns the events whose time has passed at now without anything played
// for them, each once. Whether the input could hear is for the caller to know.
func (l *Live) Missed(now time.Duration) []int {
	l.close(now - forgetAfter)
	var missed []int
	for ; l.next < l.gone+len(l.due) && l.due[l.next-l.gone] < now; l.next++ {
		if !l.heard[l.next-l.gone] {
			missed = append(missed, l.next)
		}
	}
	return missed
}

// close passes over the slots whose windows have closed by a time.
func (l *Live) close(by time.Duration) {
	for l.from < len(l.notes) && l.notes[l.from].hi < by {
		l.from++
	}
	for l.freeFrom < len(l.free) && l.free[l.freeFrom].hi < by {
		l.freeFrom++
	}
}
