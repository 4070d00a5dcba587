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
	says := a.Neck.ReadOver(e.Frets, e.Chord).Says
	if into, ok := a.slides(i); ok {
		says = fmt.Sprintf("over %s its bass only passes, so it is the next shape a half step away: every voice slides into %s", e.Chord.Symbol, into)
	}
	for h := i - 1; h >= 0; h-- {
		if before := &a.Events[h]; before.Kind == ShapeEvent {
			return says + "; since the last hit " + a.motion(before, e)
		}
	}
	return says
}

// slides reports whether a shape over a passing bass note is one of the chord of
// the next bass note a half step away, and names that chord.
func (a *Arrangement) slides(i int) (into string, ok bool) {
	e := &a.Events[i]
	f := a.plan.finder
	if e.Free || !passing(e.Chord, f.above(e.Chord, e.Place)) {
		return "", false
	}
	for k := i + 1; k < len(a.Events); k++ {
		next := &a.Events[k]
		if next.Kind != BassEvent || next.At == e.At {
			continue
		}
		by := next.Note.MIDI() - e.Note.MIDI()
		to := Place{String: e.Place.String, Fret: e.Place.Fret + by}
		if abs(by) != 1 || next.Chord.None {
			return "", false
		}
		return next.Chord.Symbol, slices.ContainsFunc(f.ofSchool(next.Chord, to), func(s pricedShape) bool {
			moved, ok := f.slid(s, -by)
			return ok && slices.Equal(moved.Frets, e.Frets)
		})
	}
	return "", false
}

// voicesOf lists the voices of a shape above its bass, the top one first.
func (a *Arrangement) voicesOf(e *Event) []int {
	var midi []int
	for s, fret := range e.Frets {
		if at := (Place{String: len(e.Frets) - s, Fret: fret}); fret >= 0 && at != e.Place {
			midi = append(midi, a.Neck.MIDI(at))
		}
	}
	slices.SortFunc(midi, func(a, b int) int { return b - a })
	return midi
}

// motion says what each voice above the bass did from one hit to the next.
func (a *Arrangement) motion(before, now *Event) string {
	from, to := a.voicesOf(before), a.voicesOf(now)
	var said []string
	for k := range min(len(from), len(to)) {
		was, is := before.Chord.DegreeOf(from[k]).String(), now.Chord.DegreeOf(to[k]).String()
		switch by := to[k] - from[k]; {
		case by == 0 && was == is:
			said = append(said, "the "+was+" stays")
		case by == 0:
			said = append(said, fmt.Sprintf("the %s stays as the %s", was, is))
		default:
			said = append(said, fmt.Sprintf("the %s %s to the %s", was, step(by), is))
		}
	}
	switch more := len(to) - len(from); {
	case more > 0:
		said = append(said, added(more, "comes", "come")+" in below")
	case more < 0:
		said = append(said, added(-more, "drops", "drop")+" out below")
	}
	return strings.Join(said, ", ")
}

func added(n int, one, more string) string {
	if n == 1 {
		return "a voice " + one
	}
	return fmt.Sprintf("%d voices %s", n, more)
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
