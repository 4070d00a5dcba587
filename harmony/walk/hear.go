package walk

import (
	"cmp"
	"slices"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// heard is a line as it sounds: its notes with their places counted in half
// beats from the start of the pass.
type heard struct {
	layout
	slots  []slot
	midi   []int
	pitch  []harmony.Pitch
	starts []int
	ends   []int
	spans  []span
	// struck are the half beats at which the hits row strikes the chord.
	struck []bool
	hand   *reach
}

// span is how long one chord lasts, over bar lines too.
type span struct {
	chord      harmony.Chord
	roles      [12]role
	tones      [12]bool
	start, end int
}

// finding is a rule that a bar keeps or breaks, before it is worded as a remark.
type finding struct {
	rule Rule
	at   int // half beats from the start
	says string
}

func hear(t *tune.Tune, bars []tune.FormBar, notes []tune.LineNote, hand *reach) heard {
	h := heard{layout: layOut(t, bars), hand: hand}
	h.struck = strikes(&h.layout, false)
	roles := rolesCache{key: t.Key}
	for at, number := range h.chords {
		if at > 0 && number == h.chords[at-1] {
			if last := len(h.spans) - 1; last >= 0 && h.spans[last].end == at {
				h.spans[last].end++
			}
			continue
		}
		if c, ok := h.chordAt(at); ok {
			h.spans = append(h.spans, span{c, roles.of(c), tonesOf(c), at, at + 1})
		}
	}
	h.play(notes)
	return h
}

// tonesOf says of the twelve pitch classes which are tones of a chord, or its
// bass.
func tonesOf(c harmony.Chord) (tones [12]bool) {
	for _, n := range c.Notes() {
		tones[n.Semitone()] = true
	}
	tones[c.Bass.Semitone()] = true
	return tones
}

// with returns the same bars with other notes.
func (h *heard) with(notes []tune.LineNote) heard {
	out := heard{layout: h.layout, spans: h.spans, struck: h.struck, hand: h.hand}
	out.play(notes)
	return out
}

// play fills in the notes.
func (h *heard) play(notes []tune.LineNote) {
	last := -1
	for _, n := range notes {
		start := h.Half(n.At)
		at, _ := slices.BinarySearchFunc(h.spans, start+1, func(s span, end int) int { return cmp.Compare(s.end, end) })
		s := slot{
			bar: n.At.Bar - 1, at: n.At, start: start, halves: n.Halves, pedal: -1, chord: n.Chord, roles: h.spans[at].roles, tones: h.spans[at].tones,
			arrival: h.chords[start] != last, weight: weightOf(h.meter(n.At.Bar-1), n.At.Beat),
			kept: &tune.BassToken{Kind: tune.BassNote, Degree: n.Degree, Direction: n.Direction},
		}
		if n.At.Off {
			s.weight = inner
		}
		last = h.chords[start]
		h.slots = append(h.slots, s)
		h.midi = append(h.midi, n.Pitch.MIDI())
		h.pitch = append(h.pitch, n.Pitch)
		h.starts = append(h.starts, start)
		h.ends = append(h.ends, start+n.Halves)
	}
}

// group is the notes of a bar: first to end, the end not included.
type group struct{ bar, first, end int }

// groups are the bars that have notes, with their notes.
func (h *heard) groups() []group {
	var all []group
	for i := range h.slots {
		if n := len(all); n > 0 && all[n-1].bar == h.slots[i].bar {
			all[n-1].end++
		} else {
			all = append(all, group{h.slots[i].bar, i, i + 1})
		}
	}
	return all
}

// compass returns the lowest and the highest note of some.
func (h *heard) compass(first, end int) (low, high int) {
	return slices.Min(h.midi[first:end]), slices.Max(h.midi[first:end])
}

// turns counts the moves between the notes first to end, repeats left out, and
// how many of them go another way than the one before.
func (h *heard) turns(first, end int) (moves, turns int) {
	before := 0
	for i := first + 1; i < end; i++ {
		by := h.midi[i] - h.midi[i-1]
		if by == 0 {
			continue
		}
		if moves++; before*by < 0 {
			turns++
		}
		before = by
	}
	return moves, turns
}
