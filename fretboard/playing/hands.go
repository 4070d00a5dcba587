package playing

import (
	"cmp"
	"slices"
	"time"

	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// How loud the hands play, as MIDI velocities. Common practice, no source: in a
// walking line 1 and 3 are light and 2 and 4 firmer, what lies between the beats is
// a little stronger than what lies on them, a push the strongest, and the top voice
// of a shape is the one that is heard.
const (
	bassLight = 88
	bassFirm  = 100
	bassOff   = 103
	hitLight  = 70
	hitFirm   = 74
	hitOff    = 88
	hitPush   = 92
	topVoice  = 4 // more than the other strings of a shape
	deadNote  = 40
)

// phrase lets four bars lead into the next four. Common practice, no source.
var phrase = [4]int{0, -2, 0, 3}

// How long the hands hold what they play, as parts of a beat taken off its end, and
// how long a strum takes from its first string to its last. Common practice, no
// source.
const (
	clipBeat  = 3.0 / 8 // a short hit on the beat is over well before the next
	clipHalf  = 1.0 / 8 // one on the offbeat just before it
	clipLeave = 1.0 / 16
	strum     = 11 * time.Millisecond // of a short hit
	longStrum = 14 * time.Millisecond // of one that is held
)

// struck is a note with what the left hand does for it. Its times are half beats
// from the beginning of the pass.
type struck struct {
	Note
	at, end      int
	fret, finger int
}

// touch is where a finger is put at a half beat, or 0 for an open string. It is
// silent where its string is not struck.
type touch struct {
	at                   int
	string, fret, finger int
	silent               bool
}

// hands plays an arrangement.
type hands struct {
	*fretboard.Arrangement
	harmony.Grid
	bars    []tune.FormBar
	notes   []struck
	touches []touch
	// bassAt is set at the half beats on which the line strikes, shapesAt where shapes
	// are struck.
	bassAt, shapesAt []bool
}

// Of plays an arrangement. A shape is struck on the strings above its bass note,
// which the line sounds; only a shape over a rest of the line strikes all of its
// strings. Short hits are damped, others ring as long as their finger can stay. With
// ghosts, dead notes are struck on the offbeats of 2 and 4 that are free.
func Of(a *fretboard.Arrangement, ghosts bool) (*Score, error) {
	t := a.Tune
	h := hands{Arrangement: a, Grid: t.Grid(), bars: t.Unroll()}
	h.bassAt, h.shapesAt = make([]bool, h.Total()), make([]bool, h.Total())
	for i := range a.Events {
		e := &a.Events[i]
		for _, at := range e.Strikes() {
			on := h.shapesAt
			if e.Kind == fretboard.BassEvent {
				on = h.bassAt
			}
			on[h.Half(at)] = true
		}
	}
	for i := range a.Events {
		if e := &a.Events[i]; e.Kind == fretboard.BassEvent {
			h.bass(e)
		} else {
			h.shape(e)
		}
	}
	slices.SortStableFunc(h.touches, func(a, b touch) int { return a.at - b.at })
	for i := range h.notes {
		h.lift(&h.notes[i])
	}
	if ghosts {
		h.ghosts()
	}
	return h.score()
}

func (h *hands) bass(e *fretboard.Event) {
	n := struck{at: h.Half(e.At), fret: e.Place.Fret, finger: e.Finger}
	n.end = n.at + e.Halves
	n.Note = Note{Part: PartBass, String: e.Place.String, MIDI: h.Neck.MIDI(e.Place), Velocity: h.bassVelocity(e.At)}
	h.notes = append(h.notes, n)
	h.touches = append(h.touches, touch{n.at, n.String, n.fret, n.finger, false})
}

func (h *hands) shape(e *fretboard.Event) {
	for i, at := range e.Times {
		long := e.Held && i+1 == len(e.Times)
		halves, clip := e.Halves, 0.0
		if i+1 < len(e.Times) {
			halves = 1
		}
		switch {
		case long:
		case halves > 1:
			clip = clipBeat
		default:
			clip = clipHalf
		}
		start := h.Half(at)
		first := len(h.notes)
		for j, fret := range e.Frets {
			if fret < 0 {
				continue
			}
			place := fretboard.Place{String: len(e.Frets) - j, Fret: fret}
			under := place == e.Place && !e.Free
			if !under || e.Hit != tune.HitPush { // the bass note of a push is put down on its own beat
				h.touches = append(h.touches, touch{start, place.String, fret, e.Fingers[j], under})
			}
			if under {
				continue
			}
			h.notes = append(h.notes, struck{
				Note: Note{Clip: clip, Part: PartShapes, String: place.String, MIDI: h.Neck.MIDI(place), Velocity: h.hitVelocity(at, e.Hit)},
				at:   start, end: start + halves, fret: fret, finger: e.Fingers[j],
			})
		}
		h.strum(h.notes[first:], h.bassAt[start] && !e.Free, long)
	}
}

// strum spreads the strings of a strike, low to high, behind the bass note that is
// struck with them, and brings out the highest.
func (h *hands) strum(strings []struck, withBass, long bool) {
	last := len(strings) - 1
	if last < 0 {
		return
	}
	strings[last].Velocity += topVoice
	length := strum
	if long {
		length = longStrum
	}
	for i := range strings {
		switch {
		case withBass:
			strings[i].Late = length * time.Duration(i+1) / time.Duration(last+1)
		case last > 0:
			strings[i].Late = length * time.Duration(i) / time.Duration(last)
		}
	}
}

// firm reports whether the line is firm on a beat: on 2 and 4, in bars of three on
// the first. Common practice, no source.
func firm(beat int, m tune.Meter) bool {
	if m.Beats() == 3 {
		return beat == 1
	}
	return beat%2 == 0
}

func (h *hands) bassVelocity(at tune.Position) uint8 {
	v := bassLight
	switch {
	case at.Off:
		v = bassOff
	case firm(at.Beat, h.bars[at.Bar-1].Meter):
		v = bassFirm
	}
	return h.inPhrase(v, at)
}

func (h *hands) hitVelocity(at tune.Position, hit tune.Hit) uint8 {
	v := hitLight
	switch {
	case hit == tune.HitPush:
		v = hitPush
	case at.Off:
		v = hitOff
	case BackBeat(at.Beat, h.bars[at.Bar-1].Meter):
		v = hitFirm
	}
	return h.inPhrase(v, at)
}

func (h *hands) inPhrase(v int, at tune.Position) uint8 {
	return uint8(v + phrase[(h.bars[at.Bar-1].SectionBar-1)%len(phrase)])
}

// lift ends a note where its string is struck again or its finger leaves: for another
// fret, or because the hand cannot reach from there to what comes. A finger that
// leaves for another place does so a little early.
func (h *hands) lift(n *struck) {
	from, _ := slices.BinarySearchFunc(h.touches, n.at+1, func(t touch, at int) int { return t.at - at })
	for rest := h.touches[from:]; len(rest) > 0 && rest[0].at < n.end; {
		next := slices.IndexFunc(rest, func(t touch) bool { return t.at > rest[0].at })
		if next < 0 {
			next = len(rest)
		}
		if at := rest[0].at; slices.ContainsFunc(rest[:next], func(t touch) bool { return t.string == n.String && !t.silent }) {
			n.end, n.Clip = at, 0
			return
		} else if h.leaves(n, rest[:next]) {
			n.end, n.Clip = at, max(n.Clip, clipLeave)
			return
		}
		rest = rest[next:]
	}
}

// leaves reports whether the finger that holds a note goes elsewhere where others are
// put down.
func (h *hands) leaves(n *struck, now []touch) bool {
	needed, low, high := false, n.fret, n.fret
	for _, t := range now {
		switch {
		case t.string == n.String:
			return t.fret != n.fret
		case t.fret == 0 || n.fret == 0:
			continue
		}
		needed = needed || t.finger == n.finger && t.fret != n.fret
		low, high = min(low, t.fret), max(high, t.fret)
	}
	return needed || h.Neck.FretMM(high)-h.Neck.FretMM(low) > h.Hand.ReachMM
}

// ghosts adds dead notes on the offbeats of 2 and 4, where the ride cymbal has its
// skip, on the string of the line's note that is about to end. Common practice, no
// source.
func (h *hands) ghosts() {
	line := h.notes[:len(h.notes):len(h.notes)]
	for i := range line {
		n := &line[i]
		if n.Part != PartBass || n.end != n.at+2 || n.at%2 != 0 {
			continue
		}
		at := h.At(n.at)
		free := !h.bassAt[n.at+1] && !h.shapesAt[n.at+1]
		if !free || !BackBeat(at.Beat, h.bars[at.Bar-1].Meter) {
			continue
		}
		n.end, n.Clip = n.at+1, clipLeave
		dead := *n
		dead.at, dead.end = n.at+1, n.at+2
		dead.Dead, dead.Clip, dead.Velocity = true, clipBeat, deadNote
		h.notes = append(h.notes, dead)
	}
}

// score writes the notes down by their bars.
func (h *hands) score() (*Score, error) {
	t := h.Tune
	s := &Score{
		Title: t.Title, Key: t.Key, Tempo: t.Tempo, Swing: t.Swing,
		Bars: make([]Bar, len(h.bars)), Strings: len(h.Neck.Tuning),
	}
	for i, b := range h.bars {
		s.Bars[i].Meter = b.Meter
		if b.SectionBar == 1 {
			s.Bars[i].Section = b.Section
		}
	}
	for _, n := range h.notes {
		at := h.At(n.at)
		n.Beat, n.Off, n.Halves = at.Beat, at.Off, n.end-n.at
		b := &s.Bars[at.Bar-1]
		b.Notes = append(b.Notes, n.Note)
	}
	for i := range s.Bars {
		slices.SortStableFunc(s.Bars[i].Notes, order)
	}
	return s, s.Check()
}

// order compares two notes of a bar by when they are struck.
func order(a, b Note) int {
	return cmp.Or(cmp.Compare(harmony.HalfOf(a.Beat, a.Off), harmony.HalfOf(b.Beat, b.Off)), cmp.Compare(a.Late, b.Late))
}
