package drills

import (
	"fmt"
	"hash/fnv"
	"slices"
	"strconv"
	"strings"

	"footfall/fretboard"
	"footfall/harmony"
)

// What the questions about shapes share: which shapes are asked about, and the
// choices to pick from.

// hung is a shape on a bass degree of a chord.
type hung struct {
	chord harmony.Chord
	bass  harmony.Degree
	shape fretboard.Shape
}

// hungShapes gives for each chord and each degree that a bass line puts under
// it the best shape that can be moved along the neck: no open string, three
// notes or more. The degrees are the chord's own up to its seventh and, under a
// triad, the sixth.
func hungShapes(m Material) []hung {
	var all []hung
	for _, c := range m.Chords {
		for _, d := range fretboard.BassDegrees(c) {
			shapes := m.Neck.Shapes(m.hand(), fretboard.Query{Chord: c, Bass: d})
			i := slices.IndexFunc(shapes, func(s fretboard.Shape) bool {
				return len(s.Degrees) > 2 && !slices.Contains(s.Frets, 0)
			})
			if i >= 0 {
				all = append(all, hung{c, d, shapes[i]})
			}
		}
	}
	return all
}

func (m Material) hand() fretboard.Hand {
	if m.Hand == (fretboard.Hand{}) {
		return fretboard.DefaultHand()
	}
	return m.Hand
}

// marksOf shows a shape on the neck, each place with its text, low string
// first; no texts show question marks.
func marksOf(frets []int, texts []string, role fretboard.Role) []fretboard.Mark {
	var marks []fretboard.Mark
	for i, f := range frets {
		if f < 0 {
			continue
		}
		text := "?"
		if texts != nil {
			text = texts[len(marks)]
		}
		marks = append(marks, fretboard.Mark{Place: fretboard.Place{String: len(frets) - i, Fret: f}, Text: text, Role: role})
	}
	return marks
}

// mostChoices is how many answers there are to pick from.
const mostChoices = 4

// choices puts the right answer among the near misses, at a spot that depends
// on the question alone. Misses equal to it or to each other are left out.
func choices(right string, misses []string, question string) []string {
	var all []string
	for _, m := range misses {
		if m != right && !slices.Contains(all, m) && len(all) < mostChoices-1 {
			all = append(all, m)
		}
	}
	h := fnv.New32a()
	h.Write([]byte(question))
	return slices.Insert(all, int(h.Sum32()%uint32(len(all)+1)), right)
}

// chosen reads the number of a choice, or the text of one.
func chosen(text string, from []string) (string, bool) {
	text = strings.TrimSpace(text)
	if n, err := strconv.Atoi(text); err == nil && n >= 1 && n <= len(from) {
		return from[n-1], true
	}
	for _, c := range from {
		if strings.EqualFold(text, c) {
			return c, true
		}
	}
	return "", false
}

// unchosen is the judgement on a reply that picks nothing.
func unchosen(from []string) Judgement {
	return unread(fmt.Sprintf("Type the number of an answer, 1 to %d.", len(from)))
}
