package drills

import (
	"fmt"
	"slices"
	"strings"

	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/harmony"
)

var shapeKind = Kind{
	Name:  memory.Shape,
	Title: "read the voicing",
	Says:  "tell a shape's inversion, its degrees, and what it does over a chord",
	Draw: func(m Material) ([]Question, error) {
		hung := hungShapes(m, 2)
		var qs []Question
		for _, h := range hung {
			for _, about := range []string{memory.AboutInversion, memory.AboutDegrees, memory.AboutUse} {
				q := Shape{Chord: h.chord, Frets: h.shape.Frets, Neck: m.Neck, About: about}
				if q.prepare(h.over, hung) {
					qs = append(qs, q)
				}
			}
		}
		return qs, nil
	},
}

// Shape asks about a shape on the neck: what it is by itself, which degrees of a
// chord it sounds, or what it does over that chord. The wrong choices are near:
// the same chord in another inversion or a neighbouring quality, the degrees of
// another order or with one altered, the use of another shape of the chord. None of them is true.
type Shape struct {
	Chord harmony.Chord
	Frets []int
	Neck  fretboard.Neck
	// About is what memory calls the thing asked.
	About string

	right  string
	misses []string
	number int
}

// prepare works out the answer and the choices; it reports false where there
// is nothing to choose between.
func (q *Shape) prepare(over fretboard.Over, hung []hung) bool {
	switch q.About {
	case memory.AboutInversion:
		readings := q.Neck.Read(q.Frets)
		if len(readings) == 0 {
			return false
		}
		q.right = named(readings[0])
		q.misses = nearNames(readings)
	case memory.AboutDegrees:
		q.right = strings.Join(harmony.Spelled(over.Degrees), " ")
		q.misses = nearDegrees(over.Degrees)
	case memory.AboutUse:
		q.right = over.Role
		q.misses = nearRoles(*q, hung)
	}
	return len(q.choices()) > 1
}

func (q Shape) choices() []string { return choices(q.right, q.misses, q.question(), q.number) }

// At is the question with its right answer at a number.
func (q Shape) At(number int) Question {
	q.number = number
	return q
}

func (q Shape) question() string {
	return fretboard.FormatFrets(q.Frets) + q.Chord.Symbol + q.About
}

// named says a reading: "Dm/F, first inversion".
func named(r fretboard.Reading) string {
	root := r.Chord.Symbol
	if i := strings.LastIndex(root, "/"); i >= 0 && r.Chord.Bass != r.Chord.Root {
		root = root[:i]
	}
	return root + ", " + r.Inversion
}

// nearNames are names that a shape might be taken for and that are not true of
// it: its chord in other inversions, and of neighbouring quality.
func nearNames(readings []fretboard.Reading) []string {
	first := readings[0]
	symbol, inversion, _ := strings.Cut(named(first), ", ")
	var misses []string
	for _, other := range first.Chord.Quality().Near() {
		misses = append(misses, first.Chord.Root.String()+other+", "+inversion)
		if len(misses) == 2 {
			break
		}
	}
	inversions := []string{"root position", "first inversion", "second inversion", "third inversion"}
	for _, i := range inversions[:min(4, len(first.Chord.Degrees))] {
		if i != inversion {
			misses = append(misses, symbol+", "+i)
		}
	}
	return slices.DeleteFunc(misses, func(m string) bool {
		return slices.ContainsFunc(readings, func(r fretboard.Reading) bool { return named(r) == m })
	})
}

// nearDegrees are degrees that a shape might be taken for: two upper voices
// changed over, one tone altered, the next inversion.
func nearDegrees(degrees []harmony.Degree) []string {
	texts := harmony.Spelled(degrees)
	n := len(texts)
	change := func(f func(t []string)) string {
		t := append([]string{}, texts...)
		f(t)
		return strings.Join(t, " ")
	}
	misses := []string{change(func(t []string) { t[n-1], t[n-2] = t[n-2], t[n-1] })}
	for _, pair := range [][2]string{{"9", "b9"}, {"5", "b5"}, {"b7", "7"}, {"3", "b3"}, {"6", "b6"}, {"b5", "5"}, {"b3", "3"}, {"7", "b7"}} {
		for i := range texts {
			if texts[i] == pair[0] && len(misses) < 2 {
				misses = append(misses, change(func(t []string) { t[i] = pair[1] }))
			}
		}
	}
	return append(misses,
		change(func(t []string) { t[0], t[1] = t[1], t[0] }),
		change(func(t []string) { t[0], t[n-1] = t[n-1], t[0] }))
}

// nearRoles are the uses of the other shapes that hang on the same chord, those
// of a neighbouring bass degree first.
func nearRoles(q Shape, hung []hung) []string {
	var misses []string
	for _, h := range hung {
		if h.chord.Identity() == q.Chord.Identity() {
			misses = append(misses, h.over.Role)
		}
	}
	return misses
}

// Item is what is asked of the shape over the chord or, where it is asked for
// itself, over the chord that it is.
func (q Shape) Item() memory.Item {
	it := memory.Item{Kind: memory.Shape, About: q.About, Frets: memory.RelativeFrets(q.Frets)}
	chord, degrees := q.Chord, q.Neck.ReadOver(q.Frets, q.Chord).Degrees
	if q.About == memory.AboutInversion {
		itself := q.Neck.Read(q.Frets)[0]
		chord, degrees = itself.Chord, itself.Degrees
	}
	it.Quality, it.Bass = chord.Quality().Name(), degrees[0].String()
	return it
}

// Ask shows the shape and asks.
func (q Shape) Ask() Ask {
	a := Ask{
		Chord: q.Chord.Symbol, Degree: lowestDegree(q.Neck, q.Frets, q.Chord).String(), Takes: FormText,
		Frets: q.Frets, Marks: marksOf(q.Frets, nil, fretboard.Asked), Choices: q.choices(),
	}
	a.Hint = fmt.Sprintf("the number of an answer, 1 to %d", len(a.Choices))
	frets := fretboard.FormatFrets(q.Frets)
	switch q.About {
	case memory.AboutInversion:
		a.Prompt = fmt.Sprintf("Which chord is %s by itself, and in which inversion?", frets)
	case memory.AboutDegrees:
		a.Prompt = fmt.Sprintf("Which degrees of %s does %s sound, low to high?", q.Chord.Symbol, frets)
	case memory.AboutUse:
		a.Prompt = fmt.Sprintf("What is %s over %s?", frets, q.Chord.Symbol)
	}
	return a
}

// Right is the choice that is true.
func (q Shape) Right() []string { return []string{q.right} }

// Judge takes the number or the text of a choice.
func (q Shape) Judge(r Reply) Judgement {
	from := q.choices()
	answer, ok := chosen(r.Text, from)
	if r.Form != FormText || !ok {
		return unchosen(from)
	}
	over := q.Neck.ReadOver(q.Frets, q.Chord)
	v := Judgement{Result: Miss, Given: answer, Marks: marksOf(q.Frets, harmony.Spelled(over.Degrees), fretboard.Right)}
	if answer == q.right {
		v.Result = Hit
	}
	v.Reason = strings.ToUpper(over.Says[:1]) + over.Says[1:] + "."
	if v.Result == Miss && q.About == memory.AboutInversion {
		v.Reason = "It is " + q.right + ". " + v.Reason
	}
	return v
}
