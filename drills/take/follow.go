package take

import (
	"slices"
	"time"
)

const (
	// followBeats is how far back, in beats, it is looked for where a player is.
	followBeats = 32
	// fewestToFollow are the notes heard since the player was last looked for, and
	// followGain how many more of those within followBeats must be right elsewhere.
	fewestToFollow = 6
	followGain     = 4
)

// recent is what was asked for and heard of late.
type recent struct {
	asked []Expected
	heard []Played
	fresh int // heard since Follow
}

func (r *recent) hear(p Played) {
	if p.Unsure() {
		return
	}
	r.heard = append(r.heard, p)
	r.fresh++
}

// cut lets go of what is longer ago than followBeats.
func (r *recent) cut(now time.Duration) {
	if len(r.asked) == 0 {
		return
	}
	from := now - followBeats*r.asked[0].Beat
	asked := slices.IndexFunc(r.asked, func(e Expected) bool { return e.Time >= from })
	if asked > 0 {
		r.asked = slices.Delete(r.asked, 0, asked)
	}
	if heard := slices.IndexFunc(r.heard, func(p Played) bool { return p.Time >= from }); heard > 0 {
		r.heard = slices.Delete(r.heard, 0, heard)
	}
}

// Shift is how much later than asked the player is taken to be, early below 0.
func (l *Live) Shift() time.Duration { return l.shift }

// Follow looks for where the player is, by what was heard in the last bars, and moves
// what is still to come there: moved says that it did. What was marked stays. It
// takes longer than a mark, up to a millisecond: it is meant for once a bar.
func (l *Live) Follow() (shift time.Duration, moved bool) {
	r := &l.recent
	if r.fresh < fewestToFollow {
		return l.shift, false
	}
	r.fresh = 0
	heard := inTime(r.heard)
	last := heard[len(heard)-1].Time
	r.cut(last)
	n, _ := slices.BinarySearchFunc(r.asked, last-l.shift+l.settings.Window, func(e Expected, t time.Duration) int { return int(min(1, max(-1, e.Time-t))) })
	asked := r.asked[:n]
	if len(asked) < fewestAnchors || 2*len(asked) < len(heard) { // most of what was heard cannot be right
		return l.shift, false
	}
	now := asAsked(asked)
	for i := range now.due {
		now.due[i] += l.shift
	}
	was := grade(asked, Heard{Notes: heard}, l.settings, now)
	al := fitted(asked, heard, nil)
	sc := grade(asked, Heard{Notes: heard}, l.settings, al)
	to := al.due[n-1] - asked[n-1].Time
	if sc.Matched < was.Matched+followGain || 2*sc.Matched < len(heard) || (to-l.shift).Abs() < l.settings.Window/2 {
		return l.shift, false
	}
	l.move(to, last)
	return to, true
}

// move shifts what is not due yet at a time.
func (l *Live) move(to, now time.Duration) {
	by := to - l.shift
	l.shift = to
	for _, w := range l.lists() {
		for i := w.from; i < len(w.slots); i++ {
			if sl := &w.slots[i]; sl.lo > now {
				sl.due, sl.lo, sl.hi = sl.due+by, sl.lo+by, sl.hi+by
			}
		}
	}
	for i := max(l.next-l.gone, 0); i < len(l.events); i++ {
		if l.events[i].due > now {
			l.events[i].due += by
		}
		if i > 0 {
			l.events[i].due = max(l.events[i].due, l.events[i-1].due)
		}
	}
}

// Earlier takes what was heard to be so much earlier, and so the player.
func (l *Live) Earlier(by time.Duration) {
	for i := range l.recent.heard {
		l.recent.heard[i].Time -= by
	}
	if len(l.recent.asked) > 0 && l.shift != 0 {
		l.move(l.shift-by, l.recent.asked[0].Time)
	} else if l.shift != 0 {
		l.shift -= by
	}
}

// Start takes a player to be shift later than asked, early below 0, before anything is
// added: what Follow found in the passes before.
func (l *Live) Start(shift time.Duration) { l.shift = shift }
