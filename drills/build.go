package drills

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/harmony"
)

var buildKind = Kind{
	Name:  memory.Build,
	Title: "build it",
	Says:  "build a shape of a chord on a bass degree",
	Draw: func(m Material) ([]Question, error) {
		// A tune of few chords has them asked in other keys too.
		var qs []Question
		chords := m.rooted()
		for key := 0; key < 12 && (key == 0 || len(qs) < enough); key++ {
			for _, c := range chords {
				qs = append(qs, builds(m, inKeys(c)[key])...)
			}
		}
		return qs, nil
	},
}

// builds asks for a chord on each of its bass degrees and each bass string, where
// there is a shape that keeps to the strings above those of the line.
func builds(m Material, c harmony.Chord) []Question {
	var qs []Question
	for _, d := range fretboard.BassDegrees(c) {
		there := m.Neck.Standard(m.hand(), fretboard.Query{Chord: c, Bass: d})
		for _, str := range m.Neck.BassStrings {
			if slices.ContainsFunc(there, func(s fretboard.Shape) bool { return s.Bass().String == str }) {
				qs = append(qs, Build{Chord: c, Bass: d, String: str, Neck: m.Neck, Hand: m.hand()})
			}
		}
	}
	return qs
}

// Build asks for a shape of a chord with a degree lowest, on one string. Every
// shape that players know or that the search finds there is right; one on another
// bass string counts as slow, and so does one that no hand can hold. Those that it
// shows are the standard ones, which leave the other strings of the line alone.
type Build struct {
	Chord  harmony.Chord
	Bass   harmony.Degree
	String int
	Neck   fretboard.Neck
	Hand   fretboard.Hand
}

// shapes are the standard shapes on its string, the best first.
func (q Build) shapes() []fretboard.Shape {
	return slices.DeleteFunc(q.Neck.Standard(q.Hand, q.query()), func(s fretboard.Shape) bool { return s.Bass().String != q.String })
}

// fits tells what keeps frets from being a shape of the chord on its bass degree,
// nil where they are one: of the search's or a standard one, which may leave the
// seventh out.
func (q Build) fits(frets []int) error {
	fault := q.Neck.Fits(q.Hand, q.query(), frets)
	if fault != nil && slices.ContainsFunc(q.Neck.Standard(q.Hand, q.query()), func(s fretboard.Shape) bool { return slices.Equal(s.Frets, frets) }) {
		return nil
	}
	return fault
}

func (q Build) query() fretboard.Query { return fretboard.Query{Chord: q.Chord, Bass: q.Bass} }

// Item is the chord with that degree in the bass, on that string.
func (q Build) Item() memory.Item {
	return memory.Item{
		Kind: memory.Build, Quality: q.Chord.Quality().Name(), Bass: q.Bass.String(), Root: q.Chord.Root.String(), String: q.String,
	}
}

// inverted says what the bass degree makes of the chord.
func (q Build) inverted() string {
	for i, d := range q.Chord.Degrees {
		if d == q.Bass && i < 4 {
			return []string{"root position", "first inversion", "second inversion", "third inversion"}[i]
		}
	}
	return "its " + q.Bass.String() + " added in the bass"
}

// Ask asks for the places.
func (q Build) Ask() Ask {
	return Ask{
		Prompt: fmt.Sprintf("Build %s with its %s lowest, on string %d: %s.", q.Chord.Symbol, q.Bass, q.String, q.inverted()),
		Chord:  q.Chord.Symbol, Degree: q.Bass.String(), String: q.String,
		Hint:  "frets low string to high, such as x-3-2-0-1-0",
		Takes: FormText | FormPlaces,
	}
}

// Steps go from the lowest note to the shape.
func (q Build) Steps() []string {
	best := q.shapes()[0]
	return []string{
		fmt.Sprintf("The %s of %s is the note %s: on string %d that is fret %d.", q.Bass, q.Chord.Symbol, q.Bass.Of(q.Chord.Root), q.String, best.Bass().Fret),
		fmt.Sprintf("It lies lowest; the strings above it add the other notes of %s.", q.Chord.Symbol),
		fmt.Sprintf("So, low string to high: %s, which sounds %s.", best, strings.Join(harmony.Spelled(best.Degrees), " ")),
	}
}

// mostRight is how many right shapes are listed.
const mostRight = 8

// Right are the best of the standard shapes there as frets.
func (q Build) Right() []string {
	var texts []string
	for _, s := range q.shapes() {
		if len(texts) < mostRight {
			texts = append(texts, fretboard.FormatFrets(s.Frets))
		}
	}
	return texts
}

// Judge takes frets or places.
func (q Build) Judge(r Reply) Judgement {
	var frets []int
	switch r.Form {
	case FormText:
		var err error
		if frets, err = q.Neck.Tuning.ParseFrets(r.Text); err != nil {
			return unread(strings.ToUpper(err.Error()[:1]) + err.Error()[1:] + ".")
		}
	case FormPlaces:
		var clash int
		if frets, clash = fretsOfPlaces(r.Places, len(q.Neck.Tuning)); clash > 0 {
			return unread(fmt.Sprintf("String %d has two notes: leave one.", clash))
		}
	default:
		return unread("Place the notes, or type " + q.Ask().Hint + ".")
	}
	over := q.Neck.ReadOver(frets, q.Chord)
	if len(over.Degrees) < 2 {
		return unread("A shape has more than one note: place the others too.")
	}
	v := Judgement{Result: Hit, Given: fretboard.FormatFrets(frets)}
	v.Reason = fmt.Sprintf("It sounds %s of %s.", strings.Join(harmony.Spelled(over.Degrees), " "), q.Chord.Symbol)
	if root := (harmony.Degree{Number: 1}); slices.Contains(q.Chord.Degrees, root) && !slices.Contains(over.Degrees, root) {
		v.Reason = strings.TrimSuffix(v.Reason, ".") + ", without its root."
	}
	marks := marksOf(frets, harmony.Spelled(over.Degrees), fretboard.Right)
	best := q.shapes()[0]
	switch fault := q.fits(frets); {
	case errors.Is(fault, fretboard.ErrUnheld):
		v.Result = Near
		v.Reason += fmt.Sprintf(" But %s; %s is easier.", fault, best)
	case fault != nil:
		v.Result = Miss
		v.Reason = fmt.Sprintf("Not yet: %s. %s would do.", fault, best)
		for i := range marks {
			marks[i].Role = fretboard.Wrong
		}
		right := marksOf(best.Frets, harmony.Spelled(best.Degrees), fretboard.Right)
		marks = append(right, slices.DeleteFunc(marks, func(m fretboard.Mark) bool {
			return slices.ContainsFunc(right, func(r fretboard.Mark) bool { return r.Place == m.Place })
		})...)
	case frets[len(frets)-q.String] < 0 || slices.ContainsFunc(frets[:len(frets)-q.String], func(f int) bool { return f >= 0 }):
		v.Result = Near
		v.Reason += fmt.Sprintf(" But its bass is not on string %d, as in %s.", q.String, best)
	}
	v.Marks = marks
	return v
}

// fretsOfPlaces puts places into frets, low string first. clash is a string
// with two places, 0 for none.
func fretsOfPlaces(places []fretboard.Place, strings int) (frets []int, clash int) {
	frets = make([]int, strings)
	for i := range frets {
		frets[i] = -1
	}
	for _, p := range places {
		i := strings - p.String
		if frets[i] >= 0 && frets[i] != p.Fret {
			return nil, p.String
		}
		frets[i] = p.Fret
	}
	return frets, 0
}
