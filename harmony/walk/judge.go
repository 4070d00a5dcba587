package walk

import (
	"fmt"
	"slices"

	"footfall/harmony"
)

// The bounds of the rules, in semitones where they are intervals (common
// practice, no source).
const (
	wideLeap   = 8  // the least leap that asks to be recovered: more than a fifth
	leapBack   = 5  // the least leap that throws such a leap back
	wideBar    = 14 // the most that a bar covers: a ninth
	narrowBars = 4  // so many bars
	narrowMost = 4  // that cover no more than a third
	rootsGone  = 3  // so many changes in a row without their root
	straight   = 3  // the least moves of a bar that holds its direction
)

// judge finds everything that the rules say of the line.
func (h *heard) judge() []finding {
	var found []finding
	say := func(rule Rule, at int, says string, args ...any) {
		found = append(found, finding{rule, at, fmt.Sprintf(says, args...)})
	}
	bars := h.groups()
	h.judgeChords(say)
	h.judgeMoves(say)
	h.judgeBars(bars, say)
	h.judgeMotion(bars, say)
	h.judgeStrikes(say)
	return found
}

type sayer func(rule Rule, at int, says string, args ...any)

// judgeChords asks of each chord whether the line arrives on it and makes it
// clear.
func (h *heard) judgeChords(say sayer) {
	first, without := 0, 0
	for k := range h.spans {
		s := &h.spans[k]
		for first < len(h.ends) && h.ends[first] <= s.start {
			first++
		}
		root3, silent, heldTone := false, true, false
		// A root that the line ended on just before is still in the ear.
		rooted := first > 0 && h.ends[first-1] == s.start && s.roles[mod12(h.midi[first-1])] == root
		heard := 0
		tones := 0
		var seen [12]bool
		for i := first; i < len(h.starts) && h.starts[i] < s.end; i++ {
			class := mod12(h.midi[i])
			r := s.roles[class]
			if silent {
				// A beat that began before a change in its middle may end as it began.
				came := h.starts[i] == s.start || h.starts[i] < s.start && s.start%2 == 0
				if came && !s.tones[class] {
					say(MissedRoot, s.start, "%s comes in over its %s, which is no tone of it: arrive on the %s, or on its 3 or 5",
						s.chord, s.name(h.midi[i]), s.rootName())
				}
				heldTone = h.starts[i] < s.start && s.tones[class]
				if without++; r == root {
					without = 0
				}
				if without == rootsGone {
					say(Rootless, s.start, "for the third change in a row the line comes in on another note than the root: give %s its %s", s.chord, s.rootName())
				}
			}
			silent = false
			heard++
			root3, rooted = root3 || r == root || r == third, rooted || r == root
			if s.tones[class] && !seen[class] {
				seen[class] = true
				tones++
			}
		}
		if silent {
			continue // a bar of rests is no bass bar
		}
		if before := h.chords[s.start] - 1; h.due[h.chords[s.start]] && !rooted && before > 0 {
			say(NoRoot, s.start, "the ear waits for %s, and its root %s never comes in the bass: put it on the first beat", s.chord, s.chord.Root)
		}
		// A common tone that is held over the change cannot show it; what is struck
		// above it does.
		if !root3 && tones < 2 && !(heldTone && heard == 1) {
			say(Unclear, s.start, "nothing makes %s clear: no %s, no 3, and not two of its tones", s.chord, s.rootName())
		}
	}
}

// name names a note as the chord has it, its b9, or else as a bass row does.
func (s *span) name(midi int) string {
	if d := s.chord.DegreeOf(midi); slices.Contains(s.chord.Degrees, d) {
		return d.String()
	}
	return lineDegree(&slot{chord: s.chord}, midi).String()
}

func (s *span) rootName() string {
	if s.chord.Bass != s.chord.Root {
		return "bass note " + s.chord.Bass.String()
	}
	return "root"
}

// judgeMoves asks of each two and three notes in a row how they follow.
func (h *heard) judgeMoves(say sayer) {
	for i := 1; i < len(h.midi); i++ {
		from, to, at := h.midi[i-1], h.midi[i], h.starts[i]
		by := to - from
		a, s := &h.slots[i-1], &h.slots[i]
		if seconds := h.seconds(h.starts[i-1], h.starts[i]); h.hand.late(from, to, seconds) {
			say(TooFar, at, "the hand has to shift %.0f mm in %.2f s, and shifts %.0f: it cannot be there in time at %g a minute",
				h.hand.least(from, to), seconds, h.hand.most(seconds), h.tune.Tempo)
		}
		joined := h.ends[i-1] == h.starts[i]
		switch {
		case by == 0 && s.arrival && joined && a.chord.Bass.Semitone() != s.chord.Bass.Semitone():
			say(Repeat, at, "%s starts on the note that %s ended on: the change is not heard in the bass", s.chord, a.chord)
		case abs(by) == 1 && s.arrival && s.roles[mod12(to)] == root && joined:
			say(LeadsIn, at, "a half step leads into the %s of %s", rootName(s), s.chord)
		}
		h.judgeLeaving(i-1, joined, say)
		if i+1 == len(h.midi) || abs(by) < wideLeap {
			continue
		}
		then := h.midi[i+1] - to
		leapt := harmony.Between(h.pitch[i-1], h.pitch[i])
		switch {
		case then*by > 0:
			say(OpenLeap, at, "after a leap (%s) the line goes on the same way: turn back by step", leapt)
		case then*by < 0 && abs(then) <= 2:
			say(Recovered, at, "the leap (%s) turns back by step", leapt)
		case then*by < 0 && abs(then) >= leapBack && abs(by) != 12:
			say(OpenLeap, at, "the leap (%s) is thrown back by another leap: turn back by step first", leapt)
		}
	}
}

// judgeLeaving asks of a note that is no tone of its chord whether the next one
// resolves it.
func (h *heard) judgeLeaving(i int, joined bool, say sayer) {
	s, next := &h.slots[i], &h.slots[i+1]
	class, by := mod12(h.midi[i]), h.midi[i+1]-h.midi[i]
	if s.tones[class] || abs(by) <= 2 || !joined {
		return
	}
	above := mod12(class - s.chord.Root.Semitone())
	sharp := s.roles[class] == chrome || above == 1 || above == 6
	sp := span{chord: s.chord}
	toRoot := mod12(next.chord.Bass.Semitone() - class)
	switch {
	case next.arrival && (toRoot == 1 || toRoot == 11) && next.roles[mod12(h.midi[i+1])] != root:
		say(Unresolved, h.starts[i], "the %s of %s lies a half step from the %s of %s, and the line leaps past it", sp.name(h.midi[i]), s.chord, rootName(next), next.chord)
	case next.arrival && sharp:
		say(Unresolved, h.starts[i], "the %s of %s leads nowhere: the line leaves it by a leap into %s", sp.name(h.midi[i]), s.chord, next.chord)
	case sharp:
		say(Dangling, h.starts[i], "the %s of %s is left by a leap: go on by a step", sp.name(h.midi[i]), s.chord)
	}
}

// judgeBars asks of each bar what its strong beats and its notes together tell.
func (h *heard) judgeBars(bars []group, say sayer) {
	for _, g := range bars {
		start := h.Start(g.bar + 1)
		tones := map[int]bool{}
		all := map[int]bool{}
		same := true // one chord through the bar
		rooted := false
		for i := g.first; i < g.end; i++ {
			s := &h.slots[i]
			class := mod12(h.midi[i])
			r := s.roles[class]
			all[class] = true
			alike := h.chords[h.starts[i]] == h.chords[h.starts[g.first]]
			same = same && alike
			rooted = rooted || r == root && alike
			if s.tones[class] && r <= colour && s.chord.SoundsAs(h.slots[g.first].chord) {
				tones[class] = true
			}
			if s.arrival || s.tones[class] {
				continue
			}
			name := (&span{chord: s.chord}).name(h.midi[i])
			switch {
			case s.weight == downbeat && !s.at.Off:
				say(Tension, h.starts[i], "beat 1 has the %s, which is no tone of %s: keep it for a weak beat", name, s.chord)
			case s.weight == mid && r == chrome:
				say(Tension, h.starts[i], "beat %d has the %s, which is neither a tone of %s nor of its scale: keep it for a weak beat",
					s.at.Beat, name, s.chord)
			}
		}
		low, high := h.compass(g.first, g.end)
		switch {
		case len(all) == 1 && same && g.end-g.first > 2 && low == high:
			say(Stasis, start, "the bar stays on one note: move to another tone of %s", h.slots[g.first].chord)
		case len(all) == 1 && same && g.end-g.first > 2:
			say(Stasis, start, "the bar has one note and its octave: move to another tone of %s", h.slots[g.first].chord)
		case high-low > wideBar:
			say(Wide, start, "the bar covers %s: a line stays within a ninth", distanceOf(high-low))
		}
		if len(tones) >= 3 && (rooted || !h.due[h.chords[h.starts[g.first]]]) {
			say(Outlines, start, "the bar spells out %s", h.slots[g.first].chord)
		}
	}
}

// distanceOf names a compass in octaves and half steps.
func distanceOf(semitones int) string {
	return fmt.Sprintf("an octave and %d half steps", semitones-12)
}

// judgeMotion asks where the line goes over two bars and over four.
func (h *heard) judgeMotion(bars []group, say sayer) {
	wandered, narrow := false, false
	for k := 1; k < len(bars); k++ {
		a, b := bars[k-1], bars[k]
		if b.bar != a.bar+1 {
			wandered, narrow = false, false
			continue
		}
		start := h.Start(b.bar + 1)
		moves, turns := h.turns(a.first, b.end)
		now := moves >= 6 && turns == moves-1
		if now && !wandered {
			say(Wander, start, "for two bars the line turns at every note: hold one direction for a bar, then turn")
		}
		wandered = now
		if own, in := h.turns(a.first, a.end); own >= straight && in == 0 && moves >= 2*straight && turns == 1 {
			say(Directed, h.Start(a.bar+1), "the line holds its direction, then turns once")
		}
		now = false
		if from := k - narrowBars + 1; from >= 0 && bars[from].bar == b.bar-narrowBars+1 && b.end-bars[from].first >= 3*narrowBars {
			low, high := h.compass(bars[from].first, b.end)
			now = high-low <= narrowMost
			if now && !narrow {
				say(Narrow, start, "for four bars the line stays within a third: lead it somewhere")
			}
		}
		narrow = now
	}
}

// judgeStrikes asks what the written hits make of the note below them.
func (h *heard) judgeStrikes(say sayer) {
	for i := range h.slots {
		s, class := &h.slots[i], mod12(h.midi[i])
		for at := h.starts[i]; at < min(h.ends[i], len(h.struck)); at++ {
			if !h.struck[at] || h.chords[at] != h.chords[h.starts[i]] {
				continue
			}
			if against, ok := rubs(s, class); ok && !h.slides(i) {
				say(Clash, at, "the hit strikes %s over its %s, a half step from the %s: put a tone of the chord under it, or move the hit",
					s.chord, (&span{chord: s.chord}).name(h.midi[i]), against)
				break
			}
		}
	}
}

// slides reports whether a note leads by a half step into a bar or a chord that begins with
// the next one, which is at home there: what is struck above it slides along, and is heard
// as an approach. So it is arranged too (common practice, no source).
func (h *heard) slides(i int) bool {
	next := (i + 1) % len(h.slots)
	to := &h.slots[next]
	if next > 0 && to.bar == h.slots[i].bar && !to.arrival {
		return false
	}
	_, rubbing := rubs(to, mod12(h.midi[next]))
	return abs(h.midi[next]-h.midi[i]) == 1 && !rubbing
}

// rubs reports whether a bass note spoils a chord that is struck above it: it is
// no tone of the chord, no 9 or 13, no 11 of a minor chord, and a half step from
// its 1, 3, 5 or 7, which it names.
func rubs(s *slot, class int) (harmony.Degree, bool) {
	above := mod12(class - s.chord.Root.Semitone())
	minor := s.tones[mod12(s.chord.Root.Semitone()+3)] && !s.tones[mod12(s.chord.Root.Semitone()+4)]
	if s.tones[class] || above == 2 || above == 9 || above == 5 && minor {
		return harmony.Degree{}, false
	}
	for _, d := range s.chord.Degrees {
		away := mod12(d.Semitones() - above)
		if d.Number <= 7 && d.Number%2 == 1 && (away == 1 || away == 11) {
			return d, true
		}
	}
	return harmony.Degree{}, false
}
