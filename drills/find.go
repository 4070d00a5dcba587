package drills

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/harmony"
)

var findKind = Kind{
	Name:  memory.Find,
	Title: "find it",
	Says:  "play a degree of a chord on one string",
	Draw: func(m Material) ([]Question, error) {
		var qs []Question
		for _, c := range m.Chords {
			for _, d := range c.Degrees {
				for _, s := range m.Neck.BassStrings {
					if q := (Find{Chord: c, Degree: d, String: s, Neck: m.Neck}); len(q.places()) > 0 {
						qs = append(qs, q)
					}
				}
			}
		}
		return qs, nil
	},
}

// Find asks for a degree of a chord on one string. Every fret of that string
// that sounds the note is right; the note on another string counts as slow.
type Find struct {
	Chord  harmony.Chord
	Degree harmony.Degree
	String int
	Neck   fretboard.Neck
}

// Item is the degree of that quality and root on that string.
func (q Find) Item() memory.Item {
	return memory.Item{Kind: memory.Find, Quality: q.Chord.Quality().Name(), Degree: q.Degree.String(), Root: q.Chord.Root.String(), String: q.String}
}

// Ask asks for the place.
func (q Find) Ask() Ask {
	return Ask{
		Prompt: fmt.Sprintf("Play the %s of %s on string %d.", q.Degree, q.Chord.Symbol, q.String),
		Chord:  q.Chord.Symbol, Degree: q.Degree.String(),
		Hint:   fmt.Sprintf("a fret, 0–%d", q.Neck.HighestFret),
		Takes:  FormText | FormPlace | FormSound,
		String: q.String,
		Place:  q.places()[0],
	}
}

// Right are the frets on that string.
func (q Find) Right() []string {
	var frets []string
	for _, p := range q.places() {
		frets = append(frets, strconv.Itoa(p.Fret))
	}
	return frets
}

// Steps go from the note over the open string to the fret.
func (q Find) Steps() []string {
	note := q.Degree.Of(q.Chord.Root)
	open := q.Neck.Tuning.Open(q.String)
	return []string{
		fmt.Sprintf("The %s of %s is the note %s.", q.Degree, q.Chord.Symbol, note),
		fmt.Sprintf("String %d open is %s, and each fret is a half step up.", q.String, q.Neck.Tuning.OpenNames()[q.String-1]),
		fmt.Sprintf("So %s is %s: %s.", note, q.where(), half(mod12(note.Semitone()-open))),
	}
}

// half counts half steps in words.
func half(steps int) string {
	switch steps {
	case 0:
		return "the open string, or twelve half steps up"
	case 1:
		return "one half step up"
	}
	return fmt.Sprintf("%d half steps up", steps)
}

// Judge takes a fret on the string, a place, or a played note.
func (q Find) Judge(r Reply) Judgement {
	var p fretboard.Place
	switch r.Form {
	case FormText:
		var err error
		if p, err = readPlace(r.Text, q.String, q.Neck); err != nil {
			return unread(err.Error())
		}
	case FormPlace:
		p = r.Places[0]
	case FormSound:
		var ok bool
		if p, ok = heardAt(r, q.Neck); !ok {
			return q.gradeSound(r.MIDI)
		}
	default:
		return unread("Answer with " + q.Ask().Hint + ".")
	}

	note := q.Degree.Of(q.Chord.Root)
	v := Judgement{Given: givenPlace(p)}
	sounds := q.Neck.MIDI(p)
	if sounds%12 == note.Semitone() {
		v.Result = Hit
		v.Marks = q.marks(fretboard.Right, p)
		v.Reason = fmt.Sprintf("%s is %s, the %s of %s.", placeWords(p), note, q.Degree, q.Chord.Symbol)
		if p.String != q.String {
			v.Result = Near
			v.Reason = fmt.Sprintf("%s is %s, the right note, but on string %d it is %s.", placeWords(p), note, q.String, q.where())
			v.Marks = q.marks(fretboard.Right, q.places()...)
			v.Marks = append(v.Marks, fretboard.Mark{Place: p, Text: q.Degree.String(), Role: fretboard.Plain})
		}
		return v
	}
	played := q.Chord.DegreeOf(sounds)
	v.Result = Miss
	v.Reason = fmt.Sprintf("%s is %s, the %s. The %s of %s is %s: %s.",
		placeWords(p), played.Of(q.Chord.Root), played, q.Degree, q.Chord.Symbol, note, q.where())
	v.Marks = append(q.marks(fretboard.Right, q.places()...), fretboard.Mark{Place: p, Text: played.String(), Role: fretboard.Wrong})
	return v
}

func (q Find) gradeSound(midi int) Judgement {
	note := q.Degree.Of(q.Chord.Root)
	if mod12(midi) == note.Semitone() {
		return Judgement{
			Result: Hit, Given: noteNumber(midi), Marks: q.marks(fretboard.Right, q.places()...),
			Reason: fmt.Sprintf("%s is the %s of %s. Which string it was, the input cannot tell.", note, q.Degree, q.Chord.Symbol),
		}
	}
	played := q.Chord.DegreeOf(midi)
	return Judgement{
		Result: Miss, Given: noteNumber(midi), Marks: q.marks(fretboard.Right, q.places()...),
		Reason: fmt.Sprintf("That was %s, the %s. The %s of %s is %s: %s.",
			played.Of(q.Chord.Root), played, q.Degree, q.Chord.Symbol, note, q.where()),
	}
}

// places are the right places, low to high.
func (q Find) places() []fretboard.Place {
	var ps []fretboard.Place
	open := q.Neck.Tuning.Open(q.String)
	want := q.Degree.Of(q.Chord.Root).Semitone()
	for f := mod12(want - open); f <= q.Neck.HighestFret; f += 12 {
		ps = append(ps, fretboard.Place{String: q.String, Fret: f})
	}
	return ps
}

// where names the right frets: "fret 3 or 15".
func (q Find) where() string {
	return "fret " + strings.Join(q.Right(), " or ")
}

func (q Find) marks(role fretboard.Role, places ...fretboard.Place) []fretboard.Mark {
	var ms []fretboard.Mark
	for _, p := range places {
		ms = append(ms, fretboard.Mark{Place: p, Text: q.Degree.String(), Role: role})
	}
	return slices.Clip(ms)
}
