package sound

// State is what the transport does.
type State uint8

// The states.
const (
	Stopped  State = iota // at rest; Play begins with pass 1
	Paused                // at rest in the middle; Play goes on
	Finished              // at rest after the last pass
	starting              // the silence before the first bar
	Counting              // in a count-in
	Playing
)

// transport decides which bar comes next.
type transport struct {
	state  State
	pass   int // from 1
	number int // the bar, from 1; to 0 in the count-in
	target int // the bar after the count-in
	counts int // bars of count-in to come
	played int // bars of music since the last start, less one
	skip   bool
}

func (t *transport) running() bool  { return t.state >= starting }
func (t *transport) counting() bool { return t.state == Counting }

// start gets ready for the first bar: that of the pause, or the first of pass 1,
// which it reports.
func (t *transport) start(c Course, first int) (newPass bool) {
	if newPass = t.state != Paused; newPass {
		t.pass, t.target = 1, first
	}
	t.state, t.counts, t.number, t.played, t.skip = starting, c.CountIn, 0, -1, false
	return newPass
}

// step goes on to the next bar. It reports whether a new pass (or its count-in)
// begins there; the first pass has begun with start.
func (t *transport) step(c Course, first, last int) (newPass bool) {
	if t.counts == 0 && t.state == Playing {
		next := t.number + 1
		if t.skip || next < first || next > last {
			t.skip = false
			if c.Passes > 0 && t.pass >= c.Passes {
				t.state = Finished
				return false
			}
			t.pass++
			newPass, next = true, first
			if c.CountEach {
				t.counts = c.CountIn
			}
		}
		t.target = next
	}
	t.target = min(max(t.target, first), last) // the score or the loop may have changed
	if t.counts > 0 {
		t.counts--
		t.state, t.number = Counting, -t.counts
		return newPass
	}
	t.state, t.number = Playing, t.target
	t.played++
	return newPass
}

// halt stops at once, keeping the bar if it is a pause.
func (t *transport) halt(pause bool) {
	switch {
	case !pause:
		t.state, t.pass, t.number = Stopped, 0, 0
	case t.running():
		t.state = Paused
	}
}
