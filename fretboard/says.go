package fretboard

import (
	"fmt"
	"slices"
	"strings"
)

// Says puts a shape of the arrangement into a line: what the shape is, what it
// does over its chord, and what each voice did since the hit before, the top one
// first. i is the index of a ShapeEvent.
func (a *Arrangement) Says(i int) string {
	e := &a.Events[i]
	walked := e.Chord
	walked.Bass = walked.Root // the line may leave the bass note that a slash names
	says := a.Neck.ReadOver(e.Frets, walked).Says
	if into, struck, ok := a.slides(i); ok {
		says = fmt.Sprintf("over %s its bass only passes, so it is the shape of %s a half step away", e.Chord.Symbol, into)
		if struck {
			says += ": every voice slides into it"
		}
	}
	for h := i - 1; h >= 0; h-- {
		if before := &a.Events[h]; before.Kind == ShapeEvent {
			return says + "; since the last hit " + a.motion(before, e)
		}
	}
	return says
}

// slides reports whether a shape over a passing bass note is one of the chord of
// the next bass note a half step away, names that chord, and tells whether that shape is
// struck with that note.
func (a *Arrangement) slides(i int) (into string, struck, ok bool) {
	e := &a.Events[i]
	f := a.plan.finder
	if e.Free || !passing(e.Chord, f.above(e.Chord, e.Place)) {
		return "", false, false
	}
	for k := i + 1; k < len(a.Events); k++ {
		next := &a.Events[k]
		if next.Kind != BassEvent || next.At == e.At {
			continue
		}
		by := next.Note.MIDI() - e.Note.MIDI()
		to := Place{String: e.Place.String, Fret: e.Place.Fret + by}
		if abs(by) != 1 || next.Chord.None {
			return "", false, false
		}
		struck = slices.ContainsFunc(a.Events[k+1:], func(x Event) bool {
			return x.Kind == ShapeEvent && x.At == next.At && slices.Equal(x.Frets, shifted(e.Frets, by))
		})
		return next.Chord.Symbol, struck, slices.ContainsFunc(f.ofSchool(next.Chord, to), func(s pricedShape) bool {
			moved, ok := f.slid(s, -by)
			return ok && slices.Equal(moved.Frets, e.Frets)
		})
	}
	return "", false, false
}

// shifted are frets moved along the neck, those that sound.
func shifted(frets []int, by int) []int {
	moved := slices.Clone(frets)
	for i := range moved {
		if moved[i] >= 0 {
			moved[i] += by
		}
	}
	return moved
}

// voice is a string of a shape above its bass.
type voice struct {
	str, midi int
	// name is the note by its chord's spelling, made plain, degree what it is to that chord.
	name, degree string
}

// voicesOf lists the voices of a shape above its bass, the top one first.
func (a *Arrangement) voicesOf(e *Event) []voice {
	var all []voice
	for s, fret := range e.Frets {
		if at := (Place{String: len(e.Frets) - s, Fret: fret}); fret >= 0 && at != e.Place {
			midi := a.Neck.MIDI(at)
			d := e.Chord.DegreeOf(midi)
			all = append(all, voice{at.String, midi, d.Of(e.Chord.Root).Plain().String(), d.String()})
		}
	}
	slices.SortFunc(all, func(a, b voice) int { return b.midi - a.midi })
	return all
}

// widestVoice is the most that a voice is said to move, in semitones: past a fourth
// one drops out and another comes in.
const widestVoice = 5

// motion says what each voice above the bass did from one hit to the next: a note that
// both have stays, then each string goes its own way, then what is nearest pairs.
func (a *Arrangement) motion(before, now *Event) string {
	from, to := a.voicesOf(before), a.voicesOf(now)
	cameFrom := make([]int, len(to))
	for k := range cameFrom {
		cameFrom[k] = -1
	}
	pair := func(alike func(was, is voice) bool) {
		for k, is := range to {
			for j, was := range from {
				if cameFrom[k] < 0 && !slices.Contains(cameFrom, j) && alike(was, is) {
					cameFrom[k] = j
				}
			}
		}
	}
	pair(func(was, is voice) bool { return was.midi == is.midi })
	pair(func(was, is voice) bool { return was.str == is.str && abs(was.midi-is.midi) <= widestVoice })
	for by := 1; by <= widestVoice; by++ {
		pair(func(was, is voice) bool { return abs(was.midi-is.midi) == by })
	}
	var said []string
	for k, is := range to {
		if cameFrom[k] < 0 {
			said = append(said, fmt.Sprintf("%s comes in (%s)", is.name, is.degree))
			continue
		}
		was := from[cameFrom[k]]
		degrees := " (" + is.degree + ")"
		if was.degree != is.degree {
			degrees = fmt.Sprintf(" (%s to %s)", was.degree, is.degree)
		}
		if was.midi == is.midi {
			said = append(said, was.name+" stays"+degrees)
		} else {
			said = append(said, fmt.Sprintf("%s %s to %s%s", was.name, step(is.midi-was.midi), is.name, degrees))
		}
	}
	for j, was := range from {
		if !slices.Contains(cameFrom, j) {
			said = append(said, was.name+" drops out")
		}
	}
	return strings.Join(said, ", ")
}

// step says a distance in semitones, up above 0: "falls a half step".
func step(by int) string {
	verb := "rises"
	if by < 0 {
		verb, by = "falls", -by
	}
	names := []string{1: "a half step", 2: "a whole step", 3: "a minor third", 4: "a major third", 5: "a fourth", 6: "a tritone", 7: "a fifth", 12: "an octave"}
	if by < len(names) && names[by] != "" {
		return verb + " " + names[by]
	}
	return fmt.Sprintf("%s %d half steps", verb, by)
}
