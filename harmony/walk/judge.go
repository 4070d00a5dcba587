package walk

import (
	"cmp"
	"fmt"
	"slices"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// wideLeap is the least leap, in semitones, that asks to be recovered: more than
// a fifth.
const wideLeap = 8

// heard is a line as it sounds: its notes with their places counted in half
// beats from the start of the pass.
type heard struct {
	tune   *tune.Tune
	bars   []tune.FormBar
	slots  []slot
	midi   []int
	pitch  []harmony.Pitch
	starts []int
	ends   []int
	spans  []span
	chords []int // numbers the chord of each half beat, as chordCount does
}

// span is how long one chord lasts, over bar lines too.
type span struct {
	chord      harmony.Chord
	roles      [12]role
	start, end int
}

// finding is a rule that a bar keeps or breaks, before it is worded as a remark.
type finding struct {
	rule Rule
	at   int // half beats from the start
	says string
}

func hear(t *tune.Tune, bars []tune.FormBar, notes []tune.LineNote) heard {
	h := heard{tune: t, bars: bars, chords: chordCount(t, bars)}
	roles := rolesCache{key: t.Key}
	perBar := 2 * t.Meter.Beats()
	for at, number := range h.chords {
		if at > 0 && number == h.chords[at-1] {
			if last := len(h.spans) - 1; last >= 0 && h.spans[last].end == at {
				h.spans[last].end++
			}
			continue
		}
		if c, ok := bars[at/perBar].Bar.ChordAt(t.Meter, at%perBar/2+1, at%2 == 1); ok && !c.None {
			h.spans = append(h.spans, span{c, roles.of(c), at, at + 1})
		}
	}
	h.play(notes)
	return h
}

// with returns the same bars with other notes, a few bars of them; of the chords
// it keeps those that they sound over.
func (h *heard) with(notes []tune.LineNote) heard {
	out := heard{tune: h.tune, bars: h.bars, chords: h.chords}
	if len(notes) == 0 {
		return out
	}
	first, _ := slices.BinarySearchFunc(h.spans, h.half(notes[0].At)+1, func(s span, at int) int { return cmp.Compare(s.end, at) })
	last, _ := slices.BinarySearchFunc(h.spans, h.half(notes[len(notes)-1].At)+1, func(s span, at int) int { return cmp.Compare(s.start, at) })
	out.spans = h.spans[first:max(first, last)]
	out.play(notes)
	return out
}

// play fills in the notes.
func (h *heard) play(notes []tune.LineNote) {
	roles := rolesCache{key: h.tune.Key}
	last := -1
	for _, n := range notes {
		start := h.half(n.At)
		s := slot{
			bar: n.At.Bar - 1, at: n.At, halves: n.Halves, chord: n.Chord, roles: roles.of(n.Chord),
			arrival: h.chords[start] != last, weight: weightOf(h.tune.Meter, n.At.Beat),
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

// half counts the half beats from the start of the pass.
func (h *heard) half(p tune.Position) int {
	n := 2 * ((p.Bar-1)*h.tune.Meter.Beats() + p.Beat - 1)
	if p.Off {
		n++
	}
	return n
}

// position is the inverse of half.
func (h *heard) position(half int) tune.Position {
	perBar := 2 * h.tune.Meter.Beats()
	return tune.Position{Bar: half/perBar + 1, Beat: half%perBar/2 + 1, Off: half%2 == 1}
}

// judge finds everything that the rules say of the line.
func (h *heard) judge(hand Hand) []finding {
	var found []finding
	say := func(rule Rule, at int, says string, args ...any) {
		found = append(found, finding{rule, at, fmt.Sprintf(says, args...)})
	}
	h.judgeChords(say)
	h.judgeMoves(hand, say)
	h.judgeBars(say)
	return found
}

type sayer func(rule Rule, at int, says string, args ...any)

// judgeChords asks of each chord whether the line arrives on it and makes it
// clear.
func (h *heard) judgeChords(say sayer) {
	first := 0
	for _, s := range h.spans {
		for first < len(h.ends) && h.ends[first] <= s.start {
			first++
		}
		root3, silent := false, true
		tones := map[int]bool{}
		for i := first; i < len(h.starts) && h.starts[i] < s.end; i++ {
			class := mod12(h.midi[i])
			r := s.roles[class]
			// A beat that began before a change in its middle may end as it began.
			came := h.starts[i] == s.start || h.starts[i] < s.start && s.start%2 == 0
			if silent && came && !s.has(class) {
				say(MissedRoot, s.start, "%s comes in over its %s, which is no tone of it: arrive on the %s, or on its 3 or 5",
					s.chord, s.name(h.midi[i]), s.rootName())
			}
			silent = false
			root3 = root3 || r == root || r == third
			if s.has(class) {
				tones[class] = true
			}
		}
		if silent {
			continue // a bar of rests is no bass bar
		}
		if !root3 && len(tones) < 2 {
			say(Unclear, s.start, "nothing makes %s clear: no %s, no 3, and not two of its tones", s.chord, s.rootName())
		}
	}
}

// has reports whether a pitch class is a tone of the chord, or its bass.
func (s *span) has(class int) bool {
	if s.chord.Bass.Semitone() == class {
		return true
	}
	for _, n := range s.chord.Notes() {
		if n.Semitone() == class {
			return true
		}
	}
	return false
}

func (s *span) name(midi int) string { return lineDegree(&slot{chord: s.chord}, midi).String() }

func (s *span) rootName() string {
	if s.chord.Bass != s.chord.Root {
		return "bass note " + s.chord.Bass.String()
	}
	return "root"
}

// judgeMoves asks of each two and three notes in a row how they follow.
func (h *heard) judgeMoves(hand Hand, say sayer) {
	p := paceOf(h.tune)
	for i := 1; i < len(h.midi); i++ {
		from, to, at := h.midi[i-1], h.midi[i], h.starts[i]
		by := to - from
		s := &h.slots[i]
		if hand.late(from, to, h.starts[i]-h.starts[i-1], p) {
			say(TooFar, at, "the hand has %.0f mm to go in %.2f s, and goes %.0f: it cannot be there in time at %g a minute",
				hand.ShiftMM(from, to), p.secondsPerHalf*float64(h.starts[i]-h.starts[i-1]),
				hand.SpeedMM*p.secondsPerHalf*float64(h.starts[i]-h.starts[i-1]), h.tune.Tempo)
		}
		joined := h.ends[i-1] == h.starts[i]
		switch {
		case by == 0 && s.arrival && joined:
			say(Repeat, at, "%s starts on the note that %s ended on: the change is not heard in the bass", s.chord, h.slots[i-1].chord)
		case abs(by) == 1 && s.arrival && s.roles[mod12(to)] == root && joined:
			say(LeadsIn, at, "a half step leads into the %s of %s", rootName(s), s.chord)
		}
		if i+1 == len(h.midi) || abs(by) < wideLeap {
			continue
		}
		switch then := h.midi[i+1] - to; {
		case then*by > 0:
			say(OpenLeap, at, "after a leap (%s) the line goes on the same way: turn back by step", harmony.Between(h.pitch[i-1], h.pitch[i]))
		case then*by < 0 && abs(then) <= 2:
			say(Recovered, at, "the leap (%s) turns back by step", harmony.Between(h.pitch[i-1], h.pitch[i]))
		}
	}
}

// judgeBars asks of each bar what its strong beats and its notes together tell.
func (h *heard) judgeBars(say sayer) {
	for next := 0; next < len(h.slots); {
		b := h.slots[next].bar
		tones := map[int]bool{}
		first := next
		for ; next < len(h.slots) && h.slots[next].bar == b; next++ {
			s := &h.slots[next]
			class := mod12(h.midi[next])
			r := s.roles[class]
			sp := span{chord: s.chord}
			if sp.has(class) && r <= colour && s.chord.SoundsAs(h.slots[first].chord) {
				tones[class] = true
			}
			if s.arrival || sp.has(class) {
				continue
			}
			switch {
			case s.weight == downbeat && !s.at.Off:
				say(Tension, h.starts[next], "beat 1 has the %s, which is no tone of %s: keep it for a weak beat", sp.name(h.midi[next]), s.chord)
			case s.weight == mid && r == chrome:
				say(Tension, h.starts[next], "beat %d has the %s, which is neither a tone of %s nor of its scale: keep it for a weak beat",
					s.at.Beat, sp.name(h.midi[next]), s.chord)
			}
		}
		if len(tones) >= 3 {
			say(Outlines, 2*b*h.tune.Meter.Beats(), "the bar spells out %s", h.slots[first].chord)
		}
	}
}
