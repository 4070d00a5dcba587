package drills

import (
	"fmt"
	"strings"

	"footfall/drills/memory"
	"footfall/harmony"
)

var spellKind = Kind{
	Name:  memory.Spell,
	Title: "spell it",
	Says:  "name the note that a degree of a chord is",
	Draw: func(m Material) ([]Question, error) {
		var qs []Question
		for _, c := range m.Chords {
			for _, d := range c.Degrees {
				if d.Number != 1 {
					qs = append(qs, Spell{Chord: c, Degree: d})
				}
			}
		}
		return qs, nil
	},
}

// Spell asks for the note name of a degree. The letter counts: the b7 of D is C,
// and B# is wrong.
type Spell struct {
	Chord  harmony.Chord
	Degree harmony.Degree
}

// Item is the degree over that root.
func (q Spell) Item() memory.Item {
	return memory.Item{Kind: memory.Spell, Degree: q.Degree.String(), Root: q.Chord.Root.String()}
}

// Ask asks for the note.
func (q Spell) Ask() Ask {
	return Ask{
		Prompt: fmt.Sprintf("Which note is the %s of %s?", q.Degree, q.Chord.Symbol),
		Chord:  q.Chord.Symbol, Degree: q.Degree.String(),
		Hint:  "a note, such as Eb or F#",
		Takes: FormText,
	}
}

// Right is the note.
func (q Spell) Right() []string { return []string{q.Degree.Of(q.Chord.Root).String()} }

// Steps count the letters to the note, then the half steps.
func (q Spell) Steps() []string {
	root, note := q.Chord.Root, q.Degree.Of(q.Chord.Root)
	var letters []string
	for i := range (int(q.Degree.Number)-1)%7 + 1 {
		letters = append(letters, ((root.Letter + harmony.Letter(i)) % 7).String())
	}
	steps := q.Degree.Semitones() % 12
	return []string{
		fmt.Sprintf("Count the letters from %s, %s: it is some kind of %s.", root.Letter, strings.Join(letters, " "), note.Letter),
		fmt.Sprintf("A %s lies %s over the root %s.", q.Degree, harmony.Counted(steps, "half step"), root),
		fmt.Sprintf("So the %s of %s is %s.", q.Degree, q.Chord.Symbol, note),
	}
}

// Judge takes a note name.
func (q Spell) Judge(r Reply) Judgement {
	if r.Form != FormText {
		return unread("Type " + q.Ask().Hint + ".")
	}
	n, err := readNote(r.Text)
	if err != nil {
		return unread(err.Error())
	}
	want := q.Degree.Of(q.Chord.Root)
	v := Judgement{Result: Miss, Given: n.String()}
	switch {
	case n == want:
		v.Result = Hit
		v.Reason = fmt.Sprintf("%s is the %s of %s.", want, q.Degree, q.Chord.Symbol)
	case n.Semitone() == want.Semitone():
		v.Reason = fmt.Sprintf("%s sounds like %s, but a %d of %s takes the letter %s: %s.",
			n, want, q.Degree.Number, q.Chord.Root, want.Letter, want)
	default:
		played := q.Chord.DegreeOf(n.Semitone())
		v.Reason = fmt.Sprintf("%s is the %s of %s; the %s is %s.", played.Of(q.Chord.Root), played, q.Chord.Symbol, q.Degree, want)
	}
	return v
}
