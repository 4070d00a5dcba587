package take

import (
	"slices"
	"time"
)

// Live marks notes and strums one by one while passes go on. It only knows what
// has been heard so far: what counts in the end is Grade, which sees the whole
// pass.
type Live struct {
	settings             Settings
	byEar                bool
	notes, free, strikes waiting
	// gone is how many events are forgotten: all that is kept by event begins with
	// that one.
	gone   int
	events []liveEvent
	// next is the first event that may still be reported as missed.
	next int
	// shift is how much later than asked the player is, by what was heard of late.
	shift  time.Duration
	recent recent
	// last is the last note of the bass that was added, 0 for none.
	last int
}

// liveEvent is what is known of an event so far.
type liveEvent struct {
	heard bool          // whether anything was played for it
	due   time.Duration // when its window closes
	// bass and notes are those that a strike's strum is to have, verdict is how it was by
	// the best strum so far.
	bass    int
	notes   []int
	verdict Verdict
	again   float64 // from which chance on it is the note before struck again
}

// LiveMark is what a note or a strum seems to be. Event is the index of the
// expected event, −1 where it serves none; Verdict and Offset mean nothing then.
type LiveMark struct {
	Event   int
	Verdict Verdict
	Offset  time.Duration
	// Extra is set for a note that nothing asked for.
	Extra bool
}

// noMark is what says nothing of anything expected.
var noMark = LiveMark{Event: -1}

// lateOrder is how far notes may come out of the order of their times: strings
// have delays of their own, and an ear is sure of one note sooner than of another.
const lateOrder = 200 * time.Millisecond

const (
	// forgetAfter is how long after its window an event is kept at most, and
	// forgetMany how many are forgotten at a time.
	forgetAfter = 5 * time.Second
	forgetMany  = 256
)

// NewLive starts with nothing expected. byEar is that of Heard.
func NewLive(s Settings, byEar bool) *Live { return &Live{settings: s, byEar: byEar} }

// Add says what is expected next: events in order of time, none before those
// that were added already. Their indices go on from there. Events that were told
// as missed or heard, and whose windows are long closed, are forgotten.
func (l *Live) Add(expected []Expected) {
	l.forget()
	first := l.gone + len(l.events)
	at := asAsked(expected)
	for i := range at.due {
		at.due[i] += l.shift
	}
	notes, free, strikes := l.settings.slots(expected, at, l.byEar)
	l.recent.asked = append(l.recent.asked, expected...)
	if len(expected) > 0 {
		l.recent.cut(expected[0].Time)
	}
	l.events = append(l.events, make([]liveEvent, len(expected))...)
	for _, slots := range [][]slot{notes, free, strikes} {
		for i := range slots {
			slots[i].event += first
		}
	}
	for _, sl := range append(slices.Clip(notes), strikes...) {
		e := l.event(sl.event)
		e.due = max(e.due, sl.hi)
	}
	for _, sl := range strikes {
		e := l.event(sl.event)
		e.bass, e.notes = expected[sl.event-first].above()
	}
	var least []float64
	least, l.last = leastAgain(expected, l.last)
	for i, v := range least {
		l.event(first + i).again = v
	}
	for i := max(first-l.gone, 1); i < len(l.events); i++ {
		l.events[i].due = max(l.events[i].due, l.events[i-1].due)
	}
	l.notes.add(notes)
	l.free.add(free)
	l.strikes.add(strikes)
}

func (l *Live) event(i int) *liveEvent { return &l.events[i-l.gone] }

// lists are the slots of all kinds.
func (l *Live) lists() [3]*waiting { return [3]*waiting{&l.notes, &l.free, &l.strikes} }

// First returns the first event that is not forgotten. No mark and no miss tells
// of those before it any more.
func (l *Live) First() int { return l.gone }

// forget lets go of events that are over, so that hours of passes take no more
// room than a few bars.
func (l *Live) forget() {
	over := l.next
	for _, w := range l.lists() {
		if w.from < len(w.slots) {
			over = min(over, w.slots[w.from].event)
		}
	}
	n := over - l.gone
	if n < forgetMany {
		return
	}
	for _, w := range l.lists() {
		w.drop(over)
	}
	l.events = slices.Delete(l.events, 0, n)
	l.gone = over
}

// Void takes back the events from an index on: they are neither marked nor missed.
func (l *Live) Void(first int) {
	back := l.gone + len(l.events) - first
	l.recent.asked = l.recent.asked[:max(0, len(l.recent.asked)-back)]
	for _, w := range l.lists() {
		w.void(first)
	}
	for i := max(0, first-l.gone); i < len(l.events); i++ {
		l.events[i].heard = true
	}
}

// Hear marks a note. It takes a time that does not grow with the pass. A note
// that is unsure leaves what it may have been open to a sure one.
func (l *Live) Hear(p Played) LiveMark {
	l.close(p.Time - lateOrder)
	l.recent.hear(p)
	if p.Unsure() {
		if i := l.notes.closest(p, byPitch); i >= 0 && p.Again >= l.event(l.notes.slots[i].event).again {
			return l.claim(&l.notes, i, p, Matched)
		}
		if p.Again > 0 && p.Again < restruckWithStrike {
			return noMark
		}
		i := l.notes.closest(p, byNothing)
		if i < 0 {
			return noMark
		}
		sl := &l.notes.slots[i]
		l.event(sl.event).heard = true
		return LiveMark{Event: sl.event, Verdict: Unsure, Offset: p.Time - sl.due}
	}
	if i := l.notes.closest(p, byPitch); i >= 0 {
		return l.claim(&l.notes, i, p, Matched)
	}
	if i := l.free.closest(p, byPitch); i >= 0 {
		if l.byEar {
			l.free.taken[i] = true
			return noMark // the strike is judged by its strum
		}
		return l.claim(&l.free, i, p, Matched)
	}
	if i := l.notes.closest(p, byPitchClass); i >= 0 {
		return l.claim(&l.notes, i, p, WrongOctave)
	}
	if i := l.notes.closest(p, byNothing); i >= 0 {
		return l.claim(&l.notes, i, p, WrongPitch)
	}
	return LiveMark{Event: -1, Extra: true}
}

// claim gives a slot to a note.
func (l *Live) claim(w *waiting, i int, p Played, v Verdict) LiveMark {
	sl := &w.slots[i]
	w.taken[i], l.event(sl.event).heard = true, true
	if !sl.free {
		v = p.against(sl.want, v)
	}
	return LiveMark{Event: sl.event, Verdict: v, Offset: p.Time - sl.due}
}

// Strum marks a strum, where it is the first of its strike or says more for it
// than those before. A strum in no strike's window says nothing.
func (l *Live) Strum(s Strum) LiveMark {
	l.close(s.Time - lateOrder)
	i := l.strikes.closest(Played{Time: s.Time}, byNothing)
	if i < 0 {
		return noMark
	}
	sl := &l.strikes.slots[i]
	e := l.event(sl.event)
	v, _ := s.Hit(e.bass, e.notes)
	if e.heard && v <= e.verdict {
		return noMark
	}
	e.heard, e.verdict = true, v
	return LiveMark{Event: sl.event, Verdict: v, Offset: s.Time - sl.due}
}

// Missed returns the events whose time has passed at now without anything played
// for them, each once. Whether the input could hear is for the caller to know.
func (l *Live) Missed(now time.Duration) []int {
	l.close(now - forgetAfter)
	var missed []int
	for ; l.next < l.gone+len(l.events) && l.event(l.next).due < now; l.next++ {
		if !l.event(l.next).heard {
			missed = append(missed, l.next)
		}
	}
	return missed
}

// close passes over the slots whose windows have closed by a time.
func (l *Live) close(by time.Duration) {
	for _, w := range l.lists() {
		w.close(by)
	}
}

// waiting are slots in the order in which their windows open.
type waiting struct {
	slots []slot
	taken []bool
	// from is the first slot whose window may still be open.
	from int
}

func (w *waiting) add(slots []slot) {
	w.slots = append(w.slots, slots...)
	w.taken = append(w.taken, make([]bool, len(slots))...)
}

// close passes over the slots whose windows have closed by a time.
func (w *waiting) close(by time.Duration) {
	for w.from < len(w.slots) && w.slots[w.from].hi < by {
		w.from++
	}
}

// drop forgets the closed slots of events before one.
func (w *waiting) drop(event int) {
	k := 0
	for k < w.from && w.slots[k].event < event {
		k++
	}
	w.slots, w.taken, w.from = slices.Delete(w.slots, 0, k), slices.Delete(w.taken, 0, k), w.from-k
}

// void takes the slots of events from one on.
func (w *waiting) void(event int) {
	for i := len(w.slots) - 1; i >= 0 && w.slots[i].event >= event; i-- {
		w.taken[i] = true
	}
}

// closest finds the free slot that a note serves best; −1 where it serves none.
func (w *waiting) closest(p Played, key func(midi int) int) int {
	best := -1
	for i := w.from; i < len(w.slots) && w.slots[i].lo <= p.Time; i++ {
		sl := &w.slots[i]
		if w.taken[i] || sl.hi < p.Time || key(sl.want.MIDI) != key(p.MIDI) {
			continue
		}
		if best < 0 || apart(sl, p) < apart(&w.slots[best], p) {
			best = i
		}
	}
	return best
}
