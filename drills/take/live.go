package take

import (
	"time"
)

// Live marks notes one by one while passes go on. It only knows what has been
// heard so far: what counts in the end is Grade, which sees the whole pass.
type Live struct {
	settings    Settings
	notes, free []slot
	taken       []bool
	freeTaken   []bool
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

// NewLive starts with nothing expected.
func NewLive(s Settings) *Live { return &Live{settings: s} }

// Add says what is expected next: events in order of time, none before those
// that were added already. Their indices go on from there.
func (l *Live) Add(expected []Expected) {
	first := len(l.due)
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
		l.due[sl.event] = max(l.due[sl.event], sl.hi)
	}
	for i := max(first, 1); i < len(l.due); i++ {
		l.due[i] = max(l.due[i], l.due[i-1])
	}
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
	for i := first; i < len(l.heard); i++ {
		l.heard[i] = true
	}
}

// Hear marks a note. It takes a time that does not grow with the pass.
func (l *Live) Hear(p Played) LiveMark {
	for l.from < len(l.notes) && l.notes[l.from].hi < p.Time-lateOrder {
		l.from++
	}
	for l.freeFrom < len(l.free) && l.free[l.freeFrom].hi < p.Time-lateOrder {
		l.freeFrom++
	}
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
		taken[best], l.heard[sl.event] = true, true
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
	var missed []int
	for ; l.next < len(l.due) && l.due[l.next] < now; l.next++ {
		if !l.heard[l.next] {
			missed = append(missed, l.next)
		}
	}
	return missed
}
