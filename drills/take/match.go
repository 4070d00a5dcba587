package take

import (
	"time"
)

// slot is a note that is expected, with the times at which it may come: both
// ends included. A played note in that window can serve it.
type slot struct {
	event  int
	note   int  // index into the event's Notes, or its Free
	free   bool // which of the two
	want   Want
	due    time.Duration
	lo, hi time.Duration
}

// markOf is the mark of the note that a slot asks for.
func (o *Outcome) markOf(sl *slot) *Mark {
	if sl.free {
		return &o.Free[sl.note]
	}
	return &o.Notes[sl.note]
}

// aligner pairs slots with played notes. Both are handed to it in order of
// time; it remembers what is paired already, so that it can be run again with
// looser ideas of what goes with what.
type aligner struct {
	played []Played
	// taken says of each played note whether it is paired.
	taken []bool
	steps []step
	rows  []row
}

// step is a choice of the alignment's best path.
type step uint8

const (
	leaveSlot step = iota
	leavePlayed
	pair
)

// row is a slot's stretch of the played notes: those from a up to b, not
// included, lie in its window; its choices begin at steps[first].
type row struct{ a, b, first int }

// Costs are in microseconds; one more pair outweighs any cost.
const onePair = int64(1) << 40

// align pairs free slots with free played notes of the same key, so that there
// are as many pairs as there can be and, among such, the least cost. taken says
// which slots are paired; found is told of each new pair.
//
// Each key's notes are aligned by dynamic programming over both in order of
// time. In order is no restriction: windows never lie one inside the other, and
// so any pairing can be uncrossed without losing a pair or adding to the sum of
// distances. Only the played notes inside a slot's window are looked at, which
// keeps the time linear in the length of the take.
func (al *aligner) align(slots []slot, taken []bool, key func(midi int) int, cost func(*slot, Played) int64, found func(slot, played int)) {
	var want, got [128][]int
	for i := range slots {
		if !taken[i] && inMIDI(slots[i].want.MIDI) {
			k := key(slots[i].want.MIDI)
			want[k] = append(want[k], i)
		}
	}
	for j, p := range al.played {
		if !al.taken[j] && inMIDI(p.MIDI) {
			k := key(p.MIDI)
			got[k] = append(got[k], j)
		}
	}
	for k := range want {
		if len(want[k]) > 0 && len(got[k]) > 0 {
			al.alignOne(slots, want[k], got[k], cost, func(s, p int) {
				taken[s], al.taken[p] = true, true
				found(s, p)
			})
		}
	}
}

// alignOne is align for slots and played notes that all go together.
func (al *aligner) alignOne(slots []slot, want, got []int, cost func(*slot, Played) int64, found func(slot, played int)) {
	al.steps, al.rows = al.steps[:0], al.rows[:0]
	var (
		last, now []int64 // best values of the rows before and at hand
		before    row
		a, b      int
	)
	for i, s := range want {
		lo, hi := slots[s].lo, slots[s].hi
		for a < len(got) && al.played[got[a]].Time < lo {
			a++
		}
		b = max(a, b)
		for b < len(got) && al.played[got[b]].Time <= hi {
			b++
		}
		r := row{a: a, b: b, first: len(al.steps)}
		// value gives the best of the rows before with the played notes up to p.
		value := func(p int) int64 {
			if i == 0 {
				return 0
			}
			return last[min(p, before.b)-before.a]
		}
		now = now[:0]
		for p := r.a; p <= r.b; p++ {
			best, choice := value(p), leaveSlot
			if p > r.a {
				if v := now[p-1-r.a]; v > best {
					best, choice = v, leavePlayed
				}
				n := al.played[got[p-1]]
				if n.Time >= lo && n.Time <= hi {
					if v := value(p-1) + onePair - cost(&slots[s], n); v > best {
						best, choice = v, pair
					}
				}
			}
			now = append(now, best)
			al.steps = append(al.steps, choice)
		}
		al.rows = append(al.rows, r)
		before = r
		last, now = now, last
	}
	p := len(got)
	for i := len(want) - 1; i >= 0; {
		r := al.rows[i]
		p = min(p, r.b)
		switch al.steps[r.first+p-r.a] {
		case pair:
			p--
			found(want[i], got[p])
			i--
		case leavePlayed:
			p--
		default:
			i--
		}
	}
}

func inMIDI(n int) bool { return n >= 0 && n <= 127 }

// byPitch, byPitchClass and byNothing are the three ideas of what goes
// together.
func byPitch(midi int) int      { return midi }
func byPitchClass(midi int) int { return midi % 12 }
func byNothing(int) int         { return 0 }

// apart is the cost of a pair: how far from its time it was played, and for the
// wrong note how far off in pitch, a semitone counting as 0.1 ms.
func apart(s *slot, p Played) int64 {
	us := (p.Time - s.due).Abs().Microseconds() + 100*int64(max(p.MIDI-s.want.MIDI, s.want.MIDI-p.MIDI))
	if wrongString(s.want, p) {
		us += 20_000 // rather the note that was played on the right string
	}
	return us
}

// against refines the verdict on a note that was played for another.
func (p Played) against(w Want, v Verdict) Verdict {
	switch {
	case v == Matched && wrongString(w, p):
		return WrongString
	case v.Wrong() && p.Rival == w.MIDI:
		return Unsure
	}
	return v
}

// wrongString says whether a note is known to come from another string.
func wrongString(w Want, p Played) bool {
	return p.String != 0 && w.Place.String != 0 && p.String != w.Place.String
}
