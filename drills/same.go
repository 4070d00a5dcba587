package drills

import (
	"fmt"
	"strings"

	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/harmony"
)

var sameKind = Kind{
	Name: memory.Same,
	Says: "tell which other chord a shape is the root position of",
	Draw: func(m Material) ([]Question, error) {
		var qs []Question
		for _, h := range hungShapes(m) {
			if q, ok := newSame(h, m.Neck); ok {
				qs = append(qs, q)
			}
		}
		return qs, nil
	},
}

// Same asks which other chord a shape that hangs on a chord's bass degree is the
// root position of: over G7, B F A D is Bm7b5. Typed symbols count by their
// notes; the wrong choices have the right root and a neighbouring quality, or
// the chord's own root.
type Same struct {
	Chord harmony.Chord
	Frets []int
	Neck  fretboard.Neck

	right   harmony.Chord
	choices []string
}

// newSame makes the question where there is such a chord.
func newSame(h hung, neck fretboard.Neck) (Same, bool) {
	q := Same{Chord: h.chord, Frets: h.shape.Frets, Neck: neck}
	for _, r := range neck.Read(q.Frets) {
		if r.Degrees[0] != (harmony.Degree{Number: 1}) || len(r.Omits) > 0 || r.Chord.Root.Semitone() == h.chord.Root.Semitone() {
			continue
		}
		q.right = r.Chord
		var misses []string
		for _, other := range r.Chord.Quality().Near() {
			misses = append(misses, r.Chord.Root.String()+other)
		}
		q.choices = choices(r.Chord.Symbol, misses, fretboard.FormatFrets(q.Frets)+h.chord.Symbol)
		return q, true
	}
	return Same{}, false
}

// Item is the shape over the chord.
func (q Same) Item() memory.Item {
	return memory.Item{
		Kind: memory.Same, Quality: q.Chord.Quality().Name(), Bass: q.Neck.ReadOver(q.Frets, q.Chord).Degrees[0].String(),
		Root: q.Chord.Root.String(), Frets: memory.RelativeFrets(q.Frets),
	}
}

// Ask shows the shape with its degrees and asks.
func (q Same) Ask() Ask {
	over := q.Neck.ReadOver(q.Frets, q.Chord)
	return Ask{
		Prompt: fmt.Sprintf("Over %s this shape sounds %s. Which other chord is it the root position of?",
			q.Chord.Symbol, strings.Join(harmony.Spelled(over.Degrees), " ")),
		Chord: q.Chord.Symbol, Degree: over.Degrees[0].String(),
		Hint: fmt.Sprintf("a chord symbol, or 1 to %d", len(q.choices)), Takes: FormText,
		Frets: q.Frets, Marks: marksOf(q.Frets, harmony.Spelled(over.Degrees), fretboard.Plain), Choices: q.choices,
	}
}

// Right is the chord as the choices write it.
func (q Same) Right() []string { return []string{q.right.Symbol} }

// Judge takes a choice, or a chord symbol of any spelling.
func (q Same) Judge(r Reply) Judgement {
	if r.Form != FormText {
		return unchosen(q.choices)
	}
	text, ok := chosen(r.Text, q.choices)
	if !ok {
		text = strings.TrimSpace(r.Text)
	}
	c, err := harmony.ParseChord(text)
	if err != nil {
		return unread(fmt.Sprintf("%s. Type a chord symbol, or the number of an answer.", strings.ToUpper(err.Error()[:1])+err.Error()[1:]))
	}
	v := Judgement{Result: Miss, Given: c.Symbol, Marks: marksOf(q.Frets, noteTexts(q.right, q.Neck, q.Frets), fretboard.Right)}
	var notes []string
	for _, n := range q.right.Notes() {
		notes = append(notes, n.String())
	}
	v.Reason = fmt.Sprintf("Its notes are those of %s, %s, with %s lowest.", q.right.Symbol, strings.Join(notes, " "), q.right.Root)
	if sameNotes(c, q.right) {
		switch {
		case c.Bass.Semitone() != q.right.Root.Semitone():
			v.Result = Miss
			v.Reason += fmt.Sprintf(" %s has %s lowest, so this is not its root position.", c.Symbol, c.Bass)
		default:
			v.Result = Hit
		}
	}
	return v
}

// sameNotes tells whether two chords hold the same notes, spelled as they may.
func sameNotes(a, b harmony.Chord) bool {
	sounding := func(c harmony.Chord) (set [12]bool) {
		for _, n := range c.Notes() {
			set[n.Semitone()] = true
		}
		return set
	}
	return sounding(a) == sounding(b)
}

// noteTexts names a shape's degrees against a chord.
func noteTexts(c harmony.Chord, n fretboard.Neck, frets []int) []string {
	return harmony.Spelled(n.ReadOver(frets, c).Degrees)
}
