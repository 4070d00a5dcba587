package drills

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/harmony"
)

var earKind = Kind{
	Name:  memory.Ear,
	Title: "by ear",
	Says:  "hear which degree is in the bass, then which chord it is",
	Draw: func(m Material) ([]Question, error) {
		var qs []Question
		seen := map[memory.Item]bool{}
		for _, h := range hungShapes(m, 1) {
			for _, about := range []string{memory.AboutBass, memory.AboutQuality} {
				q := Ear{Chord: h.chord, Bass: h.bass, Frets: h.shape.Frets, About: about, Neck: m.Neck}
				if !seen[q.Item()] {
					seen[q.Item()] = true
					qs = append(qs, q)
				}
			}
		}
		return qs, nil
	},
}

// Ear sounds a shape on a degree of a chord and asks, by ear, which degree is in
// the bass, or, told that, which quality the chord has.
type Ear struct {
	Chord harmony.Chord
	Bass  harmony.Degree
	Frets []int
	// About is memory.AboutBass or memory.AboutQuality.
	About string
	Neck  fretboard.Neck

	number int
}

// At is the question with its right answer at a number.
func (q Ear) At(number int) Question {
	q.number = number
	return q
}

// Item is the quality and the degree, and which of the two is asked.
func (q Ear) Item() memory.Item {
	return memory.Item{Kind: memory.Ear, About: q.About, Quality: q.Chord.Quality().Name(), Bass: q.Bass.String()}
}

// qualityName is a quality as the choices write it.
func qualityName(name string) string { return cmp.Or(name, "major") }

// choices are for the quality alone: a degree is as short as its number, which
// would pick another.
func (q Ear) choices() []string {
	if q.About == memory.AboutBass {
		return nil
	}
	var first, then []string // those that have the degree before those that cannot be it
	for _, near := range q.Chord.Quality().Near() {
		if quality, err := harmony.ParseQuality(near); err == nil && slices.Contains(quality.Degrees(), q.Bass) {
			first = append(first, qualityName(near))
		} else {
			then = append(then, qualityName(near))
		}
	}
	return choices(q.Right()[0], append(first, then...), fmt.Sprint(q.Item().Key(), q.Frets), q.number)
}

// Ask lets the shape be heard and asks.
func (q Ear) Ask() Ask {
	a := Ask{
		Prompt: fmt.Sprintf("Listen: %s on one of its own notes. Which degree is in the bass?", memory.ChordName(q.Chord.Quality().Name())),
		Hint:   "a degree, one of " + strings.Join(harmony.Spelled(fretboard.BassDegrees(q.Chord)), " "),
		Takes:  FormText, Choices: q.choices(), Sounds: [][]int{q.notes()}, Unheard: q.unheard(),
	}
	if q.About == memory.AboutQuality {
		a.Prompt = fmt.Sprintf("Listen: the note in the bass is the %s of the chord. Which quality has it?", q.Bass)
		a.Hint = fmt.Sprintf("a quality such as m7, or 1 to %d", len(a.Choices))
	}
	return a
}

// notes are what sounds, low to high.
func (q Ear) notes() []int {
	var all []int
	for i, fret := range q.Frets {
		if fret >= 0 {
			all = append(all, q.Neck.Tuning[i]+fret)
		}
	}
	return all
}

// unheard names the notes, for a player who hears nothing.
func (q Ear) unheard() string {
	var names []string
	for _, midi := range q.notes() {
		names = append(names, q.Chord.DegreeOf(midi).Of(q.Chord.Root).String())
	}
	return "It sounds " + strings.Join(names, " ") + ", low to high."
}

// Steps go from the notes to the answer.
func (q Ear) Steps() []string {
	low := q.Bass.Of(q.Chord.Root)
	steps := []string{q.unheard(), fmt.Sprintf("Together they are %s%s, and %s is lowest.", q.Chord.Root, q.Chord.Quality().Name(), low)}
	if q.About == memory.AboutQuality {
		return append(steps, fmt.Sprintf("A chord on %s whose %s is %s: %s.", q.Chord.Root, q.Bass, low, q.Right()[0]))
	}
	return append(steps, fmt.Sprintf("%s is its %s.", low, q.Bass))
}

// Right is the degree, or the quality.
func (q Ear) Right() []string {
	if q.About == memory.AboutQuality {
		return []string{qualityName(q.Chord.Quality().Name())}
	}
	return []string{q.Bass.String()}
}

// Judge takes a choice, or a degree or quality as players write it.
func (q Ear) Judge(r Reply) Judgement {
	if r.Form != FormText {
		return unread("Type " + q.Ask().Hint + ".")
	}
	text := strings.TrimSpace(r.Text)
	if q.About == memory.AboutBass {
		d, err := readDegree(text)
		if err != nil {
			return unread(err.Error())
		}
		return q.judged(d.String())
	}
	if c, ok := chosen(text, q.choices()); ok {
		return q.judged(c)
	}
	quality, err := harmony.ParseQuality(text)
	if err != nil || text == "" {
		return unread("Type " + q.Ask().Hint + ".")
	}
	return q.judged(qualityName(quality.Name()))
}

func (q Ear) judged(given string) Judgement {
	v := Judgement{Result: Miss, Given: given, Marks: marksOf(q.Frets, noteTexts(q.Chord, q.Neck, q.Frets), fretboard.Right)}
	v.Reason = fmt.Sprintf("It was %s%s with its %s, %s, in the bass.", q.Chord.Root, q.Chord.Quality().Name(), q.Bass, q.Bass.Of(q.Chord.Root))
	if given == q.Right()[0] {
		v.Result = Hit
	}
	return v
}
