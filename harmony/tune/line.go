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
	// Pitch is where the row leads; it lies outside Low to High, which are MIDI
	// note numbers.
	Pitch     harmony.Pitch
	Low, High int
	// Fits is the nearest line that stays inside: the fewest notes with another
	// direction, then the least distance from the written line. Its notes bear the
	// directions that lead to them. It is nil where the range is too small for any.
	Fits []LineNote
	// Written are the directions of the row, one for each note of Fits.
	Written []Direction
}

// Error says where the row leads, and the tokens that would keep it inside.
func (e *LineError) Error() string {
	return fmt.Sprintf("bar %d (%s bar %d) beat %s: %s leads to %s; write %s",
		e.At.Bar, e.Section, e.SectionBar, e.At.beat(), e.Token, e.Pitch, e.Want())
}

// Want says in words what would keep the line inside the range.
func (e *LineError) Want() string {
	inside := fmt.Sprintf("a line from %s to %s", harmony.FlatName(e.Low), harmony.FlatName(e.High))
	if e.Fits == nil {
		return inside
	}
	var tokens []string
	more := 0
	for i, n := range e.Fits {
		if n.Direction == e.Written[i] {
			continue
		}
		if len(tokens) == 4 {
			more++
			continue
		}
		tokens = append(tokens, fmt.Sprintf("%s in bar %d beat %s",
			BassToken{Kind: BassNote, Degree: n.Degree, Direction: n.Direction}, n.At.Bar, n.At.beat()))
	}
	if more > 0 {
		tokens = append(tokens, fmt.Sprintf("%d more", more))
	}
	return inside + "; the nearest has " + strings.Join(tokens, ", ")
}

func (p Position) beat() string {
	if p.Off {
		return fmt.Sprintf("%d, second half", p.Beat)
	}
	return fmt.Sprint(p.Beat)
}

// Line resolves the bass row into pitches over one pass of the form, within low
// to high (MIDI note numbers, both included). The first note takes the lowest
// pitch in the range; each other one its direction from the note before, rests
// or no: nearest (a tie falls), next above or next below, an octave away where
// the degree sounds the same note. A degree over N.C. and a hold that has
// nothing to hold count as rests. Tunes without a bass row give no notes. The
// error is a *LineError.
func (t *Tune) Line(low, high int) ([]LineNote, error) {
	notes, bars := t.lineNotes()
	if len(notes) == 0 {
		return nil, nil
	}
	written := make([]int, len(notes))
	for i, n := range notes {
		class := n.Pitch.Semitone()
		if i == 0 {
			written[i] = LowestFrom(low, class)
		} else {
			written[i] = Move(written[i-1], class, n.Direction)
		}
	}
	for i, midi := range written {
		if midi < low || midi > high {
			n := notes[i]
			e := &LineError{
				Section:    bars[n.At.Bar-1].Section,
				SectionBar: bars[n.At.Bar-1].SectionBar,
				At:         n.At,
				Token:      BassToken{Kind: BassNote, Degree: n.Degree, Direction: n.Direction},
				Pitch:      spell(n.Pitch.Note, midi),
				Low:        low,
				High:       high,
			}
			e.Written = make([]Direction, len(notes))
			for j, n := range notes {
				e.Written[j] = n.Direction
			}
			e.Fits = nearestFit(notes, written, low, high)
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
	beats := t.Meter.Beats()
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
			if c, ok := fb.Bar.ChordAt(t.Meter, beat, off); ok && !c.None {
				notes = append(notes, LineNote{
					At:        Position{Bar: fb.Number, Beat: beat, Off: off},
					Halves:    halves,
					Chord:     c,
					Degree:    tok.Degree,
					Direction: tok.Direction,
					Pitch:     harmony.Pitch{Note: tok.Degree.Of(c.Root)},
				})
				sounding = true
				return
			}
		}
		sounding = false
	}
	for _, fb := range bars {
		for beat := 1; beat <= beats; beat++ {
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

// nearestFit finds the line inside the range that changes the fewest directions
// and then strays least from the written one: a best path over the at most few
// pitches each note has in the range. It returns nil where there is none.
func nearestFit(notes []LineNote, written []int, low, high int) []LineNote {
	type state struct {
		midi            int
		changed, strays int
		dir             Direction
		from            int
	}
	better := func(a, b state) bool {
		return a.changed < b.changed || a.changed == b.changed && a.strays < b.strays
	}
	layers := make([][]state, len(notes))
	for i, n := range notes {
		class := n.Pitch.Semitone()
		if i == 0 {
			if first := LowestFrom(low, class); first <= high {
				layers[0] = []state{{midi: first, dir: n.Direction}}
			}
			continue
		}
		for midi := LowestFrom(low, class); midi <= high; midi += 12 {
			best, found := state{}, false
			for j, before := range layers[i-1] {
				for _, d := range []Direction{n.Direction, Nearest, Rise, Fall} {
					if Move(before.midi, class, d) != midi {
						continue
					}
					s := state{midi: midi, changed: before.changed, strays: before.strays + abs(midi-written[i]), dir: d, from: j}
					if d != n.Direction {
						s.changed++
					}
					if !found || better(s, best) {
						best, found = s, true
					}
					break
				}
			}
			if found {
				layers[i] = append(layers[i], best)
			}
		}
	}
	last := layers[len(layers)-1]
	if len(last) == 0 {
		return nil
	}
	at := 0
	for j := range last {
		if better(last[j], last[at]) {
			at = j
		}
	}
	fits := make([]LineNote, len(notes))
	copy(fits, notes)
	for i := len(notes) - 1; i >= 0; i-- {
		s := layers[i][at]
		fits[i].Pitch = spell(notes[i].Pitch.Note, s.midi)
		fits[i].Direction = s.dir
		at = s.from
	}
	return fits
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}
