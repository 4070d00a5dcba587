package tune

import (
	"fmt"
	"strings"

	"footfall/harmony"
)

// LineError says that the bass row leaves the range it was given, and where.
type LineError struct {
	// Section and SectionBar name the bar as written; At counts through the form.
	Section    string
	SectionBar int
	At         Position
	Token      BassToken
	// Pitch is where the row leads, and Range what it lies outside of; where the
	// token is pinned that may be its string's part.
	Pitch harmony.Pitch
	Range Range
	// Fits is the nearest line that stays inside, folded by phrase: no new leap of a
	// seventh or more where that can be, then the fewest notes with another
	// direction, rather where a bar begins, then the least distance from the written
	// line. Its notes bear the directions that lead to them; where the first lies an
	// octave up it is pinned to a string that has it lowest. It is nil where the range
	// is too small for any.
	Fits []LineNote
	// Written are the directions of the row, one for each note of Fits.
	Written []Direction
	// WrittenPin is the pin of the first note as written, 0 for none.
	WrittenPin int
}

// Error says where the row leads, and the tokens that would keep it inside.
func (e *LineError) Error() string {
	return fmt.Sprintf("bar %d (%s bar %d) beat %s: %s leads to %s; write %s",
		e.At.Bar, e.Section, e.SectionBar, beatWords(e.At), e.Token, e.Pitch, e.Want())
}

// Want says in words what would keep the line inside the range.
func (e *LineError) Want() string {
	inside := fmt.Sprintf("a line from %s to %s", harmony.FlatName(e.Range.Low), harmony.FlatName(e.Range.High))
	if s, ok := e.Range.Strings[e.Token.Pin]; ok {
		inside = fmt.Sprintf("a note of string %d, %s to %s", e.Token.Pin, harmony.FlatName(s.Low), harmony.FlatName(s.High))
	} else if e.Token.Pin != 0 && e.Range.Strings != nil {
		return "a string that the bass line may take, or none"
	}
	if e.Fits == nil {
		return inside
	}
	var tokens []string
	more := 0
	for i, n := range e.Fits {
		if n.Direction == e.Written[i] && (i > 0 || n.Pin == e.WrittenPin) {
			continue
		}
		if len(tokens) == 4 {
			more++
			continue
		}
		tokens = append(tokens, fmt.Sprintf("%s in bar %d beat %s",
			n.token(), n.At.Bar, beatWords(n.At)))
	}
	if more > 0 {
		tokens = append(tokens, fmt.Sprintf("%d more", more))
	}
	return inside + "; the nearest has " + strings.Join(tokens, ", ")
}

func beatWords(p Position) string {
	if p.Off {
		return fmt.Sprintf("%d, second half", p.Beat)
	}
	return fmt.Sprint(p.Beat)
}

// Span is a run of MIDI note numbers, both ends included.
type Span struct{ Low, High int }

func (s Span) has(midi int) bool { return s.Low <= midi && midi <= s.High }

// Range is what a bass line may take: its span, and where it is played on strings
// theirs, by their numbers. Without strings a pin says nothing of pitch.
type Range struct {
	Span
	Strings map[int]Span
}

// Within returns the range from low to high, MIDI note numbers, without strings.
func Within(low, high int) Range { return Range{Span: Span{low, high}} }

// of returns what a note may take: its string's span where it is pinned. A string
// that is none of the range's has nothing.
func (r Range) of(n *LineNote) Span {
	if n.Pin == 0 || r.Strings == nil {
		return r.Span
	}
	s, ok := r.Strings[n.Pin]
	if !ok {
		return Span{1, 0}
	}
	return s
}

// from returns where a note leads to from the one before.
func (r Range) from(before int, n *LineNote, d Direction) int {
	class := n.Pitch.Semitone()
	to := Move(before, class, d)
	if s := r.of(n); d == Nearest && n.Pin != 0 && !s.has(to) && LowestFrom(s.Low, class) <= s.High {
		for to < s.Low {
			to += 12
		}
		for to > s.High {
			to -= 12
		}
	}
	return to
}

// first returns where the first note lies: the lowest place in the range, or of
// its string, there with / the highest.
func (r Range) first(n *LineNote) int {
	s, class := r.of(n), n.Pitch.Semitone()
	if n.Pin != 0 && r.Strings != nil && n.Direction == Rise && s.Low <= s.High {
		return s.High - mod12(s.High-class)
	}
	return LowestFrom(s.Low, class)
}

func (n *LineNote) token() BassToken {
	return BassToken{Kind: BassNote, Degree: n.Degree, Direction: n.Direction, Pin: n.Pin}
}

// Line resolves the bass row into pitches over one pass of the form, within a
// range. The first note takes the lowest pitch in the range; each other one its
// direction from the note before, rests or no: nearest (a tie falls), next above
// or next below, an octave away where the degree sounds the same note. A note that
// is pinned to a string must lie there: without a direction it takes the nearest
// place on the string, and as the first note the lowest, with / the highest. A
// degree over N.C. and a hold that has nothing to hold count as rests. Tunes
// without a bass row give no notes. The error is a *LineError.
func (t *Tune) Line(r Range) ([]LineNote, error) {
	notes, written, bars := t.spread(r)
	if len(notes) == 0 {
		return nil, nil
	}
	for i, midi := range written {
		if n := &notes[i]; !r.of(n).has(midi) || !r.has(midi) {
			e := &LineError{
				Section:    bars[n.At.Bar-1].Section,
				SectionBar: bars[n.At.Bar-1].SectionBar,
				At:         n.At,
				Token:      n.token(),
				Pitch:      spell(n.Pitch.Note, midi),
				Range:      r,
			}
			e.Written = make([]Direction, len(notes))
			for j, n := range notes {
				e.Written[j] = n.Direction
			}
			e.WrittenPin = notes[0].Pin
			e.Fits = nearestFit(notes, written, nil, r)
			return nil, e
		}
		notes[i].Pitch = spell(notes[i].Pitch.Note, midi)
	}
	return notes, nil
}

// lineNotes gathers the notes of the pass with their spelling, as yet without a
// register.
func (t *Tune) lineNotes() ([]LineNote, []FormBar) {
	bars := t.Unroll()
	var notes []LineNote
	sounding := false
	take := func(tok BassToken, halves int, fb FormBar, beat int, off bool) {
		switch tok.Kind {
		case BassHold:
			if sounding {
				notes[len(notes)-1].Halves += halves
			}
			return
		case BassNote:
			if c, ok := fb.Bar.ChordAt(fb.Meter, beat, off); ok && !c.None {
				notes = append(notes, LineNote{
					At:        Position{Bar: fb.Number, Beat: beat, Off: off},
					Halves:    halves,
					Chord:     c,
					Degree:    tok.Degree,
					Direction: tok.Direction,
					Pitch:     harmony.Pitch{Note: tok.Degree.Of(c.Root)},
					Pin:       tok.Pin,
				})
				sounding = true
				return
			}
		}
		sounding = false
	}
	for _, fb := range bars {
		for beat := 1; beat <= fb.Meter.Beats(); beat++ {
			b := BassBeat{}
			if beat <= len(fb.Bar.Bass) {
				b = fb.Bar.Bass[beat-1]
			}
			if b.Split {
				take(b.First, 1, fb, beat, false)
				take(b.Second, 1, fb, beat, true)
			} else {
				take(b.First, 2, fb, beat, false)
			}
		}
	}
	return notes, bars
}

// LowestFrom returns the lowest note number of a pitch class from low up.
func LowestFrom(low, class int) int { return low + mod12(class-low) }

// Move returns the note number that a direction leads to from another one, to
// the next note of a pitch class, 0 (C) to 11 (B).
func Move(from, class int, d Direction) int {
	up := mod12(class - from)
	switch {
	case d == Rise && up == 0:
		return from + 12
	case d == Rise:
		return from + up
	case d == Fall, up >= 6:
		return from + up - 12
	}
	return from + up
}

// DirectionTo returns the direction that leads from one note number to another,
// at most an octave away: bare where that does, else / or \.
func DirectionTo(from, to int) Direction {
	switch {
	case Move(from, mod12(to), Nearest) == to:
		return Nearest
	case to > from:
		return Rise
	}
	return Fall
}

func mod12(n int) int { return ((n % 12) + 12) % 12 }

func spell(n harmony.Note, midi int) harmony.Pitch {
	p, _ := harmony.PitchOf(n, midi)
	return p
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}
