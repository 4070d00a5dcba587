package drills

import (
	"fmt"
	"slices"
	"strings"

	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/harmony/tune"
)

var lineKind = Kind{
	Name:    memory.Line,
	Title:   "walk the line",
	Says:    "walk through a tune's bass line, note after note",
	Ordered: true,
	Draw:    drawLine,
}

// Line asks for the next note of a tune's bass line, told only degree and
// direction. The pitch is fixed: every place of the bass strings that sounds it
// is right.
type Line struct {
	Note tune.LineNote
	// Before is the note it comes from, nil for the first.
	Before *tune.LineNote
	// Tune is the tune's name, Section that of the bar's section.
	Tune, Section string
	Neck          fretboard.Neck
}

func drawLine(m Material) ([]Question, error) {
	if m.Tune == nil {
		return nil, fmt.Errorf("%s is no tune: pick a tune to walk through its bass line", m.Title)
	}
	line, err := m.Tune.Line(m.Neck.BassRange())
	if err != nil {
		return nil, err
	}
	if len(line) == 0 {
		return nil, fmt.Errorf("%s has no bass row to walk through: pick a tune that has one, or drill find, name or spell", m.Title)
	}
	bars := m.Tune.Unroll()
	qs := make([]Question, len(line))
	for i, n := range line {
		q := Line{Note: n, Tune: m.Name, Section: bars[n.At.Bar-1].Section, Neck: m.Neck}
		if i > 0 {
			q.Before = &line[i-1]
		}
		qs[i] = q
	}
	return qs, nil
}

// Item is the tune's line in its section.
func (q Line) Item() memory.Item {
	return memory.Item{Kind: memory.Line, Tune: q.Tune, Section: q.Section}
}

// Ask tells bar, chord, direction and degree.
func (q Line) Ask() Ask {
	n := q.Note
	half := ""
	if n.At.Off {
		half = " and"
	}
	a := Ask{
		Prompt: fmt.Sprintf("Bar %d, beat %d%s, %s: %s.", n.At.Bar, n.At.Beat, half, n.Chord.Symbol, q.move()),
		Chord:  n.Chord.Symbol, Degree: n.Degree.String(),
		Hint:  fmt.Sprintf("string and fret, such as %d 3", q.Neck.BassStrings[0]),
		Takes: FormText | FormPlace | FormSound,
	}
	if places := q.Neck.PlacesOf(n.Pitch.MIDI(), q.Neck.BassStrings); len(places) > 0 {
		a.Place = places[0]
	}
	if q.Before != nil {
		for _, p := range q.Neck.PlacesOf(q.Before.Pitch.MIDI(), q.Neck.BassStrings) {
			a.Marks = append(a.Marks, fretboard.Mark{Place: p, Text: q.Before.Degree.String(), Role: fretboard.Anchor})
		}
	}
	return a
}

// move says where the note lies from the one before.
func (q Line) move() string {
	d := q.Note.Degree
	if q.Before == nil {
		return fmt.Sprintf("begin on the lowest %s", d)
	}
	if q.Note.Pitch.MIDI() == q.Before.Pitch.MIDI() {
		return fmt.Sprintf("the same note again, now the %s", d)
	}
	switch q.Note.Direction {
	case tune.Rise:
		return fmt.Sprintf("up to the next %s", d)
	case tune.Fall:
		return fmt.Sprintf("down to the next %s", d)
	}
	return fmt.Sprintf("to the nearest %s", d)
}

// Right are the places of the bass strings that sound the note, as string and fret.
func (q Line) Right() []string {
	var texts []string
	for _, p := range q.Neck.PlacesOf(q.Note.Pitch.MIDI(), q.Neck.BassStrings) {
		texts = append(texts, fmt.Sprintf("%d %d", p.String, p.Fret))
	}
	return texts
}

// Judge takes a place or a played note of exactly that pitch. On a string that is
// not the bass's, where that is known, it counts as slow.
func (q Line) Judge(r Reply) Judgement {
	want := q.Note.Pitch.MIDI()
	given, got := "", 0
	var at []fretboard.Place
	switch r.Form {
	case FormText, FormPlace:
		var p fretboard.Place
		if r.Form == FormText {
			var err error
			if p, err = readPlace(r.Text, 0, q.Neck); err != nil {
				return unread(err.Error())
			}
		} else {
			p = r.Places[0]
		}
		given, got, at = givenPlace(p), q.Neck.MIDI(p), []fretboard.Place{p}
	case FormSound:
		given, got = noteNumber(r.MIDI), r.MIDI
		if p, ok := heardAt(r, q.Neck); ok {
			given, at = givenPlace(p), []fretboard.Place{p}
		}
	default:
		return unread("Answer with " + q.Ask().Hint + ".")
	}

	places := q.Neck.PlacesOf(want, q.Neck.BassStrings)
	j := Judgement{Result: Hit, Given: given}
	for _, p := range places {
		j.Marks = append(j.Marks, fretboard.Mark{Place: p, Text: q.Note.Degree.String(), Role: fretboard.Right})
	}
	switch {
	case got == want && len(at) > 0 && !slices.Contains(places, at[0]):
		j.Result = Near
		j.Reason = fmt.Sprintf("%s is %s, the right note, but the line lies on the bass strings: %s.", placeWords(at[0]), q.Note.Pitch.Note, listPlaces(places))
		j.Marks = append(j.Marks, fretboard.Mark{Place: at[0], Text: q.Note.Degree.String(), Role: fretboard.Plain})
		return j
	case got == want:
		j.Reason = fmt.Sprintf("%s, %s, the %s of %s.", q.Note.Pitch.Note, listPlaces(places), q.Note.Degree, q.Note.Chord.Symbol)
		return j
	case mod12(got-want) == 0:
		j.Reason = fmt.Sprintf("That %s is in the wrong octave; %s is meant.", q.Note.Pitch.Note, listPlaces(places))
	default:
		played := within(q.Note.Chord.DegreeOf(got))
		j.Reason = fmt.Sprintf("That is %s, the %s. %s is %s: %s.",
			played.Of(q.Note.Chord.Root), played, upperFirst(strings.Replace(q.move(), "begin on ", "", 1)), q.Note.Pitch.Note, listPlaces(places))
	}
	j.Result = Miss
	for _, p := range at {
		j.Marks = append(j.Marks, fretboard.Mark{Place: p, Text: within(q.Note.Chord.DegreeOf(got)).String(), Role: fretboard.Wrong})
	}
	return j
}

// listPlaces names places: "string 6 fret 8 or string 5 fret 3".
func listPlaces(places []fretboard.Place) string {
	words := make([]string, len(places))
	for i, p := range places {
		words[i] = givenPlace(p)
	}
	return strings.Join(words, " or ")
}

func upperFirst(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
