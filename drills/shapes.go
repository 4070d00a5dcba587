package drills

import (
	"fmt"
	"hash/fnv"
	"slices"
	"strconv"
	"strings"

	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/harmony"
)

// What the questions about shapes share: which shapes are asked about, and the
// choices to pick from.

// hung is a shape on a bass degree of a chord, and what it does there.
type hung struct {
	chord harmony.Chord
	bass  harmony.Degree
	shape fretboard.Shape
	over  fretboard.Over
}

// enough is how many questions of a kind a tune has at least, where its chords can
// give them: a sitting of twice as many then does not go round and round.
const enough = 24

// rooted are the chords of the material without their slash basses, each once: a
// shape that is asked about has a bass degree of its own.
func (m Material) rooted() []harmony.Chord {
	var all []harmony.Chord
	seen := map[harmony.Identity]bool{}
	for _, c := range m.Chords {
		if c = rooted(c); !seen[c.Identity()] {
			seen[c.Identity()] = true
			all = append(all, c)
		}
	}
	return all
}

func rooted(c harmony.Chord) harmony.Chord {
	if c.Bass == c.Root {
		return c
	}
	return c.Quality().On(c.Root)
}

// inKeys gives a chord in every key, its own first and then round the circle of
// fourths.
func inKeys(c harmony.Chord) []harmony.Chord {
	own := harmony.Key{Tonic: c.Root, Minor: c.Quality().Has(harmony.Degree{Number: 3, Alter: -1})}
	all := []harmony.Chord{c}
	for i := 1; i < 12; i++ {
		all = append(all, c.Quality().On(own.Up(5*i%12).Tonic))
	}
	return all
}

// hungShapes gives for each chord, each degree that a bass line puts under it and
// each bass string the best of the shapes that players know: three notes or more,
// none of them twice in a chord of four tones, and no open string, so that they can
// be moved along the neck. The degrees are the chord's own up to its seventh and,
// under a triad, the sixth.
func hungShapes(m Material, most int) []hung {
	var all []hung
	for _, c := range m.rooted() {
		for _, d := range fretboard.BassDegrees(c) {
			taken := map[int]int{}
			for _, s := range m.Neck.Standard(m.hand(), fretboard.Query{Chord: c, Bass: d}) {
				str := s.Bass().String
				if len(s.Degrees) < 3 || taken[str] == most || len(c.Degrees) > 3 && twice(s.Degrees) || there(all, c, s) {
					continue
				}
				taken[str]++
				all = append(all, hung{c, d, s, m.Neck.ReadOver(s.Frets, c)})
			}
		}
	}
	return all
}

// there reports whether a shape is among those of a chord already, an octave away.
func there(all []hung, c harmony.Chord, s fretboard.Shape) bool {
	relative := memory.RelativeFrets(s.Frets)
	return slices.ContainsFunc(all, func(h hung) bool {
		return h.chord.Identity() == c.Identity() && memory.RelativeFrets(h.shape.Frets) == relative
	})
}

// twice reports whether a degree sounds on two strings.
func twice(degrees []harmony.Degree) bool {
	for i, d := range degrees {
		if slices.Contains(degrees[:i], d) {
			return true
		}
	}
	return false
}

// moved slides frets along the neck by so many half steps up, or as many octaves
// lower as it can; false where they do not fit above the nut.
func moved(frets []int, up int, n fretboard.Neck) ([]int, bool) {
	low, high := n.HighestFret, 0
	for _, f := range frets {
		if f >= 0 {
			low, high = min(low, f), max(high, f)
		}
	}
	by := up - (low+up-1)/12*12
	if low+by < 1 || high+by > n.HighestFret {
		return nil, false
	}
	out := slices.Clone(frets)
	for i := range out {
		if out[i] >= 0 {
			out[i] += by
		}
	}
	return out, true
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

// choices puts the right answer among the near misses, at a number from 1 or, where
// that is 0, at a spot that depends on the question alone. Misses equal to it or to
// each other are left out.
func choices(right string, misses []string, question string, number int) []string {
	var all []string
	for _, m := range misses {
		if m != right && !slices.Contains(all, m) && len(all) < mostChoices-1 {
			all = append(all, m)
		}
	}
	spot := min(number-1, len(all))
	if number == 0 {
		spot = int(hashed(question) % uint32(len(all)+1))
	}
	return slices.Insert(all, spot, right)
}

func hashed(text string) uint32 {
	h := fnv.New32a()
	h.Write([]byte(text))
	return h.Sum32()
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
