package drills

import (
	"fmt"
	"slices"
	"strings"

	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/harmony"
)

var approachKind = Kind{
	Name:  memory.Approach,
	Title: "approach it",
	Says:  "come to the next chord's root by a half step or a step",
	Needs: aChange,
	Draw: func(m Material) ([]Question, error) {
		var qs []Question
		for _, p := range pairs(m) {
			for i := range approaches {
				q := Approach{Chord: p.from, Next: p.to, By: approaches[i].degree, Neck: m.Neck}
				if !p.onOneRoot() && (i < chromaticSteps || q.fits(m.keyOf(p))) {
					qs = append(qs, q)
				}
			}
		}
		return qs, nil
	},
}

// chromaticSteps is how many of the approaches are half steps, which lead in over any chord.
const chromaticSteps = 2

// approaches are the notes that come to a root by a step, as degrees of it, the half
// steps first.
var approaches = []struct {
	degree harmony.Degree
	says   string
}{
	{harmony.Degree{Number: 7}, "a half step below"},
	{harmony.Degree{Number: 2, Alter: -1}, "a half step above"},
	{harmony.Degree{Number: 2}, "a whole step above"},
	{harmony.Degree{Number: 7, Alter: -1}, "a whole step below"},
}

// Approach asks for the note that comes to the next chord's root by a step, in
// the bar before it: as a degree of the chord that sounds, as a note, or played.
type Approach struct {
	Chord, Next harmony.Chord
	// By is the note as a degree of the next root: 7, b2, 2 or b7.
	By   harmony.Degree
	Neck fretboard.Neck
}

// Item is the way to come and the two chords: the first, and where the second's
// root lies.
func (q Approach) Item() memory.Item {
	return memory.Item{
		Kind: memory.Approach, Degree: q.By.String(), Quality: q.Chord.Quality().Name(), Root: q.Chord.Root.String(),
		Next: pair{from: q.Chord, to: q.Next}.next().String(),
	}
}

func (q Approach) says() string {
	for _, a := range approaches {
		if a.degree == q.By {
			return a.says
		}
	}
	return ""
}

// degree is what the note that is asked for is to the chord that sounds, and note its
// name there: a tone of that chord is spelled by it, E over C7 on the way to Eb too.
// Another note keeps the name that the coming root gives it where the chord has a
// degree of that letter, the b5 of D7 for Ab on the way to G, or else a plain one: E, the
// #4 of Bbm7, on the way to Eb.
func (q Approach) degree() harmony.Degree {
	asked := q.By.Of(q.Next.Root)
	own := q.Chord.DegreeOf(asked.Semitone())
	if slices.Contains(q.Chord.Degrees, own) {
		return own
	}
	own = within(own)
	best := own
	for _, d := range harmony.Degrees {
		switch n := d.Of(q.Chord.Root); {
		case d.Number > 7 || n.Semitone() != asked.Semitone() || n.Awkward():
		case n == asked:
			return d
		case best.Of(q.Chord.Root).Awkward():
			best = d
		}
	}
	return best
}
func (q Approach) note() harmony.Note { return q.degree().Of(q.Chord.Root) }

// fits reports whether the note belongs to the scale of the chord in a key.
func (q Approach) fits(key harmony.Key) bool {
	return slices.ContainsFunc(q.Chord.Scale(key).Notes(q.Chord.Root), func(n harmony.Note) bool {
		return n.Semitone() == q.note().Semitone()
	})
}

// Ask asks for the degree.
func (q Approach) Ask() Ask {
	p := pair{from: q.Chord, to: q.Next}
	a := Ask{
		Prompt: fmt.Sprintf("%s, then %s: which degree of %s lies %s the root of %s?", q.Chord.Symbol, q.Next.Symbol, q.Chord.Symbol, q.says(), q.Next.Symbol),
		Chord:  q.Chord.Symbol, Degree: q.degree().String(),
		Hint:   "a degree such as b5, a note such as Ab, or string and fret",
		Takes:  FormText | FormPlace | FormSound,
		Sounds: p.sounds(),
	}
	if at := q.places(); len(at) > 0 {
		a.Place = at[0]
	}
	return a
}

// Steps go from the root that comes to the degree.
func (q Approach) Steps() []string {
	return []string{
		fmt.Sprintf("The root of %s is %s.", q.Next.Symbol, q.Next.Root),
		fmt.Sprintf("The note %s it is %s.", strings.TrimPrefix(q.says(), "a "), q.note()),
		fmt.Sprintf("Over %s that is the %s.", q.Chord.Symbol, q.degree()),
	}
}

// Right is the degree, then the note.
func (q Approach) Right() []string { return []string{q.degree().String(), q.note().String()} }

func (q Approach) places() []fretboard.Place {
	bass := q.Neck.BassRange()
	var all []fretboard.Place
	for midi := bass.Low; midi <= bass.High; midi++ {
		if mod12(midi) == q.note().Semitone() {
			all = append(all, q.Neck.PlacesOf(midi, q.Neck.BassStrings)...)
		}
	}
	return all
}

// Judge takes a degree of the chord, a note, a place or a played note, by its
// sound: the b5 and the #4 are one.
func (q Approach) Judge(r Reply) Judgement {
	got, given := 0, ""
	switch r.Form {
	case FormText:
		given = strings.TrimSpace(r.Text)
		d, err := readDegree(given)
		n, noteErr := readNote(given)
		p, placeErr := readPlace(given, 0, q.Neck)
		switch {
		case err == nil:
			got = d.Of(q.Chord.Root).Semitone()
		case noteErr == nil:
			got = n.Semitone()
		case placeErr == nil:
			got = q.Neck.MIDI(p)
		default:
			return unread(fmt.Sprintf("%q is none: type %s.", given, q.Ask().Hint))
		}
	case FormPlace:
		got, given = q.Neck.MIDI(r.Places[0]), givenPlace(r.Places[0])
	case FormSound:
		got, given = r.MIDI, noteNumber(r.MIDI)
	default:
		return unread("Answer with " + q.Ask().Hint + ".")
	}
	want := fmt.Sprintf("%s, the %s of %s, lies %s %s", q.note(), q.degree(), q.Chord.Symbol, q.says(), q.Next.Root)
	v := Judgement{Result: Hit, Given: given, Reason: want + "."}
	for _, p := range q.places() {
		v.Marks = append(v.Marks, fretboard.Mark{Place: p, Text: q.degree().String(), Role: fretboard.Right})
	}
	if mod12(got) != q.note().Semitone() {
		d := q.Chord.DegreeOf(got)
		if !slices.Contains(q.Chord.Degrees, d) {
			d = within(d)
		}
		v.Result = Miss
		v.Reason = fmt.Sprintf("The %s of %s is %s. %s.", d, q.Chord.Symbol, d.Of(q.Chord.Root), want)
	}
	return v
}
