package drills

import (
	"fmt"

	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/harmony"
)

var nameKind = Kind{
	Name:  memory.Name,
	Title: "name it",
	Says:  "say which degree of a chord a place is",
	Draw: func(m Material) ([]Question, error) {
		var qs []Question
		for _, c := range m.Chords {
			for _, d := range c.Degrees {
				for _, s := range m.Neck.BassStrings {
					f := mod12(d.Of(c.Root).Semitone() - m.Neck.Tuning.Open(s))
					if f <= m.Neck.HighestFret {
						qs = append(qs, Name{Chord: c, Degree: d, Place: fretboard.Place{String: s, Fret: f}})
					}
				}
			}
		}
		return qs, nil
	},
}

// Name asks which degree of a chord a place on the neck is.
type Name struct {
	Chord  harmony.Chord
	Degree harmony.Degree
	Place  fretboard.Place
}

// Item is the degree of that quality and root on that string.
func (q Name) Item() memory.Item {
	return memory.Item{Kind: memory.Name, Quality: q.Chord.Quality().Name(), Degree: q.Degree.String(), Root: q.Chord.Root.String(), String: q.Place.String}
}

// Ask asks for the degree.
func (q Name) Ask() Ask {
	return Ask{
		Prompt: fmt.Sprintf("%s: which degree of %s is it?", placeWords(q.Place), q.Chord.Symbol),
		Chord:  q.Chord.Symbol, Degree: q.Degree.String(),
		Hint:   "a degree, such as b3 or 5",
		Takes:  FormText,
		String: q.Place.String,
		Place:  q.Place,
		Marks:  []fretboard.Mark{{Place: q.Place, Text: "?", Role: fretboard.Asked}},
	}
}

// Right is the degree; 9, 11 and 13 are 2, 4 and 6 as well.
func (q Name) Right() []string { return []string{q.Degree.String()} }

// Judge takes a degree. 9, 11 and 13 are as good as 2, 4 and 6.
func (q Name) Judge(r Reply) Judgement {
	if r.Form != FormText {
		return unread("Type " + q.Ask().Hint + ".")
	}
	d, err := readDegree(r.Text)
	if err != nil {
		return unread(err.Error())
	}
	note := q.Degree.Of(q.Chord.Root)
	right := fretboard.Mark{Place: q.Place, Text: q.Degree.String(), Role: fretboard.Right}
	v := Judgement{Given: d.String(), Marks: []fretboard.Mark{right}}
	switch {
	case d.Alter == q.Degree.Alter && (d.Number-q.Degree.Number)%7 == 0:
		v.Result = Hit
		v.Reason = fmt.Sprintf("It is %s, the %s of %s.", note, q.Degree, q.Chord.Symbol)
	case mod12(d.Semitones()-q.Degree.Semitones()) == 0:
		v.Result = Miss
		v.Reason = fmt.Sprintf("%s sounds the same, but in %s this note is %s and its degree %s.", d, q.Chord.Symbol, note, q.Degree)
	default:
		v.Result = Miss
		v.Reason = fmt.Sprintf("It is %s, the %s of %s; the %s is %s.", note, q.Degree, q.Chord.Symbol, d, d.Of(q.Chord.Root))
	}
	return v
}
